"""Every family of the question bank, found by itself, drawn with 200 seeds for every device it suits."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

import pytest

from quizapp.assessment.families import Family
from quizapp.assessment.grading import NumericAnswer, grade_numbers, grade_option, is_within
from quizapp.assessment.profile_values import other_profile_for, suits
from quizapp.assessment.question_generator import draw_report
from quizapp.assessment.questions import Blank, Question
from quizapp.content.family_draws import question_faults
from quizapp.content.library import Library, read_library
from quizapp.content.markdown_text import to_html
from quizapp.ventilation.device_profile import DeviceProfile
from tests.sample_families import CHECKOUT

SEEDS = 200
LEAST_KEPT = 0.20


@cache
def library() -> Library:
    return read_library(CHECKOUT)


FAMILIES = list(library().families)
PAIRS = [
    pytest.param((code, profile.slug), id=f"{code}-{profile.slug}")
    for code in FAMILIES
    for profile in library().profiles
    if suits(library().families[code], profile)
]


@dataclass(frozen=True)
class Drawn:
    family: Family
    profile: DeviceProfile
    questions: tuple[Question, ...]


@pytest.fixture(scope="module", params=PAIRS)
def drawn(request: pytest.FixtureRequest) -> Drawn:
    """One family with one device at a time, so that only its questions are held."""
    code, slug = request.param
    profile = library().profile_files[slug].profile
    made = tuple(library().draw(code, profile, seed) for seed in range(SEEDS))
    return Drawn(library().families[code], profile, made)


def test_there_are_families_and_each_suits_a_device() -> None:
    assert FAMILIES
    assert {code for code in FAMILIES if any(param.values[0][0] == code for param in PAIRS)} == set(FAMILIES)


def test_keys_are_finite_within_the_stated_range_and_marked_right(drawn: Drawn) -> None:
    for question in drawn.questions:
        for blank in question.blanks:
            assert blank.key.is_finite()
            assert blank.low <= blank.key <= blank.high
        if question.blanks:
            keys = [NumericAnswer(value=blank.key, unit=blank.units[0]) for blank in question.blanks]
            assert grade_numbers(question, keys).is_correct
        if question.options:
            assert grade_option(question, question.key_option.name).is_correct
            assert sum(option.is_key for option in question.options) == 1


def test_the_printed_key_is_marked_right(drawn: Drawn) -> None:
    for question in drawn.questions:
        for blank in question.blanks:
            printed = NumericAnswer(value=_printed(blank), unit=blank.units[0])
            assert is_within(printed.value, blank.key, blank.tolerance), f"{blank.key_printed} of {blank.key}"


def test_no_wrong_idea_is_marked_right(drawn: Drawn) -> None:
    for question in drawn.questions:
        for blank in question.blanks:
            assert not any(is_within(idea.value, blank.key, blank.tolerance) for idea in blank.ideas)


def test_every_wrong_idea_is_named_by_itself_in_some_draw(drawn: Drawn) -> None:
    """Two ideas may coincide in one draw, but an idea that can never be told apart diagnoses nothing."""
    named: set[str] = set()
    known: set[str] = set()
    for question in drawn.questions:
        for at, blank in enumerate(question.blanks):
            for idea in blank.ideas:
                answers: list[NumericAnswer | None] = [None] * len(question.blanks)
                answers[at] = NumericAnswer(value=idea.value, unit=blank.units[0])
                known.add(idea.name)
                named.add(grade_numbers(question, answers).wrong_idea)
    assert known <= named, known - named


def test_enough_draws_are_kept(drawn: Drawn) -> None:
    other = other_profile_for(drawn.family, drawn.profile, library().profiles)
    report = draw_report(drawn.family, drawn.profile, SEEDS, other_profile=other)
    assert report.kept_share >= LEAST_KEPT
    assert report.out_of_range == 0


def test_same_seed_same_question_and_exact_round_trip(drawn: Drawn) -> None:
    for question in drawn.questions[:20]:
        assert library().draw(drawn.family.code, drawn.profile, question.seed) == question
        assert Question.from_json(question.to_json()) == question


def test_seeds_give_different_questions(drawn: Drawn) -> None:
    texts = {question.to_json().replace(f'"seed":{question.seed},', "") for question in drawn.questions}
    assert len(texts) > 5


def test_figures_can_be_drawn_and_do_not_tell_the_answer(drawn: Drawn) -> None:
    assert [fault for question in drawn.questions for fault in question_faults(question)] == []


def test_texts_are_whole(drawn: Drawn) -> None:
    for question in drawn.questions[:50]:
        html = to_html(question.stem)
        assert "{" not in html.replace("{{", "")
        assert "<p>" in html
        assert question.keep
        assert all(idea.says and "{" not in idea.says for blank in question.blanks for idea in blank.ideas)


def _printed(blank: Blank) -> Decimal:
    return Decimal(blank.key_printed.replace("\u2212", "-"))
