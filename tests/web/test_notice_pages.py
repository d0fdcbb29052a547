"""One's own notices as a page and as a feed."""

from __future__ import annotations

from collections.abc import Callable
from xml.etree.ElementTree import fromstring

from quizapp.services.messages import ToTell, tell
from tests.small_service import SmallService
from tests.web_app import JudgingClient

ClientAs = Callable[[str], JudgingClient]
ATOM = "{http://www.w3.org/2005/Atom}"


def test_notices_stand_on_a_page_and_in_a_feed_that_can_be_ended(
    client_as: ClientAs, client: JudgingClient, small_sqlite: SmallService
) -> None:
    mira = client_as("mira")
    assert "No notice was written to you." in mira.get("/notices").text
    with small_sqlite.acting("leif") as act:
        tell(
            act,
            [ToTell(person_id=small_sqlite.person_id("mira"), about="test", about_id="0" * 32, text="secret words")],
        )
    page = mira.get("/notices").text
    assert "1 notice was written to you." in page
    assert "A message is waiting for you" in page
    assert "secret words" not in page
    made = mira.submit("/notices", {}, action="/notices/address").text
    path = made.split("<code>")[1].split("</code>")[0].removeprefix("http://localhost")
    answer = client.get(path)
    assert answer.headers["Content-Type"] == "application/atom+xml; charset=utf-8"
    feed = fromstring(answer.text)
    assert feed.tag == f"{ATOM}feed"
    for name in ("id", "title", "updated"):
        assert feed.findtext(f"{ATOM}{name}"), "RFC 4287, 4.1.1: a feed has one of each"
    (entry,) = feed.findall(f"{ATOM}entry")
    assert entry.findtext(f"{ATOM}title") == "A message is waiting for you"
    assert str(entry.findtext(f"{ATOM}id")).startswith("urn:uuid:")
    assert client.get(path.replace("/notices/", "/calendar/").replace(".atom", ".ics")).status_code == 404
    again = mira.submit("/notices", {}, action="/notices/address").text
    assert client.get(path).status_code == 404
    second = again.split("<code>")[1].split("</code>")[0].removeprefix("http://localhost")
    assert client.get(second).status_code == 200
    assert mira.submit("/notices", {}, action="/address/end").status_code == 303
    assert client.get(second).status_code == 404
    assert "No notice was written to you." in client_as("tor").get("/notices").text
