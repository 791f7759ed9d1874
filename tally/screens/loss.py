"""What usually helps where grout goes somewhere else: the card for it, to be read over the screen.

Common practice in the trade, in the order in which it is tried; local code and the licensed contractor decide.
"""

from __future__ import annotations

from tally.screens.reading import ReadScreen

CARD = (
    "Returns do not come, come weaker or stop, or the top does not rise: stop the pump and find out before more is"
    " lost.",
    "",
    "1 TAG (t). Where does the top stand? Risen as it should: the water goes into the ground (i). Not risen: it is lost"
    " below; space at the tag says so.",
    "2 WAIT (p). Let what is in stiffen; the tremie's end stays over the grout, flushed, well before the working time"
    " ends. Tag again.",
    "3 BRIDGE. A thicker batch, or one with sand or bridging material that the line passes; short, slow, with a tag"
    " after each.",
    "4 STOP BELOW IT (f, left to set). Fill to under the zone, wait until it has set, tag, go on from there as a stage"
    " of its own. Note the zone (z).",
    "5 TOP UP (w). Once set, what has settled is filled from the tagged top.",
    "",
    "Before going on: bags and water aboard for what is left? Is the casing's inside still balanced? A loss is no hole"
    " size: it is not projected upward.",
)


def page() -> ReadScreen:
    return ReadScreen("LOSING GROUT: WHAT USUALLY HELPS", CARD)
