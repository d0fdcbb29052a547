"""Makes an act that arrives twice have one effect: the first outcome is kept and given again."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from typing import Any

from quizapp.errors import Conflict
from quizapp.services.act import Act
from quizapp.store.receipts import ActReceipt


def body_hash(fields: Mapping[str, list[str]]) -> str:
    """Return a hash of what a form sent, whatever the order of its fields."""
    text = "\x00".join(f"{name}\x01{value}" for name in sorted(fields) for value in fields[name])
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def once(act: Act, *, act_key: str, route: str, fields_hash: str, do: Callable[[], Any]) -> Any:
    """Do the act unless its key was seen before; return the first outcome (a JSON value) either way.

    Raises Conflict when the same key comes with other contents.
    """
    known = act.session.get(ActReceipt, (act_key, act.actor.person_id, route))
    if known is not None:
        if known.body_hash != fields_hash:
            raise Conflict(
                "This page was already sent with other contents. The first version was kept. "
                "Open the page again to make a further change."
            )
        return known.outcome
    outcome = do()
    act.session.add(
        ActReceipt(
            act_key=act_key,
            person_id=act.actor.person_id,
            route=route,
            body_hash=fields_hash,
            outcome=outcome,
            done_at=act.now,
        )
    )
    act.session.flush()
    return outcome
