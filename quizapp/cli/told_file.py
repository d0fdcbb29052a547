"""What `people tell` writes: one archive with the records as JSON and as a page that opens without a network."""

from __future__ import annotations

import html
import json
import os
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from quizapp.errors import BadInput
from quizapp.services.tell_person import Told

STYLE = (
    "body{font:1rem/1.5 sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem}dl{display:grid;"
    "grid-template-columns:minmax(8rem,14rem) 1fr;gap:.25rem 1rem;border-top:1px solid}dt{font-weight:bold}"
    "dd{margin:0;overflow-wrap:anywhere}"
)
CAUTION = "Names of other people, secrets, and the keys of questions that are still asked are left out."


def write_told(path: Path, told: Told) -> None:
    """Write the archive for the owner's eyes only; raises BadInput where the file exists or cannot be written."""
    records = {
        "name": told.name, "staff_number": told.staff_number, "told_at": told.told_at.isoformat(),
        "left_out": CAUTION, "tables": told.tables, "acts": told.acts,
    }  # fmt: skip
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as raw, zipfile.ZipFile(raw, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("records.json", json.dumps(records, ensure_ascii=False, indent=1, sort_keys=True))
            archive.writestr("records.html", "\n".join(_page(told)))
    except OSError as fault:
        raise BadInput(f"{path} cannot be written: {fault.strerror}. Nothing was kept. Name another file.") from None


def _page(told: Told) -> Iterator[str]:
    title = html.escape(f"Everything kept about {told.name}")
    yield f'<!doctype html><html lang="en-GB"><head><meta charset="utf-8"><title>{title}</title>'
    yield f"<style>{STYLE}</style></head><body><h1>{title}</h1>"
    yield f"<p>Put together on {told.told_at:%d %B %Y, %H:%M} UTC. {CAUTION}</p>"
    for table, rows in told.tables.items():
        yield f"<h2>{html.escape(table.replace('_', ' '))}: {len(rows)}</h2>"
        for row in rows:
            yield _list(row)
    yield f"<h2>acts by or about you: {len(told.acts)}</h2><ol>"
    yield from (f"<li>{html.escape(one['at'])}: {html.escape(one['said'])}</li>" for one in told.acts)
    yield "</ol></body></html>"


def _list(row: Mapping[str, Any]) -> str:
    lines = (
        f"<dt>{html.escape(name.replace('_', ' '))}</dt><dd>{html.escape(_words(value))}</dd>"
        for name, value in row.items()
    )
    return f"<dl>{''.join(lines)}</dl>"


def _words(value: Any) -> str:
    if value is None:
        return "none"
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
