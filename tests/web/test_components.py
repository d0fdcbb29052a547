"""Every macro and base page drawn with invented values: valid HTML, unique ids, names for all, nothing inline."""

from __future__ import annotations

import re
from typing import Any

import component_samples as samples
import html5lib
import pytest
from figure_samples import FIGURES
from page_faults import faults_of_page

from quizapp.web.instruments.drawings import INSTRUMENTS
from quizapp.web.instruments.render import render_figure
from quizapp.web.page_context import CAUTION

STANDINGS = ("current", "lapsing", "lapsed", "restricted", "paused", "suspended", "withdrawn", "not yet signed off")
COMPONENTS = samples.WEB / "templates" / "components"


def figures() -> list[tuple[str, str]]:
    """Every instrument drawn once, under a heading of its own."""
    return [(f"{number} {figure['instrument']}", render_figure(figure)) for number, figure in enumerate(FIGURES)]


def page(name: str, **changes: Any) -> str:
    more = {"figures": figures()} if name == "sample_figures" else {}
    return samples.draw(name, **more, **changes)


@pytest.mark.parametrize("demo", [True, False])
@pytest.mark.parametrize("lamp", ["", "day", "night"])
@pytest.mark.parametrize("name", [*samples.PAGES, "error"])
def test_a_page_of_components_has_no_fault(name: str, lamp: str, *, demo: bool) -> None:
    assert faults_of_page(page(name, demo=demo, lamp=lamp)) == []


@pytest.mark.parametrize("figure", FIGURES, ids=str)
def test_a_figure_is_valid_html_and_has_words(figure: dict[str, Any]) -> None:
    parser = html5lib.HTMLParser(namespaceHTMLElements=False, strict=True)
    drawn = str(render_figure(figure))
    parser.parseFragment(drawn)
    assert re.search(r"<desc[^>]*>[^<]{10}|aria-label=\"[^\"]{10}", drawn)


def test_every_instrument_is_in_the_samples() -> None:
    assert {str(figure["instrument"]).replace("_", "-") for figure in FIGURES} | {"volume-curve"} == set(INSTRUMENTS)


def test_every_macro_is_drawn_by_some_sample_or_page() -> None:
    used = "\n".join(path.read_text() for path in (samples.HERE / "samples").glob("*.html"))
    used += "\n".join(path.read_text() for path in samples.WEB.glob("pages/**/*.html"))
    used += "\n".join(path.read_text() for path in samples.WEB.glob("templates/**/*.html"))
    macros = [name for path in COMPONENTS.glob("*.html") for name in re.findall(r"\{% macro (\w+)", path.read_text())]
    drawn_by_name = {instrument.macro for instrument in INSTRUMENTS.values()}
    unused = [name for name in macros if len(re.findall(rf"\b{name}\(", used)) < 2 and name not in drawn_by_name]
    assert unused == []


@pytest.mark.parametrize("demo", [True, False])
@pytest.mark.parametrize("name", [*samples.PAGES, "error"])
def test_the_caution_stands_on_every_page_and_the_demo_says_so(name: str, *, demo: bool) -> None:
    drawn = page(name, demo=demo)
    assert samples.values()["caution"] in drawn.split('<footer class="titleblock">')[1]
    assert ("Invented for the demo: Thornmere Isles Rescue" in drawn) is demo


def test_every_printed_sheet_of_paper_carries_the_caution() -> None:
    # A title block ends the whole print; the foot of each page is written by the print style.
    style = (samples.WEB / "static/css/print.css").read_text()
    foot = re.search(r'@bottom-left \{\s*content: "([^"]+)"', style)
    assert foot is not None
    assert foot[1] == CAUTION


def test_the_lamp_of_the_cookie_is_there_at_the_first_paint() -> None:
    assert '<html lang="en-GB" data-lamp="night">' in page("sample_cover", lamp="night")
    assert '<html lang="en-GB">' in page("sample_cover", lamp="")


def test_the_lamp_switch_is_a_form_that_comes_back_here() -> None:
    drawn = page("sample_cover")
    form = re.search(r'<form class="lamp-form" method="post" action="#sign_in.lamp">(.*?)</form>', drawn, re.DOTALL)
    assert form is not None
    assert 'name="csrf_token" value="t0ken"' in form[1]
    assert 'name="next" value="/"' in form[1]
    assert re.findall(r'type="submit" name="lamp" value="(\w+)"', form[1]) == ["night", "day"]


@pytest.mark.parametrize("word", STANDINGS)
def test_a_standing_is_a_shape_and_its_word(word: str) -> None:
    standing = samples.environment().get_template("components/marks.html").module.standing  # type: ignore[attr-defined]
    for written in (word, word.replace(" ", "_")):
        drawn = standing(written)
        assert re.search(r'<svg class="mk" [^>]*aria-hidden="true"[^>]*><(circle|path)', drawn)
        assert drawn.endswith(f"<span>{word}</span></span>")


def test_no_two_standings_share_a_shape() -> None:
    standing = samples.environment().get_template("components/marks.html").module.standing  # type: ignore[attr-defined]
    shapes = {re.sub(r"<span>[^<]+</span>", "", standing(word)) for word in STANDINGS}
    assert len(shapes) == len(STANDINGS)


def test_a_wrong_field_is_joined_to_its_error_and_named_in_the_summary() -> None:
    drawn = page("sample_decision")
    assert '<a href="#field-name">Write your sign-in name.</a>' in drawn
    field = re.search(r'<input id="field-name"[^>]*>', drawn)
    assert field is not None
    assert 'aria-describedby="field-name-hint field-name-error"' in field[0]
    assert 'aria-invalid="true"' in field[0]


def test_what_people_wrote_is_escaped() -> None:
    page_macros = samples.environment().get_template("components/page.html").module
    drawn = page_macros.opening("<script>x</script>", lede="a & b")  # type: ignore[attr-defined]
    assert "&lt;script&gt;" in drawn
    assert "<script>" not in drawn


def test_hidden_keys_have_no_ids_so_that_two_forms_fit_on_a_page() -> None:
    form_keys = samples.environment().get_template("components/page.html").module.form_keys  # type: ignore[attr-defined]
    drawn = form_keys(samples.a_form())
    assert re.findall(r'name="(\w+)"', drawn) == ["csrf_token", "act_key"]
    assert "id=" not in drawn
