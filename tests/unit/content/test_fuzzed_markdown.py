"""Hostile Markdown by the thousand: whatever is written, only the listed elements, attributes and addresses come out.

2,000 texts in the ordinary run; 50,000 by `python3 dev.py test -m soak tests/unit/content/test_fuzzed_markdown.py`.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest

from quizapp.assessment.number_stream import NumberStream
from quizapp.content.markdown_text import body_faults, to_html

LONGEST_S = 0.050
COUNTS = [2_000, pytest.param(50_000, marks=pytest.mark.soak)]
#: Written out here again on purpose: what is allowed, and nothing else.
ELEMENTS = {
    *("p", "br", "hr", "em", "strong", "code", "pre", "blockquote", "ul", "ol", "li", "h2", "h3", "h4"),
    *("table", "thead", "tbody", "tr", "th", "td", "a"),
}
ATTRIBUTES = {"a": {"href", "rel"}, "th": {"scope"}, "ol": {"start"}}
SCHEMES = ("https:", "mailto:")
PIECES = [
    "<script>", "</script>", "<img src=x onerror=alert(1)>", "<svg onload=alert(1)>", "<iframe src=//x>",
    "<style>*{}", "<a href='javascript:alert(1)'>", "<math><mtext><table><mglyph><style><!--", "<![CDATA[", "<!--",
    "-->", "<?php", "[a](javascript:alert(1))", "[a](JaVaScRiPt:alert(1))", "[a](data:text/html,<b>)",
    "[a](vbscript:x)", "[a](//x.y)", "[a](&#106;avascript:alert(1))", "[a](java\tscript:alert(1))",
    "[a]: javascript:alert(1)", "[a][a]", "![a](x.png)", "![a][a]", "<javascript:alert(1)>", "<https://example.org>",
    "[a](https://example.org)", "[a](http://example.org)", "[a](https://example.org 'x\" onclick=alert(1) y=\"')",
    "<mailto:a@example.org>", "<div style='x'>", "<p onclick=x>", "**", "*", "_", "`", "``", "```\n", "~~~\n", "# ",
    "#### ", "###### ", "> ", "- ", "1. ", "\n", "\n\n", "    ", "\t", "| a | b |\n|---|---|\n| 1 | 2 |\n", "|",
    "---", "===", "&lt;script&gt;", "&amp;", "&#60;b&#62;", "\\<", "\\", "\x00", "\u2028", "\ufeff", "\u202e", "é",
    "a", "b c", "20 cmH2O", "{peak}", "{{", "}}", "\" onmouseover=\"x", "'", '"', ">", "<", "</", "<b", "<b ",
    "<details open ontoggle=x>", "<base href=//x>", "<form action=//x><button>", "<link rel=x>",
]  # fmt: skip


class Seen(HTMLParser):
    """Collects what is off the list."""

    def __init__(self) -> None:
        super().__init__()
        self.odd: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in ELEMENTS:
            self.odd.append(tag)
        for name, value in attrs:
            if name not in ATTRIBUTES.get(tag, set()):
                self.odd.append(f"{tag} {name}")
            if name == "href" and not (value or "").startswith(SCHEMES):
                self.odd.append(f"href {value}")

    def handle_comment(self, data: str) -> None:
        self.odd.append(f"comment {data}")

    def handle_decl(self, decl: str) -> None:
        self.odd.append(f"declaration {decl}")

    def handle_pi(self, data: str) -> None:
        self.odd.append(f"instruction {data}")


def off_the_list(html: str) -> list[str]:
    seen = Seen()
    seen.feed(html)
    seen.close()
    return seen.odd


def texts(count: int) -> Iterator[str]:
    """The same texts on every machine: pieces in a drawn number and order."""
    for seed in range(count):
        stream = NumberStream("markdown", seed)
        yield "".join(PIECES[stream.below(len(PIECES))] for _ in range(1 + stream.below(14)))


def taken_s(text: str) -> float:
    """Time of the processor; a text that is slow is slow every time, unlike a clearing of memory in between."""
    before = time.thread_time()
    to_html(text)
    body_faults(text)
    return time.thread_time() - before


@pytest.mark.parametrize("count", COUNTS)
def test_only_what_is_listed_comes_out_and_quickly(count: int) -> None:
    refused = 0
    for text in texts(count):
        assert any(taken_s(text) < LONGEST_S for _ in range(3)), repr(text)
        html, faults = to_html(text), body_faults(text)
        assert off_the_list(html) == [], repr(text)
        refused += bool(faults)
    assert count / 4 < refused < count


@pytest.mark.parametrize(
    "html",
    ["<p><img src=x></p>", "<p onclick=x>a</p>", '<a href="javascript:x">a</a>', '<a href="//x.y">a</a>', "<!-- a -->"],
)
def test_the_check_sees_what_is_off_the_list(html: str) -> None:
    assert off_the_list(html)
