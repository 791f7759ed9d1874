"""Colours: every piece of text that is drawn, in every theme, by the contrast ratio of WCAG 2.1 (W3C, 2018).

Relative luminance and contrast ratio as defined there: (L1 + 0.05) / (L2 + 0.05) with
L = 0.2126 R + 0.7152 G + 0.0722 B, each channel linear: c / 12.92 up to 0.03928 and ((c + 0.055) / 1.055) ** 2.4 above.
Success criterion 1.4.6 asks 7:1 for text.
"""

from collections.abc import Iterator

import pytest
from rich.color import Color
from rich.color_triplet import ColorTriplet
from rich.segment import Segment

from tally.live.player import Player
from tally.screens import themes
from tests.screens.days import DAYS
from tests.screens.support import Bench, bench

LEAST = 7.0
# What is drawn and not read: the frame and the scroll bar's own blocks.
NOT_READ = set("━┃┏┓┗┛▁▂▃▄▅▆▇█▔ ")


def luminance(colour: ColorTriplet) -> float:
    red, green, blue = (
        channel / 12.92 if channel <= 0.03928 else ((channel + 0.055) / 1.055) ** 2.4 for channel in colour.normalized
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def ratio(first: ColorTriplet, second: ColorTriplet) -> float:
    lighter, darker = sorted((luminance(first), luminance(second)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_ratio_of_known_pairs() -> None:
    """Black on white is 21:1 by definition; #767676 on white is the usual example of a little over 4.5:1."""
    white = ColorTriplet(255, 255, 255)
    assert ratio(ColorTriplet(0, 0, 0), white) == pytest.approx(21.0)
    assert ratio(ColorTriplet(0x76, 0x76, 0x76), white) == pytest.approx(4.54, abs=0.005)


def _pairs(screen: Bench) -> Iterator[tuple[str, float]]:
    for row in screen.segments:
        for segment in row:
            if not set(segment.text) <= NOT_READ:
                yield segment.text, _contrast(segment)


def weak_in(screen: Bench) -> list[tuple[str, float]]:
    """Text that stands out too little."""
    return [(text, round(contrast, 2)) for text, contrast in _pairs(screen) if contrast < LEAST]


def _contrast(segment: Segment) -> float:
    style = segment.style
    assert style is not None and style.color is not None and style.bgcolor is not None, segment
    assert not style.dim, f"dim text: {segment.text!r}"
    return ratio(_triplet(style.color), _triplet(style.bgcolor))


def _triplet(colour: Color) -> ColorTriplet:
    return colour.get_truecolor()


@pytest.mark.parametrize("theme", [theme.name for theme in themes.ALL])
async def test_everything_drawn_stands_out(theme: str) -> None:
    day = DAYS["grout-overdue"]()
    async with bench(day, place="grout") as screen:
        screen.app.theme = theme
        for keys in (("f2",), ("f3",), ("f4",), ("up",), ("f5",), ("f6",), ("f2", "h", "1"), ("escape", "u"),
                     ("escape", "f3", "r"), ("escape", "a"), ("0", "x"), ("escape", "f9")):  # fmt: skip
            await screen.keys(*keys)
            await screen.settled()
            weak = [(text, round(contrast, 2)) for text, contrast in _pairs(screen) if contrast < LEAST]
            assert weak == [], f"after {keys}"


@pytest.mark.parametrize("theme", [theme.name for theme in themes.ALL])
@pytest.mark.parametrize("day", ["casing", "casing-low", "grout", "grout-ended"])
async def test_other_states_stand_out(theme: str, day: str) -> None:
    async with bench(DAYS[day](), place="casing" if day.startswith("casing") else "grout") as screen:
        screen.app.theme = theme
        screen.feed.trouble = "the disk is full"
        await screen.settled()
        weak = [(text, round(contrast, 2)) for text, contrast in _pairs(screen) if contrast < LEAST]
        assert weak == []


async def test_a_replay_stands_out() -> None:
    for theme in themes.ALL:
        player = Player(DAYS["grout"]().entries)
        async with bench(player, place="grout") as screen:
            screen.app.theme = theme.name
            await screen.settled()
            weak = [(text, round(contrast, 2)) for text, contrast in _pairs(screen) if contrast < LEAST]
            assert weak == []


async def test_without_colour_every_state_has_a_word_and_a_symbol(monkeypatch: pytest.MonkeyPatch) -> None:
    """NO_COLOR (no-color.org): set and not empty, no colour is added. Reverse video stays the loudest."""
    monkeypatch.setenv("NO_COLOR", "1")
    async with bench(DAYS["grout-overdue"](), place="grout") as screen:
        assert screen.app.no_color
        await screen.shows("■ STOP AND LOOK", "RETURNS OVERDUE", "PUMP STILL", "meter STALE")
        for row in screen.segments:
            for segment in row:
                for colour in (segment.style.color, segment.style.bgcolor) if segment.style else ():
                    if colour is not None:
                        red, green, blue = _triplet(colour)
                        assert red == green == blue, segment
        loud = [s.text for row in screen.segments for s in row if s.style and s.style.reverse]
        assert any("Returns overdue" in text for text in loud)
        weak = [(text, contrast) for text, contrast in _pairs(screen) if contrast < LEAST]
        assert weak == []
