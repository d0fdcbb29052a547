"""Markdown of content files to HTML that is safe to show: raw HTML is text, and only listed elements get through."""

from __future__ import annotations

import html
import re
import threading

import markdown
import nh3

ALLOWED_ELEMENTS = {
    *("p", "br", "hr", "em", "strong", "code", "pre", "blockquote", "ul", "ol", "li", "h2", "h3", "h4"),
    *("table", "thead", "tbody", "tr", "th", "td", "a"),
}
ALLOWED_ATTRIBUTES: dict[str, set[str]] = {"*": set(), "a": {"href"}, "th": {"scope"}, "ol": {"start"}}
ALLOWED_SCHEMES = {"https", "mailto"}
MAX_LENGTH = 64 * 1024
MAX_LIST_DEPTH = 6

_RAW_HTML = re.compile(r"<(?:[A-Za-z/!?])")
_IMAGE = re.compile(r"!\[[^\]]*\]\s*[(\[]")
_CODE = re.compile(r"`[^`]*`")
_LINK = re.compile(r"\]\(\s*<?([^)\s>]*)|^\s{0,3}\[[^\]]+\]:\s*<?(\S+)|<([A-Za-z][A-Za-z0-9+.-]*:[^>\s]*)>")
_LIST_ITEM = re.compile(r"^(\s*)(?:[-*+]|[0-9]+[.)])\s")
_OPENING = re.compile(r"\[")
_MAX_OPENINGS = 100


def to_html(text: str) -> str:
    """Return safe HTML of Markdown of up to 64 KiB; text that cannot be rendered is shown as written."""
    if len(text) > MAX_LENGTH or text.count("[") > _MAX_OPENINGS:
        return f"<p>{html.escape(text)}</p>"
    try:
        rendered = _of_this_thread.converter().reset().convert(text)
    except RecursionError:
        _of_this_thread.made = None
        rendered = f"<p>{html.escape(text)}</p>"
    return nh3.clean(
        rendered,
        tags=ALLOWED_ELEMENTS,
        attributes=ALLOWED_ATTRIBUTES,
        url_schemes=ALLOWED_SCHEMES,
        url_relative="deny",
        link_rel="noopener noreferrer",
    )


def body_faults(text: str) -> list[tuple[int, str]]:
    """Return line (from 1) and message for whatever a body must not hold: HTML, images, odd links, deep lists."""
    faults = []
    if text.count("[") > _MAX_OPENINGS:
        faults.append((1, f"holds {text.count('[')} opening square brackets; at most {_MAX_OPENINGS} are allowed"))
    for number, line in enumerate(text.split("\n"), start=1):
        faults += [(number, message) for message in _line_faults(line)]
    return faults


def _line_faults(line: str) -> list[str]:
    messages = []
    line = _CODE.sub("", line)
    if _IMAGE.search(line):
        messages.append("holds an image; figures are declared in the front matter")
    for link in _LINK.finditer(line):
        address = next(part for part in link.groups() if part is not None)
        if not address.startswith(("https://", "mailto:")):
            messages.append(f"links to {address!r}; only https:// and mailto: addresses are allowed")
    if _RAW_HTML.search(_LINK.sub("", line)):
        messages.append("holds HTML; write Markdown, or put a space after the sign <")
    item = _LIST_ITEM.match(line)
    if item and len(item[1].expandtabs(4)) // 2 > MAX_LIST_DEPTH * 2:
        messages.append(f"nests a list more than {MAX_LIST_DEPTH} deep")
    return messages


class _OfThisThread(threading.local):
    """A converter takes a millisecond to make and keeps state while it works, so that each thread has its own."""

    made: markdown.Markdown | None = None

    def converter(self) -> markdown.Markdown:
        if self.made is None:
            self.made = _new_converter()
        return self.made


_of_this_thread = _OfThisThread()


def _new_converter() -> markdown.Markdown:
    converter = markdown.Markdown(extensions=["tables", "sane_lists"], output_format="html")
    converter.preprocessors.deregister("html_block")
    converter.inlinePatterns.deregister("html")
    return converter
