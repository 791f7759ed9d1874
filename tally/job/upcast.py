"""Old versions of events brought up to date: on the raw members of a line, before the models see them.

A changed meaning needs a new version of the event and one function here that makes the old members into the new ones,
its `version` (and its `kind`, where that was renamed) included. What it makes is encoded again and validated as JSON
like any line, so that it can promise nothing that the models do not hold.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

Members = dict[str, Any]

UPCASTS: dict[tuple[str, int], Callable[[Members], Members]] = {}
"""(kind, version) -> the event's members one version later. Every version there ever was stays here."""


def brought_up(body: bytes) -> bytes | None:
    """The entry with each event in it at its newest version, as JSON; None where there is nothing to bring up."""
    try:
        entry = json.loads(body)
        event = entry["event"]
        newer = _newest(event)
        # A correction carries the event that it enters.
        if isinstance(inner := newer.get("event"), dict) and (brought := _newest(inner)) is not inner:
            newer = {**newer, "event": brought}
        if newer is event:
            return None
        return json.dumps({**entry, "event": newer}, separators=(",", ":")).encode("ascii")
    except (ValueError, LookupError, TypeError, AttributeError, ArithmeticError, RecursionError):
        return None  # no entry of any version; the models say what is wrong with it


def _newest(event: Members) -> Members:
    seen: set[tuple[str, int]] = set()
    while (named := (event["kind"], event["version"])) in UPCASTS and named not in seen:
        seen.add(named)
        event = UPCASTS[named](dict(event))
    return event
