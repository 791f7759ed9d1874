"""Zones on the screens: drawn at their depths, noted by key, refused in words."""

from dataclasses import replace

from tally.job import events as ev
from tally.job.view.hole import ZoneMark
from tally.screens.drawing import LABEL_WIDTH, ZONE, drawing
from tests.job.test_alarms import metered_day
from tests.screens.support import bench
from tests.screens.test_drawing import VIEW, rows


def test_a_zone_stands_at_its_depth_with_its_kind() -> None:
    drawn = rows(replace(VIEW, zones=(ZoneMark(35.0, 37.0, "fracture"),)))
    assert [ZONE in row for row in drawn] == [35 <= depth < 37 for depth in range(100)]
    assert drawn[35].startswith("fracture 35.0")


def test_a_zone_thinner_than_a_row_is_drawn() -> None:
    drawn = drawing(replace(VIEW, zones=(ZoneMark(35.1, 35.2, "void"),)), 41, 21, "metric")[1:]
    assert [row for row, text in enumerate(drawn) if ZONE in text] == [7]


def test_a_long_kind_beside_a_long_depth_is_a_zone() -> None:
    """35 m are 114.8 ft."""
    drawn = drawing(replace(VIEW, zones=(ZoneMark(35.0, 37.0, "fracture"),)), 41, 101, "us")[1:]
    assert drawn[35][:LABEL_WIDTH].strip() == "zone 114.8"


async def test_a_zone_is_noted_by_key() -> None:
    async with bench(metered_day(), place="grout") as screen:
        await screen.keys("z")
        await screen.shows("What was found?")
        await screen.keys("2")
        await screen.shows("void from, to (m)")
        await screen.write("56 to 57.5")
        found = await screen.recorded(ev.ZoneNoted)
        assert (found.top_m, found.bottom_m, found.of, found.typed) == (56.0, 57.5, "void", "56 to 57.5")
        await screen.shows("void noted, 56.00 m to 57.50 m", "void 56.0")


async def test_one_depth_is_no_zone() -> None:
    async with bench(metered_day(), place="grout") as screen:
        await screen.keys("z")
        await screen.shows("What was found?")
        await screen.keys("1")
        await screen.write("56")
        await screen.shows("two depths such as 31 to 33 are accepted")
        assert not screen.events(ev.ZoneNoted)
