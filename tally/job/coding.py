"""Entries as bytes and back: one JSON object a line. A heartbeat, which most lines are, is read by a shorter way.

Old versions of an event are brought up to date in `decoded`, before the model sees them.
"""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any, NamedTuple, NotRequired, get_args

from pydantic import TypeAdapter, ValidationError
from typing_extensions import TypedDict

from tally.job import upcast
from tally.job.events import AnyEvent, Entry, Heartbeat, Samples
from tally.job.model import Model

_ENTRY = TypeAdapter(Entry)
VERSIONS: dict[str, int] = {
    kind.model_fields["kind"].default: kind.model_fields["version"].default for kind in get_args(AnyEvent)
}
"""The newest version of each kind: the one that is written."""


class Undecodable(ValueError):
    """A line that is no entry of a version that this program knows; the text says why."""


def _parts(model: type[Model], **inner: Any) -> Any:
    """The model's fields with its own rules as a plain dictionary, which costs half of the model to make."""
    fields: dict[str, Any] = {}
    for name, field in model.model_fields.items():
        kind = inner.get(name, field.rebuild_annotation())
        fields[name] = kind if field.is_required() else NotRequired[kind]
    made: Any = TypedDict  # from a table of fields, which a checker of types does not follow
    parts = made(f"{model.__name__}Parts", fields)
    parts.__pydantic_config__ = model.model_config
    return parts


_BEAT: TypeAdapter[dict[str, Any]] = TypeAdapter(
    _parts(Entry, event=_parts(Heartbeat, samples=tuple[_parts(Samples), ...]))  # type: ignore[misc]
)
_BEAT_MARK = b'"event":{"version":1,"kind":"Heartbeat"'
"""How a heartbeat is written. It cannot stand inside a text, where quotation marks are escaped."""


class Beat(NamedTuple):
    """A heartbeat's entry in the parts that the fold takes."""

    number: int
    at: datetime
    mono_s: float
    who: str
    sampled: list[tuple[str, str, tuple[float, ...]]]
    """Channel, quantity and values, in the order in which they came."""


def decoded_beat(body: bytes) -> Beat | None:
    """A heartbeat by the rules of `decoded`, in half the time; None for any other line, `decoded` says what that is."""
    if _BEAT_MARK not in body:
        return None
    try:
        entry = _BEAT.validate_json(body)
    except ValidationError:
        return None
    sampled = [
        (samples["channel"], samples["quantity"], samples["values"]) for samples in entry["event"].get("samples", ())
    ]
    return Beat(entry["number"], entry["at"], entry["mono_s"], entry["who"], sampled)


def encoded(entry: Entry) -> bytes:
    """The entry as one JSON object, without a line end."""
    return _ENTRY.dump_json(entry, exclude_defaults=False)


def decoded(body: bytes) -> Entry:
    """The entry that `body` holds; raises `Undecodable`."""
    try:
        return _ENTRY.validate_json(body)
    except ValidationError as wrong:
        reason = _reason(body, wrong)
    newer = upcast.brought_up(body)
    if newer is not None:
        try:
            return _ENTRY.validate_json(newer)
        except ValidationError as wrong:
            reason = _reason(newer, wrong)
    raise Undecodable(reason)


def _reason(body: bytes, wrong: ValidationError) -> str:
    try:
        raw: Any = json.loads(body)
        event = raw["event"]
        kind, version = event["kind"], event["version"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return "not an entry of a session"
    known = VERSIONS.get(kind) if isinstance(kind, str) else None
    if isinstance(version, int) and version > (known or 1):
        return (
            f"{_printable(kind)} version {_printable(version)} was written by a newer program;"
            f" this one knows version {known or 'none'}: install the newer one"
        )
    if known is None:
        return (
            f"{_printable(kind)} is no kind that this program knows: if a newer program wrote it, install the newer one"
        )
    first = wrong.errors(include_url=False, include_input=False)[0]
    where = ".".join(str(part) for part in first["loc"])
    return f"{_printable(kind)}: {_printable(where)}: {_printable(first['msg'], 300)}"


def _printable(value: object, most: int = 60) -> str:
    # A damaged line may hold anything, control characters and half a surrogate pair included; the reason is printed.
    return str(value).encode("unicode_escape").decode("ascii")[:most]


def utc_text(at: datetime) -> str:
    """An instant as it stands in the file, to the millisecond."""
    return at.isoformat(timespec="milliseconds").replace("+00:00", "Z")
