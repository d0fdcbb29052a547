"""Small family files and a small content folder for tests; nothing of the real question bank."""

from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[1]
TOP = """+++
code = "{code}"
title = "A title"
kind = "{kind}"
purpose = "diagnostic"
competencies = ["C5"]
group = "samples"
owner = "Clinical education"
review_by = 2099-12-31
sources = ["ARITH"]
"""
NUMERIC = (
    TOP.format(code="N99", kind="numeric")
    + """where = "flow != 13"

[draw.flow]
from = 10
to = 20
step = 0.5
unit = "L/min"

[draw.time]
choose = [2, 3]
words = ["two", "three"]

[let.litres]
formula = "flow * time"
decimals = 1

[key]
label = "Volume"
formula = "litres"
units = ["L", "mL"]
tolerance = 0.5
tolerance_percent = 2
decimals = 1
range = [20, 60]
safety = "too high"

[[wrong_idea]]
name = "doubled"
formula = "2 * litres"
says = "You doubled it to {this} L."

[[wrong_idea]]
name = "doubled-again"
formula = "litres + litres"
says = "You added it twice."

[[wrong_idea]]
name = "per-minute"
formula = "flow"
says = "You left the time out."

[feedback]
keep = "Flow times time."
worked = "{flow} × {time} = {key} L"
+++
Gas runs at **{flow} L/min** for {time} minutes. Which volume is that?
"""
)
READING = (
    TOP.format(code="N98", kind="reading")
    + """where = "needle != numeral"

[draw.needle]
from = 12
to = 40
step = 2

[let.mark]
formula = "(needle - 10 * floor(needle / 10)) / 2"
words = ["on the numeral", "one small mark", "two small marks", "three small marks", "four small marks"]

[let.numeral]
formula = "10 * floor(needle / 10)"
decimals = 0

[key]
label = "Peak"
formula = "needle"
unit = "cmH2O"
tolerance = 0.5
decimals = 0
range = [10, 40]

[second]
label = "Baseline"
formula = "needle * 0.2"
unit = "cmH2O"
tolerance = 0.2
decimals = 1
range = [2, 8]

[[wrong_idea]]
name = "mark-as-one"
formula = "numeral + (needle - numeral) / 2 + 3"
says = "You counted each small mark as one."

[[wrong_idea]]
name = "baseline-as-peak"
blank = "second"
formula = "needle"
says = "You read the peak again."

[[figure]]
instrument = "pressure_gauge"
alt = "The needle stands {mark} above the numeral {numeral}."
[figure.numbers]
needle_cmh2o = "needle"
[figure.words]
motion = "still"

[feedback]
keep = "Find the value of one small mark first."
worked = "{key} and {second}"
+++
Read the gauge.
"""
)
CHOICE = (
    TOP.format(code="K99", kind="choice")
    + """use = "practice"
options_shown = 3

[[case]]
name = "leak"
text = "The needle parks at {parked} cmH2O {place}."
[case.numbers]
parked = 15
[case.words]
place = "in the cabin"
[[case.option]]
name = "only-leak"
text = "Shout at the needle at {parked}"
says = "That helps nobody."

[[case]]
name = "shut"
text = "The needle parks at {parked} cmH2O {place}."
[case.numbers]
parked = 6
[case.words]
place = "on the ledge"

[[option]]
name = "inflation"
text = "It stopped in inflation"
key = "case.leak"
says = "Above the baseline and below the peak: inflation."
wrong_idea = "parked-means-full"
credit = "0.5 if parked < 10 else 0.25"

[[option]]
name = "expiration"
text = "It stopped in expiration"
key = "case.shut"
says = "Just above the baseline: expiration."

[[option]]
name = "empty"
text = "The cylinder is empty"
says = "An empty cylinder parks at zero."
wrong_idea = "parked-means-empty"

[feedback]
keep = "Where the needle parks tells which half of the breath has stopped."
+++
{case} What has happened?
"""
)
ORDER = (
    TOP.format(code="K98", kind="order")
    + """use = "assessment"

[[step]]
name = "bag"
text = "Ventilate by bag"

[[step]]
name = "search"
text = "Search for the fault"
after = ["bag"]
because = "a patient who is not ventilated cannot wait"

[[step]]
name = "call"
text = "Call it aloud"

[[step]]
name = "reconnect"
text = "Reconnect"
after = ["search"]
because = "nothing untested goes back on a patient"

[feedback]
keep = "Bag first."
+++
Put these in order.
"""
)
FILES = {
    "c5/n99-volume.md": NUMERIC,
    "c5/n98-gauge.md": READING,
    "c5/k99-parked.md": CHOICE,
    "c5/k98-order.md": ORDER,
}


def make_content_folder(folder: Path, **changed: str) -> Path:
    """Write a content folder with the sample families; `changed` replaces a family by its code."""
    bank = folder / "question_bank"
    (bank / "c5").mkdir(parents=True)
    (bank / "device_profiles").mkdir()
    (folder / "checklists").mkdir()
    real = CHECKOUT / "question_bank"
    for profile in (real / "device_profiles").glob("*.toml"):
        (bank / "device_profiles" / profile.name).write_bytes(profile.read_bytes())
    (bank / "competencies.toml").write_text(
        '[C5]\ntitle = "Reading"\nbehaviours = ["Looks"]\ncritical_errors = ["Does not look"]\n'
        "critical = true\npractise_months = 6\n",
        encoding="utf-8",
    )
    (bank / "sources.md").write_text(
        "| code | a | b |\n|---|---|---|\n| ARITH | arithmetic | none |\n", encoding="utf-8"
    )
    for name, text in FILES.items():
        code = name.split("/")[1].split("-")[0]
        (bank / name).write_text(changed.get(code, text), encoding="utf-8")
    return folder
