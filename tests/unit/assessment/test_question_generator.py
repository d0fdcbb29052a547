"""Drawing questions: the same everywhere, never ambiguous, frozen exactly."""

import hashlib
import json
from dataclasses import replace
from decimal import Decimal

import pytest

from quizapp.assessment.drawing import DrawFault
from quizapp.assessment.families import Family
from quizapp.assessment.grading import is_within
from quizapp.assessment.number_stream import NumberStream
from quizapp.assessment.profile_values import other_profile_for
from quizapp.assessment.question_generator import draw_question, draw_report
from quizapp.assessment.questions import Question
from quizapp.content.families import read_family
from quizapp.content.front_matter import parse_document
from quizapp.content.profiles import read_profiles
from tests.sample_families import CHECKOUT, CHOICE, NUMERIC, ORDER, READING

PROFILES = {slug: file.profile for slug, file in read_profiles(CHECKOUT)[0].items()}
PROFILE = PROFILES["tv-a-1"]


def family(text: str, path: str = "question_bank/c5/n99-volume.md") -> Family:
    code = text.split('code = "')[1][:3].lower()
    read, faults = read_family(parse_document(path.replace("n99", code), text.encode()))
    assert read is not None, faults
    return read


def draw(text: str, seed: int) -> Question:
    return draw_question(family(text), PROFILE, seed)


def test_the_stream_is_pinned() -> None:
    """These numbers may change only together with ALGORITHM: frozen seeds would otherwise draw other questions."""
    stream = NumberStream("N99", 7)
    assert [stream.below(1000) for _ in range(6)] == PINNED
    assert NumberStream("N99", 7).shuffled("abcdef") == NumberStream("N99", 7).shuffled("abcdef")


PINNED = [858, 429, 442, 238, 296, 281]
#: Curves and the model of the device in one key: what binary arithmetic could make differ between machines.
CURVED = NUMERIC.replace(
    'formula = "litres"',
    'formula = "litres * exp(0 - 1 / time) + ln(flow) + sqrt(flow) + remaining_fraction(time, 1.7)'
    ' + device_rate_per_min(flow, 20, 1, 0.5, 40, 8, 0) + standard_pressure_mmhg(100 * flow) / 1000"',
).replace("range = [20, 60]", "range = [1, 99]")


@pytest.mark.parametrize(
    ("text", "digest"),
    [
        (NUMERIC, "c33ea159f9aefaf9"),
        (READING, "52d1ba9b8e73c59e"),
        (CHOICE, "2855d8736377b634"),
        (ORDER, "8bd5090cc769329f"),
        (CURVED, "0a1f3d6359efa6db"),
    ],
    ids=["numeric", "reading", "choice", "order", "curved"],
)
def test_questions_are_pinned_to_the_last_digit(text: str, digest: str) -> None:
    """Twenty questions each, the same on every machine; they may change only together with ALGORITHM or the texts."""
    plain = [replace(draw(text, seed), content_hash="").to_json() for seed in range(20)]
    assert hashlib.sha256("\n".join(plain).encode()).hexdigest()[:16] == digest


def test_every_number_of_the_stream_is_about_equally_likely() -> None:
    """Chi-squared with 9 degrees of freedom is below 27.9 with probability 0.999 (standard table)."""
    stream = NumberStream("N99", 1)
    counts = [0] * 10
    for _ in range(10_000):
        counts[stream.below(10)] += 1
    assert sum((count - 1000) ** 2 / 1000 for count in counts) < 27.9


def test_bounds_of_the_stream() -> None:
    assert NumberStream("x", 0).below(1) == 0
    with pytest.raises(ValueError, match="bound"):
        NumberStream("x", 0).below(0)


@pytest.mark.parametrize("text", [NUMERIC, READING, CHOICE, ORDER])
def test_same_seed_same_question_and_exact_round_trip(text: str) -> None:
    for seed in range(20):
        question = draw(text, seed)
        assert draw(text, seed) == question
        assert Question.from_json(question.to_json()) == question
        assert Question.from_json(question.to_json()).to_json() == question.to_json()
        assert Question.from_plain(json.loads(json.dumps(question.to_plain()))) == question
    assert len({draw(text, seed).to_json().replace(f'"seed":{seed}', "") for seed in range(20)}) > 1


def test_json_holds_no_floating_number_and_refuses_what_does_not_fit() -> None:
    text = draw(NUMERIC, 1).to_json()

    def refuse(shown: str) -> float:
        raise AssertionError(shown)

    json.loads(text, parse_float=refuse)
    with pytest.raises(ValueError, match="missing or unknown: stem"):
        Question.from_json(json.dumps({name: value for name, value in json.loads(text).items() if name != "stem"}))
    with pytest.raises(ValueError, match="floating"):
        Question.from_json(text.replace('"seed":1', '"seed":1.5'))
    with pytest.raises(ValueError, match=r"Question\.seed"):
        Question.from_json(text.replace('"seed":1', '"seed":"1"'))


def test_the_key_is_worked_out_from_the_printed_numbers() -> None:
    for seed in range(50):
        question = draw(NUMERIC, seed)
        printed = {drawn.name: drawn.printed for drawn in question.drawn}
        time = {"two": 2, "three": 3}[printed["time"]]
        (blank,) = question.blanks
        assert blank.key == Decimal(printed["flow"]) * time
        assert printed["flow"] != "13.0"
        assert f"**{printed['flow']} L/min** for {printed['time']} minutes" in question.stem
        assert question.worked == f"{printed['flow']} × {printed['time']} = {blank.key_printed} L"
        assert blank.tolerance == max(Decimal("0.5"), blank.key * 2 / 100)


