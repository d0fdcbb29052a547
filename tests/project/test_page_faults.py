"""The judge of pages sees each fault it claims to see, and nothing on a page without any."""

from __future__ import annotations

import pytest

from tests.page_faults import faults_of_page

GOOD = """<!doctype html>
<html lang="en"><head><title>A page</title></head><body><main><h1 id="top">A page</h1>
<form><label for="kg">Weight</label><input id="kg" name="kg" aria-describedby="hint"><p id="hint">In kg</p>
<input type="hidden" name="key" value="1"><label>Note <textarea name="note"></textarea></label></form>
<svg viewBox="0 0 1 1" role="img" aria-label="A needle at 20"><path d="M0 0"/></svg>
<img src="a.svg" alt=""></main></body></html>"""


def test_a_good_page_has_no_fault() -> None:
    assert faults_of_page(GOOD) == []


@pytest.mark.parametrize(
    ("part", "worse", "fault"),
    [
        ("<!doctype html>", "", "expected-doctype"),
        ("</label><input", "</div><input", "end-tag-too-early"),
        ('id="top"', 'id="kg"', "id 'kg' used 2 times"),
        ('<h1 id="top">A page</h1>', "", "0 h1 instead of one"),
        ("</h1>", "</h1><h1>B</h1>", "2 h1 instead of one"),
        ('<label for="kg">Weight</label>', "", "no label for input 'kg'"),
        ('<label>Note <textarea name="note"></textarea></label>', '<textarea name="note"></textarea>', "no label"),
        ('<p id="hint">', "<p>", "aria-describedby='hint' points at nothing"),
        ("<main>", '<main style="color:red">', "inline attribute style"),
        ("<main>", '<main onclick="go()">', "inline attribute onclick"),
        ("<main>", "<main><script>go()</script>", "an inline script"),
        ("</title>", "</title><style>p{}</style>", "a style element"),
        (' lang="en"', "", "no language on html"),
        ("<title>A page</title>", "<title> </title>", "no title"),
        (' alt=""', "", "no text alternative for a.svg"),
        (' role="img" aria-label="A needle at 20"', "", "an svg neither hidden nor named"),
    ],
)
def test_each_fault_is_seen(part: str, worse: str, fault: str) -> None:
    assert part in GOOD
    faults = faults_of_page(GOOD.replace(part, worse, 1))
    assert any(fault in found for found in faults), faults
