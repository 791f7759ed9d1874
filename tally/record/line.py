"""One line of a session file, and the link to the line before it.

A line is the body, one JSON object, with one more member put at its end:

    {"number":7, ... ,"chain":"<64 hexadecimal digits>"}

The digits are the SHA-256 digest of the previous line's digits followed by the body without its closing brace;
the first line follows 64 zeros. The seal has a fixed length, so that it is sliced off without parsing.

The chain has no key. It finds accidents (a flipped bit, an edited, lost, added or repeated line), not a forger, who
could compute it anew.
"""

import json
import re
from dataclasses import dataclass
from hashlib import sha256

from tally.record.fault import RecordFault

MAX_LINE_BYTES = 1024 * 1024
"""The longest line, its newline included."""

ZERO_CHAIN = "0" * 64
"""What the first line follows."""

_OPEN, _SHUT = b',"chain":"', b'"}\n'
SEAL_BYTES = len(_OPEN) + 64 + len(_SHUT)
_CHAIN = slice(-len(_SHUT) - 64, -len(_SHUT))
_SEAL = re.compile(rb',"chain":"([0-9a-f]{64})"}\n')


@dataclass(frozen=True, slots=True)
class Damage:
    """Why a line cannot be taken as written."""

    what: str
    stated: str | None
    """The line's own chain, where it ends in a well-formed seal."""


def seal(body: bytes, previous: str) -> tuple[bytes, str]:
    """The whole line, newline included, and its chain."""
    if not body.startswith(b"{") or not body.endswith(b"}") or not body[1:-1].strip() or b"\n" in body:
        raise ValueError(f"body must be one JSON object on one line with at least one member, got {body[:60]!r}")
    if len(body) - 1 + SEAL_BYTES > MAX_LINE_BYTES:
        most = MAX_LINE_BYTES - SEAL_BYTES + 1
        raise RecordFault(f"the entry is {len(body)} bytes long and at most {most} are accepted; shorten its text")
    chain = link(body[:-1], previous)
    return body[:-1] + seal_of(chain.encode("ascii")), chain


def unseal(line: bytes, previous: str) -> bytes | Damage:
    """The body, where the line follows `previous`; else what is wrong with it."""
    stem = line[:-SEAL_BYTES]
    if stem.startswith(b"{") and line[-SEAL_BYTES:] == seal_of(link(stem, previous).encode("ascii")):
        return stem + b"}"
    stated = stated_chain(line)
    if stated is None:
        return Damage("it does not end in a chain, so it was not written whole or was altered", None)
    return Damage("its chain does not hold: it was altered, or a line before it was altered, added or removed", stated)


def link(stem: bytes, previous: str) -> str:
    """The chain of a line whose body without its closing brace is `stem`."""
    return sha256(previous.encode("ascii") + stem).hexdigest()


def seal_of(chain: bytes) -> bytes:
    """The end of a line with that chain."""
    return _OPEN + chain + _SHUT


def chain_of(line: bytes) -> str:
    """The chain of a line that is known to end in a seal."""
    return line[_CHAIN].decode("ascii")


def stated_chain(line: bytes) -> str | None:
    """The chain that the line itself states, true or not."""
    seal_found = _SEAL.fullmatch(line[-SEAL_BYTES:])
    return seal_found[1].decode("ascii") if seal_found else None


def is_object(text: bytes) -> bool:
    """Whether the text can be read as one JSON object."""
    try:
        return isinstance(json.loads(text.decode("utf-8")), dict)
    except (ValueError, RecursionError):
        return False
