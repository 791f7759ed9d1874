"""Lines of a screen as pieces of text with a style: what widgets draw. Every state has a word, never colour alone."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from tally import formats
from tally.formats import Units
from tally.job.view.quantity import Kind, Quantity, Sentence

if TYPE_CHECKING:
    from tally.job.view.alarms import AlarmRow

Piece = str | tuple[str, str]

Row = tuple[int, Content]
"""How soon a line gives way where there is no room for all, and the line; 0 never does."""

SEVERITIES = {"stop-and-look": ("■", "STOP AND LOOK"), "caution": ("▲", "CAUTION"), "note": ("●", "NOTE")}


def line(*pieces: Piece) -> Content:
    """One line; outside text is taken as it is, never as markup, and loses its control characters."""
    return Content.assemble(
        *(formats.plain(piece) if isinstance(piece, str) else (formats.plain(piece[0]), piece[1]) for piece in pieces)
    )


def lines(rows: Sequence[Content]) -> Content:
    return Content("\n").join(rows)


def fitted(rows: list[Row], room: int) -> list[Content]:
    """As many of the lines as there is room for, in their order; those that matter less give way."""
    kept = list(rows)
    while len(kept) > room and any(rank for rank, _ in kept):
        worst = max(rank for rank, _ in kept)
        place = max(place for place, (rank, _) in enumerate(kept) if rank == worst)
        del kept[place]
    return [row for _, row in kept]


def text(quantity: Quantity, units: Units) -> str:
    return formats.text(quantity, units)


def said(sentence: Sentence, units: Units) -> str:
    return formats.plain(sentence.written(lambda quantity: formats.text(quantity, units)))


def cells(text: str) -> int:
    """Columns that `text` takes; a wide glyph takes two."""
    return Content(text).cell_length


def cut(text: str, most: int) -> str:
    """`text` in at most `most` columns, with a mark where something is left out."""
    # A text from outside may be huge; what lies far behind the cut need not be looked at.
    return Content(formats.plain(text[: 8 * most + 64])).truncate(max(most, 1), ellipsis=True).plain


def folded(text: str, width: int, indent: str = "") -> list[str]:
    """`text` in lines of `width` columns, broken between words, each behind `indent`."""
    room = max(width - len(indent), 10)
    return [f"{indent}{row.plain.rstrip()}" for row in Content(formats.plain(text)).wrap(room)]


def big(quantity: Quantity, units: Units) -> str:
    """A number for large digits, which have a sign but no dash."""
    return "-" if quantity.si is None else formats.number(quantity, units)


def bar(share: float | None, width: int) -> str:
    """A filled bar; past full it ends in an arrow."""
    if share is None:
        return "─" * width
    filled = min(max(round(share * width), 0), width)
    return "█" * (filled - 1) + "▶" if share > 1 else "█" * filled + "─" * (width - filled)


def alarm_head(row: AlarmRow) -> str:
    symbol, word = SEVERITIES.get(row.severity, ("?", row.severity.upper()))
    return f"{symbol} {word}"


def alarm_state(row: AlarmRow) -> str:
    """Where an alarm stands, in words."""
    cause = "cause still there" if row.active else "cause gone"
    answer = f"answered: {row.done}" if row.acknowledged else "not answered"
    voided = ", from a voided entry" if row.voided else ""
    return f"{cause}, {answer}{voided}"


def depth(quantity: Quantity, units: Units) -> str:
    """A computed depth to one decimal: more would claim too much."""
    if quantity.si is None or quantity.kind is not Kind.DEPTH:
        return formats.text(quantity, units)
    return f"{one_decimal(quantity.si, units)} {formats.unit(Kind.DEPTH, units)}"


def one_decimal(depth_m: float, units: Units) -> str:
    """A depth in the units of the screen, rounded to one decimal; "-0.0" is no depth."""
    shown = f"{depth_m / (formats.FOOT_M if units == 'us' else 1.0):,.1f}"
    return "0.0" if shown == "-0.0" else shown
