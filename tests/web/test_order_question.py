"""A question that asks for an order: numbered button by button without any script, kept, saved, and compared."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from quizapp.assessment.families import FamilyKind
from quizapp.assessment.questions import Question
from quizapp.content.library import Library
from tests.knowledge_forms import practice, questions
from tests.small_service import SmallService
from tests.web_app import JudgingClient, form_of, values_of

ClientAs = Callable[[str], JudgingClient]


@pytest.fixture
def address(small_sqlite: SmallService, library: Library) -> str:
    """The page of a question that asks for an order, in a practice of Mira's."""
    families = library.families_for(library.profile("TV-A", 1))
    code = next(one.code for one in families if one.kind is FamilyKind.ORDER)
    return f"/sitting/{practice(small_sqlite, library, code)}/1"


def asked(small: SmallService, address: str) -> Question:
    return questions(small, address.split("/")[2])[0].question


def right_places(question: Question) -> list[str]:
    """Places of the shuffle in an order that keeps every real pair."""
    left, order = {step.name: set(step.after) for step in question.steps}, list[str]()
    while left:
        free = next(name for name, after in left.items() if not after & set(left))
        del left[free]
        order.append(free)
    place = {step.name: str(at) for at, step in enumerate(question.steps, start=1)}
    return [place[name] for name in order]


def test_numbers_are_given_and_taken_back_without_a_script(client_as: ClientAs, address: str) -> None:
    client = client_as("mira")
    text = client.get(address).text
    for name, value, order in (("give", "3", "3"), ("give", "1", "3,1"), ("earlier", "1", "1,3"), ("give", "3", "1")):
        answer = client.post(address, data={**values_of(form_of(text, address)), name: value})
        assert answer.status_code == 200
        text = answer.text
        assert values_of(form_of(text, address))["order"] == order
    cleared = client.post(address, data={**values_of(form_of(text, address)), "clear": "yes"}).text
    assert values_of(form_of(cleared, address))["order"] == ""


def test_an_order_with_steps_left_over_is_kept_and_not_marked(
    client_as: ClientAs, small_sqlite: SmallService, address: str
) -> None:
    refused = client_as("mira").submit(address, {"order": "2,1", "save": "yes"}, action=address)
    assert refused.status_code == 422
    assert "steps have no number yet. Your order is kept" in refused.text
    assert values_of(form_of(refused.text, address))["order"] == "2,1"
    assert questions(small_sqlite, address.split("/")[2])[0].answer is None


@pytest.mark.parametrize("order", ["1,1,1", "0,99,-1,abc", "1,2,3,4,5,6,7,8,9,10,11,12", ",,,", "1 , 2"])
def test_an_order_nobody_can_give_changes_nothing(client_as: ClientAs, address: str, order: str) -> None:
    answer = client_as("mira").submit(address, {"order": order}, action=address)
    assert answer.status_code in {200, 422}
    assert answer.text.count("<h1") == 1


def test_a_right_order_is_right(client_as: ClientAs, small_sqlite: SmallService, address: str) -> None:
    client = client_as("mira")
    order = ",".join(right_places(asked(small_sqlite, address)))
    saved = client.submit(address, {"order": order, "save": "yes"}, action=address)
    assert saved.status_code == 303
    assert "That is right." in client.get(saved.location).text


def test_a_broken_pair_is_named_with_its_reason(client_as: ClientAs, small_sqlite: SmallService, address: str) -> None:
    question = asked(small_sqlite, address)
    client = client_as("mira")
    order = ",".join(reversed(right_places(question)))
    saved = client.submit(address, {"order": order, "save": "yes"}, action=address)
    page = client.get(saved.location).text
    assert "Some steps came before what they depend on." in page
    step = next(one for one in question.steps if one.after)
    assert step.because in page
    assert re.search(r"<li>.* comes before .*</li>", page)
