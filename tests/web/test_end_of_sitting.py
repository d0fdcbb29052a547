"""The last page of a sitting before it is handed in: what is open comes before handing in."""

from __future__ import annotations

import re
from collections.abc import Callable

from quizapp.content.library import Library
from tests.knowledge_forms import answer, begun, composed, questions, right_text
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]


def test_with_questions_open_the_way_back_to_them_comes_first(
    client_as: ClientAs, small_sqlite: SmallService, library: Library
) -> None:
    sitting_id = begun(small_sqlite, library, composed(small_sqlite, library))
    end = f"/sitting/{sitting_id}/end"
    client = client_as("mira")
    page = client.get(end).text
    assert re.search(r'class="act pen" href="/sitting/[0-9a-f]+/1">Answer question 1<', page)
    assert page.count('class="act pen"') == 1
    assert "Hand in all the same" in page
    for one in questions(small_sqlite, sitting_id):
        answer(small_sqlite, sitting_id, one.position, right_text(one.question))
    page = client.get(end).text
    assert re.search(r'<button class="act pen" type="submit">Hand in<', page)
    assert page.count('class="act pen"') == 1
