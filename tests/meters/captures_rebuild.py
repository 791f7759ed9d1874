"""Raw logs with what they must give beside them.

`NAME.raw` is a raw meter log as a session keeps it, under a header that says what it shows. `NAME.json` holds how it is
read (the pieces of a line dialect, or a plan's [meter] table as text), the values worked by hand, and the readings as
this program decodes them, which are pinned. A field problem becomes a test by copying its raw log here and writing how
it is read and the values by hand. To write the pinned part anew:

    python -m tests.meters.captures_rebuild [NAME ...]
"""

import json
import sys
from pathlib import Path
from typing import Any

from tally.live.instruments import dialect as planned
from tally.meters.counter import Counter, Step
from tally.meters.decoder import Decoder
from tally.meters.dialect import Dialect, LineDialect
from tally.meters.reading import Reading
from tally.planfile.snippet import read_meter
from tally.record.raw_log import read_raw

FOLDER = Path(__file__).parent / "captures"
NAMES = sorted(path.stem for path in FOLDER.glob("*.raw"))


def described(name: str) -> dict[str, Any]:
    """The JSON beside a capture."""
    content: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return content


def dialect(name: str) -> Dialect:
    """How the capture is read."""
    content = described(name)
    if "meter" not in content:
        return LineDialect(**content["dialect"])
    meter = read_meter(content["meter"])
    assert not isinstance(meter, list), meter
    return planned(meter)


def decoded(name: str) -> tuple[list[Reading], Decoder]:
    """The readings of a capture, and the decoder with its counts."""
    decoder, readings = Decoder("grout", dialect(name)), []
    for chunk in read_raw(FOLDER / f"{name}.raw"):
        readings += decoder.feed(chunk.mono_s, chunk.data)
    return readings, decoder


def steps(name: str, readings: list[Reading]) -> list[Step]:
    """What each total adds."""
    content = described(name)
    counter, found = Counter(content["modulus_m3"]), []
    for reading in readings:
        if reading.quantity == "total_m3":
            counter, step = counter.take(reading.value, jump_limit_m3=content["jump_limit_m3"])
            found.append(step)
    return found


def pinned(readings: list[Reading]) -> list[list[Any]]:
    return [[reading.mono_s, reading.quantity, reading.value] for reading in readings]


def rebuild(names: list[str]) -> None:
    for name in names or NAMES:
        content = described(name) | {"pinned": None}
        rows = ",\n    ".join(map(json.dumps, pinned(decoded(name)[0])))
        text = json.dumps(content, indent=2).replace('"pinned": null', f'"pinned": [\n    {rows}\n  ]')
        (FOLDER / f"{name}.json").write_text(text + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    rebuild(sys.argv[1:])