def test_a_derived_number_is_used_as_it_is_printed() -> None:
    """The half is rounded up, and the key follows what the person sees."""
    rounded = NUMERIC.replace('"flow * time"\ndecimals = 1', '"flow * time"\ndecimals = 0')
    rounded = rounded.replace("{time} minutes", "{time} minutes ({litres} L)")
    for seed in range(30):
        question = draw(rounded, seed)
        exact = question.drawn[0].value * question.drawn[1].value
        key = question.blanks[0].key
        assert key == int(exact + Decimal("0.5"))
        assert f"({key} L)" in question.stem


def test_no_wrong_idea_lies_within_the_tolerance() -> None:
    colliding = NUMERIC.replace('formula = "flow"', 'formula = "litres + (flow - 15)"')
    report = draw_report(family(colliding), PROFILE, 400)
    assert 0.5 < report.kept_share < 1
    for seed in range(100):
        (blank,) = draw(colliding, seed).blanks
        assert not any(is_within(idea.value, blank.key, blank.tolerance) for idea in blank.ideas)


def test_two_ideas_with_one_number_are_reported_not_refused() -> None:
    report = draw_report(family(NUMERIC), PROFILE, 200)
    assert report.kept_share == 1.0
    assert report.unnamed_share == 1.0


def test_a_family_that_can_never_be_asked_says_so() -> None:
    always = NUMERIC.replace('formula = "flow"', 'formula = "litres"')
    with pytest.raises(DrawFault, match="within the tolerance"):
        draw(always, 1)
    with pytest.raises(DrawFault, match="outside the stated range"):
        draw(NUMERIC.replace("range = [20, 60]", "range = [1, 2]"), 1)
    with pytest.raises(DrawFault, match=r"it requires profile\.relief_cmh2o > 100"):
        draw(NUMERIC.replace("where =", 'requires = "profile.relief_cmh2o > 100"\nwhere ='), 1)
    with pytest.raises(DrawFault, match="let litres: flow / 0 divides by zero"):
        draw(NUMERIC.replace('"flow * time"', '"flow / 0"'), 1)


def test_a_second_exposure_asks_for_other_numbers() -> None:
    design = family(NUMERIC)
    earlier = [draw_question(design, PROFILE, 5)]
    for _ in range(8):
        again = draw_question(design, PROFILE, 5, unlike=earlier)
        assert not any(again.asks_the_same_as(other) for other in earlier)
        earlier.append(again)


def test_options_are_shuffled_and_one_is_the_key() -> None:
    names = set()
    for seed in range(60):
        question = draw(CHOICE, seed)
        assert len(question.options) == 3
        assert question.key_option.name == {"leak": "inflation", "shut": "expiration"}[question.case]
        names.add(tuple(option.name for option in question.options))
        wrong = next((option for option in question.options if option.name == "inflation" and not option.is_key), None)
        assert wrong is None or (wrong.credit == Decimal("0.5") and wrong.wrong_idea == "parked-means-full")
    assert len(names) > 6


def test_options_in_the_written_order() -> None:
    written = CHOICE.replace("options_shown = 3", "options_in_order = true")
    for seed in range(10):
        names = [option.name for option in draw(written, seed).options if option.name != "only-leak"]
        assert names == ["inflation", "expiration", "empty"]


def test_steps_do_not_stand_in_a_right_order_already() -> None:
    for seed in range(40):
        names = [step.name for step in draw(ORDER, seed).steps]
        assert names.index("bag") > names.index("search") or names.index("search") > names.index("reconnect")


def test_a_reading_fills_its_figure_and_describes_it_without_the_answer() -> None:
    for seed in range(40):
        question = draw(READING, seed)
        (figure,) = question.figures
        peak, baseline = question.blanks
        assert figure.number("needle_cmh2o") == peak.key
        assert figure.number("high_cmh2o") == Decimal(60)
        assert baseline.key == peak.key * Decimal("0.2")
        assert question.worked == f"{peak.key_printed} and {baseline.key_printed}"


def test_an_idea_borrows_from_another_device_where_there_is_one() -> None:
    borrowed = NUMERIC.replace('formula = "flow"', 'formula = "other_profile.working_flow_start_l_min"')
    design = family(borrowed)
    other = other_profile_for(design, PROFILE, tuple(PROFILES.values()))
    assert other is PROFILES["tv-a-2"]
    with_other = draw_question(design, PROFILE, 1, other_profile=other).blanks[0].ideas
    assert with_other[-1].value == Decimal(16)
    assert [idea.name for idea in draw_question(design, PROFILE, 1).blanks[0].ideas] == ["doubled", "doubled-again"]
    assert other_profile_for(design, PROFILE, (PROFILE,)) is None


def test_the_profile_is_frozen_with_the_question() -> None:
    question = draw_question(family(NUMERIC), PROFILES["tv-a-2"], 1)
    assert (question.profile_code, question.profile_revision) == ("TV-A", 2)
    assert len(question.content_hash) == 64
