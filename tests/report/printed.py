"""A PDF read back by a general-purpose library: its pages' text, and where on the paper each letter stands."""

import pypdfium2
import pypdfium2.raw as raw

from tally.report.sheet import MAY_BREAK

MARGIN_PT = 26.0
HEAD_PT = 34.0
FOOT_PT = 38.0
"""Of the page, at the sides, on top and at its foot."""


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


def apart(document: bytes, above: str, below: str) -> float:
    """Bare paper between two words of the first page [pt]: from the feet of `above` to the heads of `below`."""
    text = pypdfium2.PdfDocument(document)[0].get_textpage()
    boxes: list[list[tuple[float, float, float, float]]] = []
    for words in (above, below):
        found = text.search(words).get_next()
        assert found is not None, words
        boxes.append([text.get_charbox(place) for place in range(found[0], sum(found))])
    return min(bottom for _, bottom, _, _ in boxes[0]) - max(top for _, _, _, top in boxes[1])


def sizes(document: bytes) -> set[float]:
    """Sizes in pt of the letters between what stands on top and foot of every page."""
    found: set[float] = set()
    read = pypdfium2.PdfDocument(document)
    for at in range(len(read)):
        page = read[at]
        high = page.get_height()
        for each in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT], max_depth=1):
            _, bottom, _, top = each.get_bounds()
            if bottom > FOOT_PT and top < high - HEAD_PT:
                found.add(round(each.get_font_size(), 2))
    return found
