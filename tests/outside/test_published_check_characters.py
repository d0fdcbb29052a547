"""Check characters of ISO/IEC 7064 MOD 37,36 against identifiers that are printed in other standards."""

from __future__ import annotations

import pytest

from quizapp.assessment.check_codes import check_character

# Global Release Identifier, the worked example of that standard (A1-2425G-ABC1234002-M); from memory.
# ISO 15706 (audiovisual numbers), the example 0000-0000-D07A-0090-Q; from memory.
PUBLISHED = {"A12425GABC1234002": "M", "00000000D07A0090": "Q"}


@pytest.mark.parametrize("text", PUBLISHED)
def test_the_published_character_comes_out(text: str) -> None:
    assert check_character(text) == PUBLISHED[text]
