"""The one place that says a text is safe HTML: only what our own sanitiser or our own drawing made."""

from __future__ import annotations

from markupsafe import Markup


def trusted(html: str) -> Markup:
    """Mark HTML as safe; give it only text from content.markdown_text.to_html or from the instruments."""
    return Markup(html)  # noqa: S704 - the reviewed place
