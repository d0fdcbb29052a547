from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quizapp.content.front_matter import content_hash
from quizapp.content.procedures import from_json, parse_procedure, read_procedures, to_json
from quizapp.content.profiles import read_profiles

GOOD = """\
+++
code = "P17"
title = "Changing a wet filter"
version = 1
when = "Water stands in the filter."
competencies = ["C8"]
minutes = 8
owner = "clinical lead"
review_by = 2027-09-30
sources = ["S12", "CP"]
valid_orders = 2
critical_pairs = [["a", "c"]]
cautions = ["In doubt, bag."]

[[steps]]
letter = "a"
text = "On the bag"
critical = true

[[steps]]
letter = "b"
text = "New filter on"

[[steps]]
letter = "c"
text = "Back on the device"
weight = 2

[[steps]]
letter = "d"
text = "Record"

[[pairs]]
first = "a"
then = "b"
why = "the bag does the work"

[[pairs]]
first = "b"
then = "c"
why = "the system has to be closed"

[[pairs]]
first = "b"
then = "d"
why = "there is nothing to record before"

[[limits]]
key = "back-on"
text = "Back on within 30 s"
from_steps = ["a"]
to_steps = ["c"]
at_most_s = 30
basis = "teaching target"
source = "ours"
+++

The body.
"""


def line_of(text: str, part: str, nth: int = 1) -> int:
    lines = [number for number, line in enumerate(text.split("\n"), start=1) if part in line]
    return lines[nth - 1]


def faults_of(text: str, path: str = "checklists/p17-changing-a-wet-filter.md") -> list[tuple[int, str, str]]:
    _, faults = parse_procedure(path, text.encode())
    return [(fault.line, fault.level, fault.message) for fault in faults]


def test_a_good_file_is_read_whole() -> None:
    procedure, faults = parse_procedure("checklists/p17-changing-a-wet-filter.md", GOOD.encode())
    assert faults == ()
    assert procedure is not None
    assert procedure.letters == ("a", "b", "c", "d")
    assert procedure.cut_fraction == 0.8
    assert procedure.step("a").critical
    assert procedure.step("c").weight == 2.0
    assert procedure.limits[0].at_most_s == 30.0
    assert procedure.body.strip() == "The body."
    assert procedure.content_hash == content_hash(GOOD.encode())
    assert from_json(to_json(procedure)) == procedure


def test_line_ends_and_a_byte_order_mark_do_not_change_the_hash() -> None:
    windows = b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode()
    one, _ = parse_procedure("p17-x.md", GOOD.encode())
    other, _ = parse_procedure("p17-x.md", windows)
    assert one is not None
    assert other == one


PAIRS = '[[pairs]]\nfirst = "{}"\nthen = "{}"\nwhy = "of a reason"\n\n[[limits]]'


