"""Family files: what is read, and that each thing an author can get wrong is named at its line."""

import pytest

from quizapp.content.families import read_family
from quizapp.content.front_matter import parse_document
from tests.sample_families import CHOICE, NUMERIC, ORDER, READING


def faults(text: str) -> list[str]:
    code = text.split('code = "')[1][:3].lower()
    _, found = read_family(parse_document(f"c5/{code}-x.md", text.encode()))
    return [str(fault).removeprefix(f"c5/{code}-x.md:") for fault in found]


@pytest.mark.parametrize("text", [NUMERIC, READING, CHOICE, ORDER])
def test_the_samples_are_right(text: str) -> None:
    assert faults(text) == []


@pytest.mark.parametrize(
    ("text", "old", "new", "fault"),
    [
        (NUMERIC, 'code = "N99"', 'code = "n99"', "2: error: code:"),
        (NUMERIC, 'kind = "numeric"', 'kind = "essay"', "4: error: kind:"),
        (NUMERIC, 'title = "A title"', 'titel = "A title"', '3: error: "titel" is not a field'),
        (NUMERIC, '"flow * time"', '"flow * tme"', "names tme, which has no value by then (did you mean"),
        (NUMERIC, '"flow * time"', '"flow ** time ** open(1)"', "23: error: let litres: the formula"),
        (NUMERIC, '"flow != 13"', '"flow + 13"', "11: error: where: the formula 'flow + 13' is a number; a truth is"),
        (NUMERIC, 'formula = "litres"', 'formula = "litres > 3"', "29: error: key formula: the formula"),
        (NUMERIC, "step = 0.5", "step = 0", "16: error: draw flow step: must be above zero; found 0"),
        (NUMERIC, "step = 0.5", "", "13: error: draw flow: from, to and step belong together"),
        (NUMERIC, 'words = ["two", "three"]', 'words = ["two"]', "1 words for 2 numbers"),
        (NUMERIC, "choose = [2, 3]", "choose = []", "the list is empty"),
        (NUMERIC, "choose = [2, 3]", "choose = [2, 2]", "with words each number stands once"),
        (NUMERIC, "choose = [2, 3]", "choose = [2, 3]\nfrom = 1", "either from, to and step, or choose"),
        (NUMERIC, '"L/min"', '"L/mn"', '"L/mn" is not a unit on the list (did you mean "L/min"?)'),
        (NUMERIC, '["L", "mL"]', '["L"]', "a list of units needs at least two"),
        (NUMERIC, 'units = ["L", "mL"]', "", "give either unit, which is shown, or units"),
        (NUMERIC, "tolerance = 0.5\ntolerance_percent = 2", "", "give tolerance, tolerance_percent or both"),
        (NUMERIC, "tolerance = 0.5", "tolerance = -1", "key tolerance: must be zero or above; found -1"),
        (NUMERIC, "tolerance = 0.5", "tolerance = nan", "key tolerance is NaN"),
        (NUMERIC, "tolerance = 0.5", 'tolerance = "0.5"', "key tolerance:"),
        (NUMERIC, '"too high"', '"too wide"', "key safety:"),
        (NUMERIC, "range = [20, 60]", "range = [20]", "key range:"),
        (NUMERIC, 'name = "doubled-again"', 'name = "doubled"', 'the name "doubled" is given twice'),
        (NUMERIC, 'name = "doubled"', 'name = "doubled"\nblank = "second"', "there is no [second]"),
        (NUMERIC, "{this} L", "{that} L", "{that} is not a name that can be printed here (did you mean"),
        (NUMERIC, "**{flow} L/min**", "**{flw} L/min**", "56: error: {flw} cannot be printed in the stem"),
        (NUMERIC, "**{flow} L/min**", "**{key} L**", "{key} cannot be printed in the stem"),
        (NUMERIC, "**{flow} L/min**", "<b>{flow} L/min</b>", "56: error: holds HTML"),
        (NUMERIC, "**{flow} L/min**", "[a](javascript:alert(1))", "links to 'javascript:alert(1'"),
        (NUMERIC, "**{flow} L/min**", "![x](a.png)", "holds an image"),
        (NUMERIC, "[draw.time]", "[draw.flow]", "given twice"),
        (NUMERIC, "[let.litres]", "[let.flow]", 'the name "flow" is taken already'),
        (NUMERIC, "[let.litres]", "[let.key]", 'the name "key" is taken already'),
        (NUMERIC, 'sources = ["ARITH"]', "sources = []", "10: error: sources:"),
        (NUMERIC, "review_by = 2099-12-31", 'review_by = "2099-12-31"', "9: error: review_by: must be a date"),
        (READING, "[[figure]]", "[[figures]]", '"figures" is not a field of this file (did you mean "figure"?)'),
        (READING, '"pressure_gauge"', '"presure_gauge"', '"presure_gauge" is not an instrument; there are'),
        (READING, 'needle_cmh2o = "needle"', 'nedle = "needle"', "the number needle_cmh2o is needed"),
        (READING, 'motion = "still"', 'motion = "wild"', "motion is 'wild'; there are still"),
        (READING, 'needle_cmh2o = "needle"', 'needle_cmh2o = ["needle", 3]', "needle_cmh2o takes one number, not 2"),
        (CHOICE, 'use = "practice"', "", 'give use = "practice" or "assessment"'),
        (CHOICE, 'key = "case.leak"', 'key = "case.leek"', "names case.leek, which has no value"),
        (CHOICE, "parked = 6", "parkd = 6", "every case gives the same numbers; parkd, parked differs"),
        (CHOICE, 'name = "empty"', 'name = "expiration"', 'the name "expiration" is given twice'),
        (CHOICE, "The cylinder is empty", "It  stopped in INFLATION", 'the text "it stopped in inflation" is given'),
        (ORDER, 'after = ["bag"]', 'after = ["bga"]', '"bga" is not a step (did you mean "bag"?)'),
        (ORDER, 'after = ["bag"]', 'after = ["reconnect"]', "come before themselves"),
    ],
)
def test_each_mistake_is_named(text: str, old: str, new: str, fault: str) -> None:
    assert old in text
    found = faults(text.replace(old, new, 1))
    assert any(fault in message for message in found), found


def test_all_mistakes_of_a_file_come_at_once() -> None:
    broken = NUMERIC.replace("step = 0.5", "step = 0").replace("{this}", "{that}").replace('"flow * time"', '"flow *"')
    assert len(faults(broken)) == 3


def test_the_file_is_named_after_its_code() -> None:
    _, found = read_family(parse_document("c5/volume.md", NUMERIC.encode()))
    assert [str(fault) for fault in found] == [
        "c5/volume.md:2: error: the file is named volume.md; the name must be lower case and start with n99-"
    ]
