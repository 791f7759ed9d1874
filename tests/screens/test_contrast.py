"""Colours: every piece of text that is drawn, in every theme and without colour, row by row of the table."""

from dataclasses import replace

import pytest
from rich.color import Color
from rich.color_triplet import ColorTriplet
from rich.segment import Segment
from rich.style import Style

from tally.screens import themes
from tally.screens.app import TallyApp
from tests.screens.contrast import LEAST, NOT_READ, contrast, ratio, triplet, weak_in
from tests.screens.days import DAYS
from tests.screens.support import Bench, bench
from tests.screens.table import ROWS, Row, Stage

OF_A_KIND = ("returns-question", "alarm-question", "report", "loss")
"""One of each of the general screens; the others differ from it by their words alone and run with the long ones."""
COLOURED = [
    pytest.param(row, id=str(row), marks=[pytest.mark.long] if "." in row.made_in and row.name not in OF_A_KIND else [])
    for row in ROWS
]


def test_the_ratio_of_known_pairs() -> None:
    """Black on white is 21:1 by definition; #767676 on white is the usual example of a little over 4.5:1."""
    white = ColorTriplet(255, 255, 255)
    assert ratio(ColorTriplet(0, 0, 0), white) == pytest.approx(21.0)
    assert ratio(ColorTriplet(0x76, 0x76, 0x76), white) == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("row", COLOURED)
async def test_every_screen_stands_out_in_every_theme(row: Row, stage: Stage) -> None:
    """At its largest size, where nothing is left out."""
    async with row.shown(replace(stage, size=row.sizes[-1])) as screen:
        for theme in themes.ALL:
            screen.app.theme = theme.name
            if isinstance(screen.app, TallyApp):
                screen.app.redraw()
            await screen.settled()
            assert weak_in(screen) == [], theme.name


@pytest.mark.parametrize("theme", [theme.name for theme in themes.ALL])
@pytest.mark.parametrize("place", ["casing", "grout"])
async def test_a_record_that_is_not_written_stands_out(theme: str, place: str) -> None:
    async with bench(DAYS["grout-overdue"](), place=place) as screen:
        screen.app.theme = theme
        screen.feed.trouble = "the disk is full"
        await screen.shows("NOT BEING WRITTEN")
        await screen.settled()
        assert weak_in(screen) == []


@pytest.mark.parametrize("row", COLOURED)
async def test_without_colour_the_loudest_stands_in_reverse(
    row: Row, stage: Stage, monkeypatch: pytest.MonkeyPatch
) -> None:
    """NO_COLOR (no-color.org): set and not empty, no colour is added. A word and a symbol say each state."""
    monkeypatch.setenv("NO_COLOR", "1")
    async with row.shown(stage) as screen:
        assert screen.app.no_color
        coloured = [each.text for line in screen.segments for each in line if not _grey(each)]
        assert coloured == []
        # What has no style stands in the terminal's own colours.
        drawn = [(s.text, contrast(s)) for line in screen.segments for s in line if s.style and s.text.strip()]
        assert [(text, found) for text, found in drawn if found < LEAST and not set(text) <= NOT_READ] == []
        reverse = loudest(screen)
        assert [words for words in row.loud if words not in reverse] == []


def loudest(screen: Bench) -> str:
    """What stands in reverse video."""
    return "\n".join(
        "".join(each.text if each.style and each.style.reverse else "\n" for each in line) for line in screen.segments
    )


def _grey(segment: Segment) -> bool:
    """Or white, or black; a symbol's shape and its word say the rest."""
    if segment.style is None:
        return True
    colours = [colour for colour in (segment.style.color, segment.style.bgcolor) if colour is not None]
    return all(len(set(triplet(colour))) == 1 for colour in colours)


def test_what_is_weak_or_coloured_is_found() -> None:
    """Black on black, and red without its being said."""
    black, red = Color.from_rgb(0, 0, 0), Color.from_rgb(255, 0, 0)
    assert contrast(Segment("x", Style(color=black, bgcolor=black))) == pytest.approx(1.0)
    assert not _grey(Segment("x", Style(color=red, bgcolor=black))) and _grey(Segment("x", Style(color=black)))


async def test_each_state_of_the_grouting_has_a_word_and_a_symbol(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with bench(DAYS["grout-overdue"](), place="grout") as screen:
        await screen.shows("■ STOP AND LOOK", "RETURNS OVERDUE", "PUMP STILL", "meter STALE")
