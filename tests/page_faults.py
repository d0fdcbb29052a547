"""What is wrong with a page, judged from its text alone: HTML, headings, ids, labels, inline code, pictures."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from xml.etree.ElementTree import Element

import html5lib

NEEDS_A_LABEL = {"input", "select", "textarea"}
NEEDS_NO_LABEL = {"hidden", "submit", "button", "reset", "image"}


def faults_of_page(text: str) -> list[str]:
    """Every fault of one page, as plain sentences; [] when there is none."""
    parser = html5lib.HTMLParser(namespaceHTMLElements=False)
    root = parser.parse(text)
    found = [f"line {place[0]}: {code} {details or ''}".strip() for place, code, details in parser.errors]
    return [*found, *_headings(root), *_ids(root), *_labels(root), *_inline_code(root), *_head(root), *_images(root)]


def _all(root: Element) -> Iterator[Element]:
    return (element for element in root.iter() if isinstance(element.tag, str))


def _headings(root: Element) -> list[str]:
    count = len(root.findall(".//h1"))
    return [] if count == 1 else [f"{count} h1 instead of one"]


def _ids(root: Element) -> list[str]:
    counted = Counter(element.get("id") for element in _all(root) if element.get("id") is not None)
    twice = [f"id {name!r} used {count} times" for name, count in counted.items() if count > 1]
    return twice + [
        f"{name}={value!r} points at nothing"
        for element in _all(root)
        for name in ("for", "aria-labelledby", "aria-describedby", "aria-controls", "aria-errormessage")
        for value in (element.get(name) or "").split()
        if value not in counted
    ]


def _labels(root: Element) -> list[str]:
    inside = {id(child) for label in root.iter("label") for child in label.iter()}
    pointed_at = {label.get("for") for label in root.iter("label")}
    return [
        f"no label for {element.tag} {element.get('name')!r}"
        for element in _all(root)
        if element.tag in NEEDS_A_LABEL
        and element.get("type", "text") not in NEEDS_NO_LABEL
        and not (id(element) in inside or element.get("id") in pointed_at)
        and not (element.get("aria-label") or element.get("aria-labelledby"))
    ]


def _inline_code(root: Element) -> list[str]:
    """What the content policy would refuse anyway, and then only in the browser."""
    handlers = [
        f"{element.tag} has the inline attribute {name}"
        for element in _all(root)
        for name in element.keys()  # noqa: SIM118
        if isinstance(name, str) and (name == "style" or name.startswith("on"))
    ]
    scripts = [script for script in root.iter("script") if not script.get("src")]
    return handlers + ["an inline script"] * len(scripts) + ["a style element"] * len(root.findall(".//style"))


def _head(root: Element) -> list[str]:
    faults = [] if root.get("lang") else ["no language on html"]
    title = root.find(".//head/title")
    return faults if title is not None and (title.text or "").strip() else [*faults, "no title"]


def _images(root: Element) -> list[str]:
    missing = [f"no text alternative for {image.get('src')}" for image in root.iter("img") if image.get("alt") is None]
    hidden = {id(child) for element in _all(root) if element.get("aria-hidden") == "true" for child in element.iter()}
    unnamed = [
        "an svg neither hidden nor named"
        for drawing in _all(root)
        if drawing.tag.rpartition("}")[2] == "svg" and id(drawing) not in hidden and not _is_named(drawing)
    ]
    return missing + unnamed


def _is_named(drawing: Element) -> bool:
    titles = [child for child in drawing if isinstance(child.tag, str) and child.tag.rpartition("}")[2] == "title"]
    return bool(drawing.get("aria-label") or drawing.get("aria-labelledby") or titles)
