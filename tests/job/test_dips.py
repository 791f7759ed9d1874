"""Dips of the tank: two in a row give what was drawn; where a meter counts they check it."""

import pytest

from tally.job import events as ev
from tally.job import grouting
from tally.job import intents as want
from tally.job.decide.refusal import Refusal
from tests.scenario import Day, grouting_day, plan

TANK = {"shape": "box", "length_m": 1.0, "width_m": 1.0, "height_m": 1.2}
"""One square metre: a centimetre is 10 L. Dips are read from the top."""


def dipped(day: Day, dip_m: float) -> list[str]:
    found = day.ask(want.DipTank(dip_m, f"{dip_m} m"))
    assert not isinstance(found, Refusal), found
    for event in found:
        day.record(event)
    return [event.kind for event in found]


def test_without_a_meter_what_was_drawn_is_pumped() -> None:
    """From 20 cm down to 35 cm is 150 L; filled up to 10 cm, and 40 L drawn to 14 cm."""
    day = grouting_day(plan(meter=None, tank=TANK))
    assert dipped(day, 0.20) == ["TankDipped"]
    assert dipped(day, 0.35) == ["TankDipped", "VolumeAdded"]
    assert dipped(day, 0.10) == ["TankDipped"]
    assert dipped(day, 0.14) == ["TankDipped", "VolumeAdded"]
    stage = day.state.grout.stage
    assert stage is not None
    assert grouting.pumped_m3(stage, day.state.flow) == pytest.approx(0.190)


def test_with_a_meter_dips_count_nothing_and_check_it() -> None:
    """150 L drawn against 150 L and then 180 L metered: 30 L apart, 20 L allowed."""
    day = grouting_day(plan(tank=TANK), alarms=True)
    dipped(day, 0.20)
    day.pump(0.150, seconds=60)
    assert dipped(day, 0.35) == ["TankDipped"]
    assert "sources-disagree" not in day.standing()
    dipped(day, 0.05)  # filled up: what was pumped meanwhile is compared with nothing
    day.pump(0.090, seconds=60)
    dipped(day, 0.11)
    alarm = day.standing()["sources-disagree"]
    assert [alarm.value, alarm.other, alarm.limit] == pytest.approx([0.240, 0.210, 0.020])


@pytest.mark.parametrize(
    ("tank", "dip_m", "words"),
    [(None, 0.2, "no [tank]"), (TANK, 1.3, "1.2"), (TANK, -0.1, "0")],
)
def test_a_dip_that_cannot_be_is_refused(tank: dict[str, object] | None, dip_m: float, words: str) -> None:
    day = grouting_day(plan(tank=tank))
    found = day.ask(want.DipTank(dip_m, "x"))
    assert isinstance(found, Refusal)
    assert words in str(found)


def test_by_each_shape() -> None:
    rows = [[0.0, 0.0], [0.5, 0.4], [1.0, 1.0]]
    shapes: list[tuple[dict[str, object], float]] = [
        ({"shape": "standing cylinder", "diameter_m": 1.0, "height_m": 1.0}, 0.785398 / 2),
        ({"shape": "lying cylinder", "diameter_m": 1.0, "length_m": 2.0}, 0.785398),
        ({"shape": "table", "rows": rows}, 0.4),
        ({"shape": "box", "length_m": 1.0, "width_m": 2.0, "height_m": 1.0, "dipped": "from the bottom"}, 1.0),
    ]
    for shape, volume_m3 in shapes:
        tank = plan(tank=shape).tank
        assert tank is not None
        assert tank.volume_m3(0.5) == pytest.approx(volume_m3, abs=1e-6)


def test_a_dip_that_is_voided_leaves_no_trace() -> None:
    day = grouting_day(plan(tank=TANK))
    dipped(day, 0.20)
    day.record(ev.EntryVoided(entry=len(day.entries), reason="misread"))
    assert day.state.grout.dips == ()