@pytest.mark.parametrize(
    ("old", "new", "at", "said"),
    [
        ('then = "c"', 'then = "z"', ('then = "z"', 1), "z is not the letter of a step here"),
        ('letter = "d"', 'letter = "a"', ('letter = "a"', 2), "letter a is used twice"),
        ('letter = "d"', 'letter = "dd"', ('letter = "dd"', 1), "steps 4 letter"),
        ("[[limits]]", PAIRS.format("c", "a"), ("[[pairs]]", 4), "b before c, but c before a: no order"),
        ("[[limits]]", PAIRS.format("a", "b"), ("[[pairs]]", 4), "a before b is stated twice"),
        ("[[limits]]", PAIRS.format("c", "c"), ('then = "c"', 2), "c cannot come before itself"),
        ("valid_orders = 2", "valid_orders = 3", ("valid_orders", 1), "3 valid orders are stated, but these steps and"),
        ('[["a", "c"]]', '[["c", "d"]]', ("critical_pairs", 1), "c before d does not follow from the pairs"),
        ('[["a", "c"]]', '[["a", "z"]]', ("critical_pairs", 1), "z is not the letter of a step"),
        ('[["a", "c"]]', '[["a"]]', ("critical_pairs", 1), "critical_pairs 1"),
        ('to_steps = ["c"]', 'to_steps = ["q"]', ("to_steps", 1), "q is not the letter of a step"),
        ('to_steps = ["c"]', "to_steps = []", ("to_steps", 1), "limits 1 to_steps"),
        ("at_most_s = 30", "at_most_s = 0", ("at_most_s", 1), "greater than 0"),
        ("at_most_s = 30\n", "", ("[[limits]]", 1), "needs at_most_s or at_least_s"),
        ("at_most_s = 30", "at_most_s = 30\nat_least_s = 40", ("at_least_s", 1), "larger than at_most_s"),
        ('"teaching target"', '"custom"', ("basis", 1), "write one of standard, teaching target"),
        ('"teaching target"', '"standard"', ("basis", 1), "say who recorded it and when"),
        ('source = "ours"', 'source = "ours"\nrecorded_by = "x"', ("recorded_by", 1), 'belong to basis = "standard"'),
        ("weight = 2", "weight = 0", ("weight", 1), "greater than 0"),
        ("weight = 2", 'weight = "2"', ("weight", 1), "steps 3 weight"),
        ("weight = 2", "wieght = 2", ("wieght", 1), 'did you mean "weight"'),
        ("weight = 2", "weight = nan", ("weight", 1), "not a number"),
        ('why = "the bag does the work"\n', "", ("[[pairs]]", 1), "required"),
        ("critical = true", "critical = 1", ("critical = 1", 1), "true or false"),
        ("minutes = 8", "minutes = 8.5", ("minutes", 1), "minutes"),
        ("minutes = 8", "minutes = 8\ncut_fraction = 1.2", ("cut_fraction", 1), "less than or equal to 1"),
        ("2027-09-30", '"soon"', ("review_by", 1), "must be a date"),
        ('["C8"]', "[]", ("competencies", 1), "competencies"),
        ('code = "P17"', 'code = "P18"', ("code", 1), "name has to start with p18-"),
        (
            "weight = 2",
            'only_with = { field = "joint_action", value = "x" }',
            ("only_with", 1),
            'did you mean "joint_actions"',
        ),
        (
            "weight = 2",
            'only_with = { field = "joint_actions", value = "x" }',
            None,
            "valid_orders_on_every_device is needed",
        ),
        ("[[limits]]", '[[variants]]\nname = "x"\ntext = "y"\nvalid_orders = 2\n\n[[limits]]', None, "exactly one"),
        (
            "[[limits]]",
            '[[variants]]\nname = "x"\ntext = "y"\nshipped = true\nvalid_orders = 9\n\n[[limits]]',
            ("valid_orders", 2),
            "9 valid orders are stated",
        ),
        (
            "[[limits]]",
            '[[variants]]\nname = "x"\ntext = "y"\ndrops = [["a", "d"]]\nvalid_orders = 2\n\n[[limits]]',
            ("[[variants]]", 1),
            "a before d is not a stated pair",
        ),
    ],
)
def test_each_fault_is_told_with_its_line(old: str, new: str, at: tuple[str, int] | None, said: str) -> None:
    broken = GOOD.replace(old, new, 1)
    assert broken != GOOD
    found = [(line, level) for line, level, message in faults_of(broken) if said in message]
    assert len(found) == 1, faults_of(broken)
    if at:
        assert found[0] == (line_of(broken, *at), "error")


def test_all_faults_of_a_file_come_at_once() -> None:
    broken = GOOD.replace('then = "c"', 'then = "z"').replace('"teaching target"', '"guess"').replace("P17", "P18")
    assert len(faults_of(broken)) == 3


def test_a_pair_that_follows_is_a_warning_and_the_file_is_read() -> None:
    redundant = GOOD.replace("[[limits]]", PAIRS.format("a", "d"))
    procedure, faults = parse_procedure("p17-x.md", redundant.encode())
    assert procedure is not None
    assert [(fault.level, fault.line) for fault in faults] == [("warning", line_of(redundant, "[[pairs]]", 4))]
    assert "a before d follows from a before b before d" in faults[0].message


def test_restated_silences_the_warning_and_is_questioned_where_nothing_follows() -> None:
    wanted = GOOD.replace("[[limits]]", PAIRS.format("a", "d").replace("\n\n", "\nrestated = true\n\n"))
    assert faults_of(wanted) == []
    wrong = GOOD.replace('why = "the bag does the work"', 'why = "the bag does the work"\nrestated = true')
    assert [(line, level) for line, level, _ in faults_of(wrong)] == [(line_of(wrong, "restated"), "warning")]


