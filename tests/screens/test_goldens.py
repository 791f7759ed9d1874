"""The screens as text, to be read in a difference. What they show is `pinned`; other tests check the figures."""

import contextlib
from pathlib import Path

import pytest

from tests.screens.support import TINY, resized
from tests.screens.table import ROWS, Row, Stage

GOLDENS = Path(__file__).parent / "goldens"


def path_of(row: Row, size: tuple[int, int]) -> Path:
    return GOLDENS / f"{row}-{size[0]}x{size[1]}.txt"


@pytest.mark.parametrize("row", ROWS, ids=str)
async def test_the_screen_reads_as_kept(row: Row, stage: Stage, rebuild_goldens: bool) -> None:
    """At each of its sizes: a terminal that grows shows what one that was so large from the first shows."""
    differs: list[str] = []
    async with row.shown(stage) as screen:
        for size in row.sizes:
            await resized(screen, size)
            path = path_of(row, size)
            if rebuild_goldens:
                path.write_text(screen.text + "\n", encoding="utf-8", newline="\n")
            assert path.is_file(), f"no {path.name}; --rebuild-goldens writes it"
            kept = path.read_text(encoding="utf-8")
            with contextlib.suppress(AssertionError):
                await screen.until(lambda kept=kept: screen.text + "\n" == kept)  # type: ignore[misc]
            if screen.text + "\n" != kept:
                differs += [path.name, *_difference(kept, screen.text)]
    assert differs == []


def _difference(kept: str, text: str) -> list[str]:
    return [
        f"{was!r} is now {now!r}" for was, now in zip(kept.splitlines(), text.split("\n"), strict=False) if was != now
    ]


def test_no_golden_is_left_over() -> None:
    kept = set(GOLDENS.glob("*.txt"))
    assert kept == {path_of(row, size) for row in ROWS for size in row.sizes}


@pytest.mark.parametrize("row", [row for row in ROWS if row.whole], ids=str)
def test_no_number_is_cut_short(row: Row) -> None:
    """At 80 columns and more an ellipsis may stand in what a person named, and in a line of the log, alone."""
    for size in row.sizes:
        if size != TINY:
            lines = path_of(row, size).read_text(encoding="utf-8").splitlines()
            assert [line for line in lines if "…" in line] == []
