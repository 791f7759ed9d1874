"""Rules about casing in grout, each worked by hand from columns and areas, just below its limit and just past it.

The round hole: 250 mm, 60 m deep, water at 20 m; NPS 6 x 0.280 in steel, 60.6 m of it weigh 28.26 x 60.6 x 9.80665 =
16,794.5 N; outer face 0.0222397 m2, bore 0.0186388 m2, annulus 0.0268477 m2. Water 9,797.82 Pa a metre, grout 18,338.4.
"""

from typing import Any

import pytest

from tally.job import events as ev
from tally.job import fill as filling
from tally.job.grouted import Grouted, grouted
from tests.job.test_alarms import EXACT, metered_day, raised
from tests.scenario import JOINT_M, Day, plan

STAGE = EXACT["stages"][0]
CLOSED = {"shoe": "closed"}


def found(day: Day) -> Grouted:
    stage = day.state.grout.stages[-1]
    worked = grouted(day.state, stage, filling.fill(day.state, stage))
    assert worked is not None
    return worked


def test_a_dry_casing_lifts_as_grout_comes_up() -> None:
    """Water stands at the surface from 537 L on: 587,869 Pa at the shoe, and 8,540.6 Pa more for each metre of grout.
    On the face 17,294.5 N, 500 more than the weight, are 777,641 Pa: 22.220 m of grout, 636.6 L with the line's 40."""
    day = metered_day(casing=CLOSED)
    day.pump(0.635)
    assert raised(day, "casing-lifts") is None
    day.pump(0.003, seconds=1)
    assert raised(day, "casing-lifts") == pytest.approx((509.6, 0.0), abs=1.0)
    assert day.standing()["casing-lifts"].severity == "stop-and-look"


def test_filled_with_water_it_stays() -> None:
    day = metered_day(casing=CLOSED)
    day.record(ev.FluidLevelRead(where="inside casing", depth_m=0.0, typed=""))
    day.pump(1.650)
    assert raised(day, "casing-lifts") is None


def test_the_level_that_would_cure_it() -> None:
    """Grout from 60 to 20 m, water on it: 929,493 Pa on the face are 20,671.6 N, 3,877.1 more than the weight. Inside
    they are 208,013 Pa on the bore: 21.230 m of water, from 38.77 m down."""
    day = metered_day(casing=CLOSED)
    day.pump(40.0 * 0.0268477 + 0.040)
    worked = found(day)
    assert worked.hold_down_n == pytest.approx(3_877.1, rel=1e-3)
    assert worked.cure_m == pytest.approx(38.77, abs=0.01) and not worked.inside
    day.record(ev.FluidLevelRead(where="inside casing", depth_m=38.5, typed=""))
    assert found(day).hold_down_n == 0.0 and found(day).inside


def test_what_was_looked_at_before_is_not_told_again_until_there_is_more() -> None:
    """The plan's stage ends at 20 m: 3,877 N, as above. Pumped on to 10 m there are 1,899.4 N more."""
    day = Day(plan(**{**EXACT, "casing": CLOSED, "stages": [{**STAGE, "top_m": 20.0}]}), alarms=True)
    day.joints()
    day.landed()
    day.metered()
    day.checked()
    day.stage(0, top_m=20.0)
    day.pump(40.0 * 0.0268477 + 0.039)
    assert raised(day, "casing-lifts") is None
    day.pump(10.0 * 0.0268477)
    assert raised(day, "casing-lifts") is not None
    assert found(day).hold_down_n == pytest.approx(3_877.1 + 1_899.4, rel=2e-3)


def test_a_set_first_lift_holds_the_end() -> None:
    """Nothing presses on an end that stands in set grout: what the second lift's grout does to it lifts nothing."""
    lifts = [{**STAGE, "top_m": 50.0}, {**STAGE, "name": "rest", "bottom_m": 50.0}]
    day = metered_day(casing=CLOSED, stages=lifts)
    day.pump(0.310)
    day.end("left to set")
    day.tag(50.0)
    day.stage(1, bottom_m=50.0)
    day.pump(1.2)
    assert raised(day, "casing-lifts") is None
    day = metered_day(casing=CLOSED)
    day.pump(1.510)
    assert raised(day, "casing-lifts") is not None, "in one lift it would"


