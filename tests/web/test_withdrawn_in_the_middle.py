"""A family is withdrawn while people are asked it: open sittings pass it over, and those who met it are listed."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from quizapp.content.library import Library
from quizapp.errors import Conflict
from quizapp.services.accept_content import withdraw_content
from quizapp.services.content_items import ContentKind
from quizapp.services.who_met import who_met
from tests.knowledge_forms import answer, begun, composed, questions, right_text
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]


@pytest.fixture
def sitting_id(small_sqlite: SmallService, library: Library) -> str:
    return begun(small_sqlite, library, composed(small_sqlite, library))


def withdraw(small: SmallService, library: Library, code: str) -> None:
    with small.acting("ines") as act:
        withdraw_content(
            act, library, kind="family", code=code, content_hash=library.family(code).content_hash, step="",
            reason="two right answers were found in it",
        )  # fmt: skip


def code_at(small: SmallService, sitting_id: str, position: int) -> str:
    return questions(small, sitting_id)[position - 1].question.family


def test_an_open_sitting_passes_it_over_and_is_marked_without_it(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, sitting_id: str
) -> None:
    client, code = client_as("mira"), code_at(small_sqlite, sitting_id, 2)
    answer(small_sqlite, sitting_id, 1, right_text(questions(small_sqlite, sitting_id)[0].question))
    withdraw(small_sqlite, library, code)
    assert client.get(f"/sitting/{sitting_id}").location == f"/sitting/{sitting_id}/3"
    page = client.get(f"/sitting/{sitting_id}/2").text
    assert "Question 2 has been withdrawn and is passed over." in page
    assert f'href="/sitting/{sitting_id}/3"' in page
    assert 'name="answer_0"' not in page
    answer(small_sqlite, sitting_id, 3, right_text(questions(small_sqlite, sitting_id)[2].question))
    end = client.get(f"/sitting/{sitting_id}/end").text
    assert "All 2 questions are answered." in end
    assert ">withdrawn<" in end
    done = client.submit(f"/sitting/{sitting_id}/end", {}, action="/end")
    assert "2 of 2 right; 2 were needed." in client.get(done.location).text


def test_what_was_answered_before_is_kept_and_not_marked(
    client_as: ClientAs, small_sqlite: SmallService, library: Library, sitting_id: str
) -> None:
    answer(small_sqlite, sitting_id, 2, "1")
    withdraw(small_sqlite, library, code_at(small_sqlite, sitting_id, 2))
    client = client_as("mira")
    assert "What you had answered is kept and not marked." in client.get(f"/sitting/{sitting_id}/2").text
    with pytest.raises(Conflict, match="Question 2 has been withdrawn"):
        answer(small_sqlite, sitting_id, 2, "2", seen=1)
    assert questions(small_sqlite, sitting_id)[1].answer is not None


def test_the_same_sending_again_still_gets_its_receipt(
    small_sqlite: SmallService, library: Library, sitting_id: str
) -> None:
    first = answer(small_sqlite, sitting_id, 2, "1", key="the-same-key-once-more")
    withdraw(small_sqlite, library, code_at(small_sqlite, sitting_id, 2))
    assert answer(small_sqlite, sitting_id, 2, "1", key="the-same-key-once-more") == first


def test_everybody_who_met_it_is_listed(small_sqlite: SmallService, library: Library, sitting_id: str) -> None:
    code = code_at(small_sqlite, sitting_id, 2)
    withdraw(small_sqlite, library, code)
    with small_sqlite.acting("ines") as act:
        content_hash = library.family(code).content_hash
        met = who_met(act, library, kind=ContentKind.FAMILY, code=code, content_hash=content_hash)
    assert [one.name for one in met] == ["Mira"]


def test_a_new_sitting_leaves_it_out(small_sqlite: SmallService, library: Library) -> None:
    """A form of three families loses one of the four that are left for one of its competencies."""
    withdrawn = "N07"
    assessment_id = composed(small_sqlite, library)
    withdraw(small_sqlite, library, withdrawn)
    sitting_id = begun(small_sqlite, library, assessment_id)
    assert withdrawn not in {one.question.family for one in questions(small_sqlite, sitting_id)}
