"""The archive in which evidence is taken away: readable, for machines, signed, with the script that checks it."""

from __future__ import annotations

from pathlib import Path

from flask import current_app, render_template, url_for

from quizapp.services import check_evidence
from quizapp.services.archive_files import archive_of
from quizapp.services.take_away import OwnTakeAway
from quizapp.services.take_away_signature import public_key, signature_file
from quizapp.web.edge import edge
from quizapp.web.pages.my_evidence.taken_page import stated_page


def archive_bytes(taken: OwnTakeAway) -> bytes:
    """Return the archive of one take-away."""
    secret = edge().settings.secret
    page = stated_page(taken.statement)
    words = {"page": page, "check_address": url_for("check.show", _external=True)}
    read_me = render_template(
        "my_evidence/file/READ_ME.txt", **words, public_key=public_key(secret), audit_seq=taken.audit_seq,
        audit_hash=taken.audit_hash,
    )  # fmt: skip
    files = {
        "READ_ME.txt": read_me.encode("utf-8"),
        "evidence.html": render_template("my_evidence/file/evidence.html", **words).encode("utf-8"),
        "evidence.json": taken.statement_text.encode("utf-8"),
        "evidence.css": Path(current_app.static_folder or "", "evidence", "evidence.css").read_bytes(),
        "check_evidence.py": Path(check_evidence.__file__).read_bytes(),
    }
    said = {
        "service": page.service,
        "code": page.code,
        "made_at": taken.statement["made_at"],
        "audit_row": f"{taken.audit_seq} {taken.audit_hash}",
    }
    signature = signature_file(secret, files, said=said)
    return archive_of({**files, check_evidence.SIGNATURE_FILE: signature}, folder=f"evidence-{page.code}")