def test_light_plastic_lifts_open_ended_too() -> None:
    """Open, the same presses inside: W - p x metal. 8 kg/m over 60.6 m weigh 4,754.3 N; 0.0036009 m2 of metal bear
    1,100,304 Pa with grout to the surface: 3,962.1 N, and it stays; at 6 kg/m, 3,565.7 N, it does not, by 396 N, which
    any clamp holds; at 5 kg/m, 2,971.4 N, by 990.7 N."""
    full_m3 = 60.0 * 0.0268477 + 0.040
    for mass_kg_m, lifts_n in ((8.0, 0.0), (6.0, 396.4), (5.0, 990.7)):
        day = metered_day(casing={"mass_kg_m": mass_kg_m})
        day.pump(full_m3)
        assert found(day).hold_down_n == pytest.approx(lifts_n, abs=2.0)
        assert (raised(day, "casing-lifts") is not None) == (lifts_n > 500.0)


def test_collapse_of_a_dry_casing() -> None:
    """900 kPa over 1.5 allow 600 kPa. While the water still rises 406,511 Pa of it press on the shoe and 18,338.4 Pa a
    metre of grout: 10.551 m of grout, 323.3 L with the line's."""
    limits = {"collapse_pa": 900e3, "collapse_factor": 1.5}
    day = metered_day(casing=CLOSED, limits=limits)
    day.pump(0.323)
    assert raised(day, "collapse-margin") is None
    day.pump(0.001, seconds=1)
    assert raised(day, "collapse-margin") == pytest.approx((600_500, 600_000), rel=1e-3)
    filled = metered_day(casing=CLOSED, limits=limits)
    filled.record(ev.FluidLevelRead(where="inside casing", depth_m=0.0, typed=""))
    filled.pump(1.650)
    assert raised(filled, "collapse-margin") is None


def test_plastic_bears_less_while_cement_sets() -> None:
    """323 L, which steel of the same rating bears (see above), are too much for it."""
    day = metered_day(casing={**CLOSED, "material": "pvc"}, limits={"collapse_pa": 900e3, "collapse_factor": 1.5})
    day.pump(0.323)
    value_pa, allowed_pa = raised(day, "collapse-margin") or (0.0, 0.0)
    assert allowed_pa < value_pa < 600e3


def test_down_its_own_bore_grout_and_the_water_after_it_stand_inside() -> None:
    """20 bags make 668 L; 1,113.9 L pumped are grout and 445.9 L of water: 23.92 m of the bore. Inside 23.92 x 9,797.82
    + 36.08 x 18,338.4 = 896.0 kPa, outside (top at 20 m) 929.5 kPa: the float holds, and the casing stays."""
    stage = {**STAGE, "method": "through casing", "plug_m": 2.0}
    day = metered_day(casing={"shoe": "float"}, stages=[stage])
    day.batch(20)
    day.pump(40.0 * 0.0268477 + 0.040)
    assert found(day).pressed_pa == pytest.approx(33_480, rel=5e-3)
    assert found(day).hold_down_n == 0.0


# --- before any grout ------------------------------------------------------------------------------------------------


def running(**changes: Any) -> Day:
    limits = {"collapse_pa": 450e3, "collapse_factor": 1.5}
    return Day(plan(limits=limits, casing=CLOSED, **changes), alarms=True)


def test_a_casing_run_dry_too_deep() -> None:
    """450 kPa over 1.5 allow 300 kPa, 30.62 m of water below 20 m. The tenth joint brings the shoe to 49.90 m, the
    eleventh to 54.95 m: 342,434 Pa."""
    day = running()
    for _ in range(10):
        day.joint(JOINT_M)
    assert raised(day, "casing-not-filled") is None
    day.joint(JOINT_M)
    assert raised(day, "casing-not-filled") == pytest.approx((342_434, 300_000), rel=1e-4)
    day.record(ev.FluidLevelRead(where="inside casing", depth_m=40.0, typed=""))
    for _ in range(5):
        day.beat()
    assert "casing-not-filled" not in {alarm.alarm for alarm in day.state.alarms if alarm.active}


def test_an_open_end_fills_itself() -> None:
    day = Day(plan(limits={"collapse_pa": 150e3}), alarms=True)
    day.joints()
    assert raised(day, "casing-not-filled") is None
