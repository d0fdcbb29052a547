"""A whole number in a form: plain digits within bounds, refused with the bounds in the sentence."""

from __future__ import annotations

from typing import Any

from wtforms import IntegerField


class WholeNumberField(IntegerField):
    """Like the ordinary field, which would take digits of other scripts and underscores, but read strictly."""

    def __init__(self, label: str, *, lowest: int, highest: int, **options: Any) -> None:
        super().__init__(label, **options)
        self.type = "IntegerField"
        self.lowest, self.highest = lowest, highest

    def process_formdata(self, valuelist: list[str]) -> None:
        """Read what was sent; an empty entry is no number."""
        text = valuelist[0].strip() if valuelist else ""
        self.data = None
        if not text:
            return
        is_plain = text.isascii() and text.isdigit() and len(text) <= len(str(self.highest))
        if not is_plain or not self.lowest <= int(text) <= self.highest:
            raise ValueError(f"Write a whole number from {self.lowest} to {self.highest}.")
        self.data = int(text)
