"""Markdown becomes HTML that can do nothing but be read."""

import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quizapp.content.markdown_text import body_faults, to_html


def test_ordinary_markdown() -> None:
    assert to_html("**20 cmH2O** and *that*") == "<p><strong>20 cmH2O</strong> and <em>that</em></p>"
    assert "<td>1</td>" in to_html("| a |\n|---|\n| 1 |")
    assert to_html("{{ name }}") == "<p>{{ name }}</p>"


@pytest.mark.parametrize(
    "text",
    [
        "<script>alert(1)</script>",
        "<img src=x onerror=alert(1)>",
        "[a](javascript:alert(1))",
        "[a](data:text/html,x)",
        "![a](http://example.org/a.png)",
        "<svg onload=alert(1)>",
        "[a]: javascript:alert(1)\n\n[a]",
        "<div style='x'>a</div>",
        "<javascript:alert(1)>",
    ],
)
def test_nothing_that_acts_gets_through(text: str) -> None:
    html = to_html(text)
    for dangerous in ("<script", "<img", "<svg", "<div", 'href="javascript', 'href="data', "href='javascript"):
        assert dangerous not in html
    assert body_faults(text)


def test_links_are_https() -> None:
    assert 'href="https://example.org/"' in to_html("[a](https://example.org/)")
    assert body_faults("[a](https://example.org/)") == []
    assert body_faults("5 < 6 and 7 > 2, `<b>` in code") == []
    assert body_faults("a\n\nb <b>c</b>") == [(3, "holds HTML; write Markdown, or put a space after the sign <")]


@pytest.mark.parametrize(
    "text", ["[" * 3000, "> " * 3000, "- " * 3000, "\n".join(" " * 2 * n + "- a" for n in range(200)), "*" * 5000]
)
def test_hostile_texts_are_quick(text: str) -> None:
    start = time.perf_counter()
    to_html(text)
    assert time.perf_counter() - start < 2


def test_one_text_leaves_nothing_behind_for_the_next() -> None:
    """Neither the addresses it named, nor what it was in the middle of when it was too deep to go on."""
    to_html("[a]: https://example.org\n\n[a]")
    assert to_html("[a]") == "<p>[a]</p>"
    to_html("> " * 3000)
    assert to_html("**20 cmH2O**") == "<p><strong>20 cmH2O</strong></p>"


def test_threads_do_not_mix_their_texts() -> None:
    texts = [f"**{number}** and *{number}*\n\n- {number}" for number in range(200)]
    expected = [to_html(text) for text in texts]
    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(to_html, texts)) == expected


def test_deep_lists_are_refused() -> None:
    assert body_faults("\n".join(" " * 2 * n + "- a" for n in range(200)))


@given(st.text(alphabet="ab<>[]()*_`#-! \n\"':/&;", max_size=80))
def test_no_text_makes_an_element_that_is_not_listed(text: str) -> None:
    html = to_html(text)
    for element in ("<script", "<img", "<iframe", "<style", "<form", "<input"):
        assert element not in html
