"""Reads the codes of question_bank/sources.md: a family or checklist may name only sources that are listed."""

from __future__ import annotations

import re
from pathlib import Path

from quizapp.content.plain_text import UnreadableTextError, read_text
from quizapp.errors import ContentFault

FILE = "question_bank/sources.md"

_ROW = re.compile(r"^\|\s*([A-Z][A-Z0-9]{1,7})\s*\|\s*(.+?)\s*\|", re.MULTILINE)


def read_sources(folder: Path) -> tuple[dict[str, str], list[ContentFault]]:
    """Return what each listed source gives, by its code, and the fault of the file if there is one."""
    try:
        text = read_text((folder / FILE).read_bytes())
    except OSError as error:
        return {}, [ContentFault(path=FILE, line=0, message=f"cannot be opened ({error.strerror}); add it")]
    except UnreadableTextError as error:
        return {}, [ContentFault(path=FILE, line=error.line, message=str(error))]
    return dict(_ROW.findall(text)), []
