"""An exported audit trail made up for tests, and the ways somebody with the file in hand could change it."""

from __future__ import annotations

import json
import random

from quizapp.assessment.audit_chain import NO_HASH, AuditEntry, audit_body, chain_hash, record_hash


def line(fields: object) -> bytes:
    return json.dumps(fields, sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode()


def bodies(length: int, salt: str = "") -> list[bytes]:
    return [
        audit_body(
            AuditEntry(
                chain="service",
                seq=seq,
                at=f"2026-03-14T09:{seq // 60:02d}:{seq % 60:02d}.000000Z",
                actor_id=f"{seq:032x}",
                act="answer_saved",
                object_type="answer",
                object_id=f"{seq * 7:032x}",
                after=record_hash({"answer": f"{seq},5{salt}"}),
                details={"person": f"{seq:032x}", "thing": "N01 «Ø»", "record": {"answer": f"{seq},5{salt}"}},
            )
        )
        for seq in range(1, length + 1)
    ]


def rows_of(written: list[bytes]) -> list[dict[str, object]]:
    """Link bodies as the program does, with running numbers."""
    rows: list[dict[str, object]] = []
    prev = NO_HASH
    for seq, body in enumerate(written, start=1):
        digest = chain_hash(prev, body)
        rows.append({"seq": seq, "prev": prev.hex(), "hash": digest.hex(), "body": body.decode()})
        prev = digest
    return rows


def file_of(rows: list[dict[str, object]]) -> bytes:
    end = {"seq": len(rows), "hash": rows[-1]["hash"] if rows else NO_HASH.hex()}
    return b"".join(line(row) + b"\n" for row in [*rows, {"head": end}])


def changed(kind: str, written: list[bytes], chance: random.Random) -> list[dict[str, object]]:
    """Change a trail the way `kind` names; the numbers and the links are made right again where that is possible."""
    rows = rows_of(written)
    place, other = sorted(chance.sample(range(1, len(rows) - 1), 2))
    if kind == "delete":
        left = [*written[:place], *written[place + 1 :]]
        return rows_of(left) if chance.random() < 0.5 else [*rows[:place], *rows[place + 1 :]]
    if kind == "reorder":
        rows[place], rows[other] = rows[other], rows[place]
        return rows if chance.random() < 0.5 else rows_of([str(row["body"]).encode() for row in rows])
    if kind == "exchange":
        rows[place]["seq"], rows[other]["seq"] = rows[other]["seq"], rows[place]["seq"]
        return rows
    if kind == "duplicate":
        return [*rows[: other + 1], rows[place], *rows[other + 1 :]]
    if kind == "cut":
        return rows[:place]
    return rows_of([*written[:place], *bodies(len(written), salt="x")[place:]])
