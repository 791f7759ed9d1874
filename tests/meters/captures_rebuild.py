"""Raw logs with what they must give beside them.

`NAME.raw` is a raw meter log as a session keeps it, under a header that says what it shows. `NAME.json` holds the
dialect, the values worked by hand, and the readings as this program decodes them, which are pinned. A field problem
becomes a test by copying its raw log here and writing dialect and hand values. To write the pinned part anew:

    python -m tests.meters.captures_rebuild
"""

import json
from pathlib import Path
from typing import Any

from tally.meters.counter import Counter, Step
from tally.meters.decoder import Decoder
from tally.meters.dialect import LineDialect
from tally.meters.reading import Reading
from tally.record.raw_log import read_raw

FOLDER = Path(__file__).parent / "captures"
NAMES = sorted(path.stem for path in FOLDER.glob("*.raw"))


def described(name: str) -> dict[str, Any]:
    """The JSON beside a capture."""
    content: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return content


def decoded(name: str) -> tuple[list[Reading], Decoder]:
    """The readings of a capture, and the decoder with its counts."""
    decoder, readings = Decoder("grout", LineDialect(**described(name)["dialect"])), []
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


def rebuild() -> None:
    for name in NAMES:
        content = described(name) | {"pinned": None}
        rows = ",\n    ".join(map(json.dumps, pinned(decoded(name)[0])))
        text = json.dumps(content, indent=2).replace('"pinned": null', f'"pinned": [\n    {rows}\n  ]')
        (FOLDER / f"{name}.json").write_text(text + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    rebuild()
