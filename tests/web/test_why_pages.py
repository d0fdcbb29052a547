"""What lies behind an answer, word by word: the option chosen, a part of the credit, the gauge laid straight."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from decimal import Decimal

import pytest

from quizapp.assessment.questions import Option, Question
from quizapp.content.library import Library
from quizapp.services.record_answer import Response, option_token, record_answer
from quizapp.services.sittings_of import own_sitting
from tests.knowledge_forms import LATER, practice, questions, refreeze
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
SEEDS = range(30)


def asked(small: SmallService, library: Library, code: str, seed: int = 0) -> tuple[str, Question]:
    """Begin a practice and put a chosen draw in the place of the question drawn."""
    question = library.draw(code, library.profile("TV-A", 1), seed)
    sitting_id = practice(small, library, "N03")
    refreeze(small, sitting_id, lambda frozen: frozen.update(question.to_plain()))
    return sitting_id, question


def why_after(client: JudgingClient, small: SmallService, sitting_id: str, **sent: object) -> str:
    """Answer the only question and return the words of the page that says why."""
    with small.acting("mira", at=small.now + LATER) as act:
        record_answer(
            act, sitting_id, 1, Response(**sent),  # type: ignore[arg-type]
            act_key=f"why-{sitting_id}", seen_revision=0,
        )  # fmt: skip
    return html.unescape(client.get(f"/sitting/{sitting_id}/1/why").text)


def token(small: SmallService, sitting_id: str, option: Option) -> str:
    with small.acting("mira") as act:
        return option_token(own_sitting(act, sitting_id).seed, 1, option.name)


def heading(page: str) -> str:
    found = re.search(r"<h1[^>]*>(.*?)</h1>", page, re.DOTALL)
    assert found is not None
    return found[1].strip()


@pytest.mark.parametrize("seed", range(6))
def test_a_wrong_choice_without_a_named_idea_is_told_its_own_sentence(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, seed: int
) -> None:
    """And never what another option, or the key, would have been told."""
    sitting_id, question = asked(small_sqlite, library, "K09", seed)
    chosen = next(one for one in question.options if not one.is_key and not one.wrong_idea)
    page = why_after(client_as("mira"), small_sqlite, sitting_id, option=token(small_sqlite, sitting_id, chosen))
    assert heading(page) == chosen.says
    assert question.key_option.says in page
    assert page.count("You chose this.") == 1


def test_the_heading_is_one_sentence_and_the_rest_follows(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    sitting_id, question = asked(small_sqlite, library, "N17")
    idea = question.blanks[0].ideas[0]
    page = why_after(
        client_as("mira"), small_sqlite, sitting_id, texts=[idea.printed], units=[question.blanks[0].units[0]]
    )
    assert heading(page) == "You divided by the peak."
    assert "The lung does not start at zero but at the baseline." in page


def test_a_part_of_the_credit_is_said_and_does_not_make_it_right(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    seed, second = next(
        (seed, option)
        for seed in SEEDS
        for option in library.draw("K04", library.profile("TV-A", 1), seed).options
        if option.credit == Decimal("0.5")
    )
    sitting_id, _ = asked(small_sqlite, library, "K04", seed)
    page = why_after(client_as("mira"), small_sqlite, sitting_id, option=token(small_sqlite, sitting_id, second))
    assert second.says.startswith(heading(page))
    assert "worth half of the credit; the question counts as right with the best one only." in page
    saved = questions(small_sqlite, sitting_id)[0].answer
    assert saved is not None
    assert (saved.credit, saved.grade["is_correct"]) == (Decimal("0.5"), False)


def test_one_of_two_numbers_is_half(client_as: ClientAs, small_sqlite: SmallService, library: Library) -> None:
    sitting_id, question = asked(small_sqlite, library, "N47")
    peak, baseline = question.blanks
    texts, units = [peak.key_printed, str(baseline.high + 9)], ["cm[H2O]", "cm[H2O]"]
    page = why_after(client_as("mira"), small_sqlite, sitting_id, texts=texts, units=units)
    assert "1 of 2 numbers is right" in page


@pytest.mark.parametrize(("number", "words"), [("right", "is worth half of the credit"), ("wrong", "")])
def test_the_right_number_in_a_wrong_unit_is_half_in_practice(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, number: str, words: str
) -> None:
    sitting_id, question = asked(small_sqlite, library, "N04")
    blank = question.blanks[0]
    text = blank.key_printed if number == "right" else "0.01"
    page = why_after(client_as("mira"), small_sqlite, sitting_id, texts=[text], units=["mL/min"])
    assert words in page
    assert ("The number is right, the unit is not." in page) is (number == "right")


@pytest.mark.parametrize("code", ["N46", "N49"])
def test_a_gauge_misread_is_laid_straight_with_what_was_written(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, code: str
) -> None:
    sitting_id, question = asked(small_sqlite, library, code)
    blank = question.blanks[0]
    idea = blank.ideas[-1]
    texts = [idea.printed, *(one.key_printed for one in question.blanks[1:])]
    page = why_after(
        client_as("mira"), small_sqlite, sitting_id, texts=texts, units=[one.units[0] for one in question.blanks]
    )
    assert f"which is {blank.key:f}" in page.replace("minus ", "-")
    assert f"you wrote {idea.value:f}" in page


@pytest.mark.parametrize("code", ["N16", "N52"])
def test_where_the_key_is_no_reading_nothing_is_laid_straight(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, code: str
) -> None:
    sitting_id, question = asked(small_sqlite, library, code)
    idea = question.blanks[0].ideas[0]
    page = why_after(client_as("mira"), small_sqlite, sitting_id, texts=[idea.printed], units=["cm[H2O]"])
    assert 'class="flat"' not in page
