"""The components in a real browser: accessible by day and night, large enough for a thumb, alive with scripts."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest
from flask import Flask, Response
from playwright.sync_api import Page

from quizapp.web.headers import CONTENT_POLICY
from quizapp.web.instruments.render import render_figure
from tests.browser.live_server import served
from tests.web import component_samples as samples
from tests.web.figure_samples import FIGURES

SMALLEST_TARGET_PX = 44
SMALL_TARGETS = """least => [...document.querySelectorAll('a, button, input, select, summary, textarea')].filter(e => {
    const box = e.getBoundingClientRect();
    return box.width && box.height && Math.min(box.width, box.height) < least - 0.5
        && !e.closest('label') && !e.classList.contains('skip') && getComputedStyle(e).display !== 'inline';
}).map(e => `${e.className} ${e.textContent.trim()}`)"""


def drawn(name: str) -> Response:
    """A sample page under the content policy of the service."""
    figures = [(f"{number} {figure['instrument']}", render_figure(figure)) for number, figure in enumerate(FIGURES)]
    page = Response(samples.draw(name, figures=figures), mimetype="text/html")
    page.headers["Content-Security-Policy"] = CONTENT_POLICY
    return page


@pytest.fixture(scope="module")
def site() -> Iterator[str]:
    """The sample pages, served with the static files of the package."""
    pages = Flask("samples", static_folder=str(samples.WEB / "static"))
    pages.add_url_rule("/<name>", "drawn", drawn)
    with served(pages) as address:
        yield address


@pytest.mark.parametrize("lamp", ["day", "night"])
@pytest.mark.parametrize("name", [*samples.PAGES, "error"])
def test_a_sample_page_passes_the_check(
    page: Page, site: str, check_page: Callable[..., None], name: str, lamp: str
) -> None:
    page.emulate_media(color_scheme="dark" if lamp == "night" else "light")
    page.goto(f"{site}/{name}")
    check_page(page, f"{name}-{lamp}")
    assert page.evaluate(SMALL_TARGETS, SMALLEST_TARGET_PX) == []


def test_the_lamp_changes_in_place_and_is_remembered(phone: Page, site: str) -> None:
    phone.goto(f"{site}/sample_cover")
    phone.get_by_role("button", name="Night ink").click()
    assert phone.evaluate("document.documentElement.dataset.lamp") == "night"
    assert [cookie["value"] for cookie in phone.context.cookies() if cookie["name"] == "lamp"] == ["night"]
    assert phone.get_by_role("button", name="Day ink").is_visible()
    assert not phone.get_by_role("button", name="Night ink").is_visible()


def test_a_tap_gives_the_next_number_and_another_takes_it_back(phone: Page, site: str) -> None:
    phone.goto(f"{site}/sample_rehearsal")
    order = phone.locator("[data-order-field]")
    phone.locator('[data-numbering] [data-step="c"]').click()
    assert order.input_value() == "a,b,d,c"
    phone.get_by_role("button", name="Earlier: Chest rise").click()
    assert order.input_value() == "a,b,c,d"
    phone.locator('[data-numbering] [data-step="a"]').click()
    assert order.input_value() == "b,c,d"
    assert phone.locator("[data-say]").inner_text().startswith("Taken back")


def test_three_dots_open_the_other_marks(phone: Page, site: str) -> None:
    phone.goto(f"{site}/sample_observation")
    dots = phone.locator('[data-opens="four-e"]')
    assert dots.get_attribute("aria-expanded") == "false"
    dots.click()
    assert dots.get_attribute("aria-expanded") == "true"
    assert phone.locator("#four-e").is_visible()


def test_paper_is_white_even_at_night_and_a_sheet_fits_on_one_page(desk: Page, site: str) -> None:
    desk.goto(f"{site}/sample_sheet")
    desk.evaluate("document.documentElement.dataset.lamp = 'night'")
    printed = desk.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page[^s]", printed)) == 1
    desk.emulate_media(media="print")
    assert desk.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
