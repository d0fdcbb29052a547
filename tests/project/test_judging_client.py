"""The client that judges pages refuses a faulty one, and fills in forms as a browser would."""

from __future__ import annotations

import pytest
from flask import Flask, Response, request

from tests.web_app import WALLS, JudgingClient, form_of, values_of

HEAD = '<!doctype html><html lang="en"><head><title>A</title></head><body><main><h1>A</h1>'
FOOT = "</main></body></html>"
FORM = """<form action="/save" method="post"><input type="hidden" name="key" value="k1">
<label>Note <textarea name="note">as it was</textarea></label>
<label><input type="checkbox" name="step" value="a" checked>a</label>
<label><input type="checkbox" name="step" value="b" checked>b</label>
<label><input type="radio" name="unit" value="L">L</label>
<label>Base <select name="base"><option value="up">Up</option>
<option value="down" selected>Down</option></select></label>
<button name="go" value="1">Save</button></form>"""


@pytest.fixture
def browser_of_pages() -> JudgingClient:
    pages = Flask("pages")
    pages.test_client_class = JudgingClient

    @pages.after_request
    def _walls(answer: Response) -> Response:
        answer.headers.update({} if request.path == "/bare" else WALLS)
        return answer

    pages.add_url_rule("/good", "good", lambda: HEAD + FORM + FOOT)
    pages.add_url_rule("/bare", "bare", lambda: HEAD + FOOT)
    pages.add_url_rule("/two-headings", "two", lambda: HEAD + "<h1>B</h1>" + FOOT)
    pages.add_url_rule("/broken", "broken", lambda: ("", 500))
    pages.add_url_rule("/save", "save", lambda: dict(request.form.lists()), methods=["POST"])
    client = pages.test_client()
    assert isinstance(client, JudgingClient)
    return client


@pytest.mark.parametrize(
    ("path", "fault"), [("/bare", "lacks"), ("/two-headings", "2 h1 instead of one"), ("/broken", "500")]
)
def test_a_faulty_answer_is_refused(browser_of_pages: JudgingClient, path: str, fault: str) -> None:
    with pytest.raises(AssertionError, match=fault):
        browser_of_pages.get(path)


def test_a_form_is_sent_as_a_browser_would(browser_of_pages: JudgingClient) -> None:
    answer = browser_of_pages.submit("/good", {"note": "better"})
    assert answer.json == {"key": ["k1"], "note": ["better"], "step": ["a", "b"], "base": ["down"]}


def test_a_form_is_found_by_its_address_only_when_there_is_one() -> None:
    assert values_of(form_of(HEAD + FORM, "/save"))["key"] == "k1"
    with pytest.raises(AssertionError, match="0 forms fit"):
        form_of(HEAD + FORM, "/other")
    with pytest.raises(AssertionError, match="2 forms fit"):
        form_of(HEAD + FORM + FORM)
