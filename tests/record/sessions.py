"""Small sessions that the tests of the record share, built by hand from the format's definition."""

import hashlib
import json
from pathlib import Path

BODIES = tuple(
    json.dumps(
        {"number": number, "kind": "JointAdded", "length_m": 6.0 + number / 100, "note": note}, ensure_ascii=False
    ).encode("utf-8")
    for number, note in enumerate(["first", "Grüße", "", '8 5/8"', "a:b,c", "[/]", "last"], start=1)
)


def chained(bodies: tuple[bytes, ...], previous: str = "0" * 64) -> list[bytes]:
    """The lines of a session, written straight from the words of the format and not by the code under test."""
    lines = []
    for body in bodies:
        previous = hashlib.sha256(previous.encode() + body[:-1]).hexdigest()
        lines.append(body[:-1] + b',"chain":"' + previous.encode() + b'"}\n')
    return lines


def written(path: Path, lines: list[bytes]) -> Path:
    path.write_bytes(b"".join(lines))
    return path
