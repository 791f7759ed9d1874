"""A PDF read back by a general-purpose library: its pages' text, and where on the paper each letter stands."""

import pypdfium2

from tally.report.sheet import MAY_BREAK

MARGIN_PT = 34.0


def pages(document: bytes) -> list[str]:
    read = pypdfium2.PdfDocument(document)
    return [read[at].get_textpage().get_text_range() for at in range(len(read))]


def squeezed(text: str) -> str:
    """Text without what setting it in lines adds: spaces, line ends, places where a word may break."""
    return "".join(text.replace(MAY_BREAK, "").replace("\u2068", "").replace("\u2069", "").split())


def outside(document: bytes) -> list[str]:
    """Letters that stand beyond the margins at the sides, or off the paper."""
    found: list[str] = []
    read = pypdfium2.PdfDocument(document)
    for at in range(len(read)):
        wide, high = read[at].get_size()
        text = read[at].get_textpage()
        for place in range(text.count_chars()):
            left, bottom, right, top = text.get_charbox(place)
            if right > left and not (left > MARGIN_PT and right < wide - MARGIN_PT and bottom > 0 and top < high):
                found.append(f"page {at + 1}: {text.get_text_range(place, 12)!r}")
    return found
