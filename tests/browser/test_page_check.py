"""The check of pages in the browser passes a good page and sees each fault it is there for."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from flask import Flask
from playwright.sync_api import Error as PlaywrightError
from playwright.sync_api import Page

from tests.browser.live_server import served

GOOD = """<!doctype html><html lang="en"><head><title>A page</title></head>
<body><main><h1>A page</h1><p>Some words.</p></main></body></html>"""


def test_a_good_page_passes(page: Page, check_page: Callable[..., None]) -> None:
    page.set_content(GOOD)
    check_page(page, "page-check")


@pytest.mark.parametrize(
    ("part", "worse", "fault"),
    [
        ("<p>", "<img src='data:,'><p>", "image-alt"),
        ("<p>", "<p style='color:#bbb'>", "color-contrast"),
        ("<p>", "<script>console.warn('odd')</script><p>", "console warning: odd"),
        ("<p>", "<script>missing()</script><p>", "script error"),
        ("<p>", "<p style='width:2000px'>", "1618"),
    ],
)
def test_each_fault_is_seen(phone: Page, check_page: Callable[..., None], part: str, worse: str, fault: str) -> None:
    phone.set_content(GOOD.replace(part, worse, 1))
    with pytest.raises(AssertionError, match=fault):
        check_page(phone, "page-check")


def test_the_live_server_serves_and_stops(phone: Page) -> None:
    pages = Flask("pages")
    pages.add_url_rule("/", "good", lambda: GOOD)
    with served(pages) as address:
        phone.goto(address + "/")
        assert phone.title() == "A page"
    with pytest.raises(PlaywrightError, match="ERR_CONNECTION_REFUSED"):
        phone.goto(address + "/")
