"""The page of an open question is the same whatever its key, weights, wrong ideas and feedback are."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import html5lib
import pytest

from quizapp.assessment.families import Danger, FamilyKind, Use
from quizapp.content.library import Library
from tests.knowledge_forms import practice, questions, refreeze
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
KEYS = re.compile(r'(name="(?:csrf_token|act_key)" value=)"[^"]*"')
TOKENS = re.compile(r"\b[0-9a-f]{16}\b")


def shown(client: JudgingClient, sitting_id: str) -> str:
    """The page without what differs each time it is drawn, and without the tokens that stand for the options."""
    answer = client.get(f"/sitting/{sitting_id}/1")
    assert answer.status_code == 200
    return TOKENS.sub("token", KEYS.sub(r"\1", answer.text))


def another_key(frozen: dict[str, Any]) -> None:
    """Everything that marks or explains an answer becomes something else."""
    frozen["worked"], frozen["keep"] = "canary worked", "canary keep"
    for blank in frozen["blanks"]:
        blank.update(key="987.25", key_printed="987.25", tolerance="3", decimals=2, low="900", high="1000",
                     danger=None if blank["danger"] else Danger.TOO_HIGH.value, ideas=[])  # fmt: skip
    for option in frozen["options"]:
        option.update(
            name="canary-" + option["name"], is_key=not option["is_key"], credit="0.125", wrong_idea="canary",
            says="canary says",
        )  # fmt: skip
    for step in frozen["steps"]:
        step.update(after=[], because="canary because", name="canary-" + step["name"])


def practised(library: Library, kind: FamilyKind) -> list[str]:
    """The families of a kind that may be practised on the device of the tests."""
    families = library.families_for(library.profile("TV-A", 1))
    return [one.code for one in families if one.kind is kind and one.use is not Use.ASSESSMENT]


@pytest.mark.parametrize("kind", FamilyKind)
def test_no_page_of_the_question_bank_depends_on_its_key(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, kind: FamilyKind
) -> None:
    client = client_as("mira")
    for code in practised(library, kind):
        sitting_id = practice(small_sqlite, library, code)
        before = shown(client, sitting_id)
        refreeze(small_sqlite, sitting_id, another_key)
        assert shown(client, sitting_id) == before, code
        assert "canary" not in before


@pytest.mark.parametrize("kind", FamilyKind)
def test_names_and_sentences_of_the_author_are_not_on_the_page(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, kind: FamilyKind
) -> None:
    client = client_as("mira")
    for code in practised(library, kind):
        sitting_id = practice(small_sqlite, library, code)
        text = client.get(f"/sitting/{sitting_id}/1").text
        question = questions(small_sqlite, sitting_id)[0].question
        ideas = [idea for blank in question.blanks for idea in blank.ideas]
        sentences = [idea.says for idea in ideas] + [option.says for option in question.options]
        sentences += [step.because for step in question.steps] + [question.keep, question.worked]
        names = {idea.name for idea in ideas} | {option.name for option in question.options}
        names |= {step.name for step in question.steps} | {option.wrong_idea for option in question.options}
        assert [one for one in sentences if one and one in text] == [], code
        assert attribute_values(text) & (names - {""}) == set(), code


def attribute_values(text: str) -> set[str]:
    root = html5lib.parse(text, namespaceHTMLElements=False)
    return {value for element in root.iter() for value in element.attrib.values()} - {"option", "order"}


def test_the_check_itself_sees_a_key_on_the_page(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    sitting_id = practice(small_sqlite, library, practised(library, FamilyKind.NUMERIC)[0])
    client = client_as("mira")
    before = shown(client, sitting_id)

    def label_that_tells(frozen: dict[str, Any]) -> None:
        frozen["blanks"][0]["label"] += f" ({frozen['blanks'][0]['key_printed']})"

    refreeze(small_sqlite, sitting_id, label_that_tells)
    assert shown(client, sitting_id) != before


@pytest.mark.parametrize("lamp", ["day", "night"])
def test_tokens_of_options_differ_between_sittings(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, lamp: str
) -> None:
    code = next(
        one.code for one in library.families.values() if one.kind is FamilyKind.CHOICE and one.use == "practice"
    )
    client = client_as("mira")
    client.set_cookie("lamp", lamp)
    found = []
    for _ in range(2):
        text = client.get(f"/sitting/{practice(small_sqlite, library, code)}/1").text
        found.append(set(re.findall(r'name="option" value="([0-9a-f]{16})"', text)))
    assert found[0]
    assert not found[0] & found[1]