def test_a_list_too_loose_to_count_is_refused_and_not_waited_for() -> None:
    steps = "".join(f'[[steps]]\nletter = "{letter}"\ntext = "x"\n\n' for letter in "efghijklmnopqrstuvwxyz")
    joined = "".join(f'[[pairs]]\nfirst = "a"\nthen = "{letter}"\nwhy = "x"\n\n' for letter in "efghijklmnopqrstuvwxyz")
    broken = GOOD.replace("[[pairs]]", steps + "[[pairs]]", 1).replace("[[limits]]", joined + "[[limits]]")
    assert [message for _, _, message in faults_of(broken) if "too many valid orders to count" in message]


def content(folder: Path, **files: str) -> Path:
    (folder / "checklists").mkdir()
    for name, text in files.items():
        (folder / "checklists" / f"{name}.md").write_text(text, encoding="utf-8")
    return folder


def test_a_folder_gives_every_procedure_and_every_fault(tmp_path: Path) -> None:
    other = GOOD.replace("P17", "P09")
    folder = content(
        tmp_path,
        p17_x="",
        README="no checklist",
        **{"p17-a": GOOD, "p17-b": GOOD, "p09-c": other, "p20-d": "no header"},
    )
    procedures, faults = read_procedures(folder)
    assert [procedure.code for procedure in procedures] == ["P09", "P17"]
    assert [(fault.path, fault.line) for fault in faults] == [
        ("checklists/p17-b.md", 2),
        ("checklists/p17_x.md", 0),
        ("checklists/p20-d.md", 1),
    ]


def test_competencies_and_sources_are_checked_against_those_known(tmp_path: Path) -> None:
    folder = content(tmp_path, **{"p17-a": GOOD})
    assert read_procedures(folder, known_competencies=["C8"], known_sources=["S12"])[1] == ()
    _, faults = read_procedures(folder, known_competencies=["C1"], known_sources=["S1"])
    assert [fault.line for fault in faults] == [line_of(GOOD, "competencies"), line_of(GOOD, "sources")]
    assert "S12 is not among the sources" in faults[1].message


@pytest.mark.parametrize(("value", "is_reached"), [("close the locking collar", True), ("glue it", False)])
def test_a_step_that_no_device_has_is_out_of_reach(tmp_path: Path, value: str, *, is_reached: bool) -> None:
    profiles = [file.profile for file in read_profiles(Path(__file__).resolve().parents[3])[0].values()]
    hung = f'only_with = {{ field = "joint_actions", value = "{value}" }}'
    folder = content(tmp_path, **{"p17-changing-a-wet-filter": GOOD.replace("weight = 2", hung, 1)})
    said = [fault.message for fault in read_procedures(folder, known_profiles=profiles)[1]]
    assert any("step c is out of reach" in message for message in said) is not is_reached
    assert not any("out of reach" in fault.message for fault in read_procedures(folder)[1])


def test_a_folder_that_is_not_there_is_a_fault(tmp_path: Path) -> None:
    procedures, faults = read_procedures(tmp_path)
    assert procedures == ()
    assert "QUIZAPP_CONTENT" in faults[0].message


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_no_damage_to_a_file_breaks_the_reader(data: st.DataObject) -> None:
    lines = GOOD.split("\n")
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(lines) - 1))
        lines[at] = data.draw(
            st.sampled_from(["", lines[at][::-1], "[[steps]]", "x = [", 'letter = "a"', "at_most_s = 1"])
        )
    procedure, faults = parse_procedure("p17-x.md", "\n".join(lines).encode())
    assert (procedure is None) == any(fault.level == "error" for fault in faults)


def test_another_text_is_another_hash() -> None:
    one, _ = parse_procedure("p17-x.md", GOOD.encode())
    other, _ = parse_procedure("p17-x.md", GOOD.replace("The body.", "Another.").encode())
    assert one is not None
    assert other is not None
    assert other.content_hash != one.content_hash
    assert replace(other, body=one.body, content_hash=one.content_hash) == one
