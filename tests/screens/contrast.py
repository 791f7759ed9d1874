"""Colours: every piece of text that is drawn, in every theme, by the contrast ratio of WCAG 2.1 (W3C, 2018).

Relative luminance and contrast ratio as defined there: (L1 + 0.05) / (L2 + 0.05) with
L = 0.2126 R + 0.7152 G + 0.0722 B, each channel linear: c / 12.92 up to 0.03928 and ((c + 0.055) / 1.055) ** 2.4 above.
Success criterion 1.4.6 asks 7:1 for text.
"""

from collections.abc import Iterator

from rich.color import Color
from rich.color_triplet import ColorTriplet
from rich.segment import Segment

from tests.screens.support import Bench

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


def _pairs(screen: Bench) -> Iterator[tuple[str, float]]:
    for row in screen.segments:
        for segment in row:
            if not set(segment.text) <= NOT_READ:
                yield segment.text, contrast(segment)


def weak_in(screen: Bench) -> list[tuple[str, float]]:
    """Text that stands out too little."""
    return [(text, round(found, 2)) for text, found in _pairs(screen) if found < LEAST]


def contrast(segment: Segment) -> float:
    style = segment.style
    assert style is not None and style.color is not None and style.bgcolor is not None, segment
    assert not style.dim, f"dim text: {segment.text!r}"
    return ratio(triplet(style.color), triplet(style.bgcolor))


def triplet(colour: Color) -> ColorTriplet:
    return colour.get_truecolor()
