"""Rules about zones, stock, time, the tremie and the shoe: silent up to the limit, raised just past it, by hand.

Test hole: 26.8477 L of annulus a metre, 25.9715 L beside the tremie (33.4 mm: 0.87616 L a metre), 60 m deep, water at
20 m, an open shoe at 60 m, 40 L of line. Without spread or allowance the top is at 60 m less (pumped - 40 L) / 26.8477.
"""

from typing import Any

import pytest

from tally.job import events as ev
from tally.job import fill as filling
from tally.job import intents as want
from tally.job.decide.refusal import Refusal
from tally.job.inflow import inflow
from tally.job.view.quantity import Kind
from tests.job.test_alarms import ANNULUS_M2, metered_day, raised
from tests.scenario import Day, grouting_day, plan

BESIDE_TREMIE_M2 = 0.0259715


def zoned(*zones: tuple[float, float, str]) -> Day:
    hole = {"zones": [{"top_m": top_m, "bottom_m": bottom_m, "kind": kind} for top_m, bottom_m, kind in zones]}
    return metered_day(hole=hole)


# --- zones -----------------------------------------------------------------------------------------------------------


def test_a_known_zone_is_announced_three_metres_below_it() -> None:
    """Near at a top of 35 m: 25 x 26.8477 + 40 = 711.2 L. Reached at 32 m: 791.7 L."""
    day = zoned((30.0, 32.0, "fracture"))
    day.pump(0.711)
    assert raised(day, "zone-near") is None
    day.pump(0.001, seconds=1)
    assert raised(day, "zone-near") == pytest.approx((60 - 0.672 / ANNULUS_M2, 32.0), abs=1e-3)
    alarm = day.standing()["zone-near"]
    assert (alarm.severity, alarm.measure, alarm.entry) == ("note", Kind.DEPTH, None)
    day.pump(0.079)
    assert raised(day, "zone-near")
    day.pump(0.001, seconds=1)
    assert raised(day, "zone-near") is None


def test_one_zone_after_the_other() -> None:
    day = zoned((30.0, 32.0, "void"), (50.0, 52.0, "washout"))
    day.pump(0.200)  # 160 L: 54.04 m
    assert (raised(day, "zone-near") or (0, 0))[1] == 52.0
    day.pump(0.100)  # 260 L: 50.3 m
    assert raised(day, "zone-near") is None
    day.pump(0.420)  # 680 L: 34.7 m
    assert (raised(day, "zone-near") or (0, 0))[1] == 32.0


def test_a_loss_found_with_a_tag_is_announced_when_the_top_has_sunk_below_it() -> None:
    """Lost below 40 m, a zone from there to 41 m; the top sinks to 45 m, and is near again from 44 m on."""
    day = metered_day()
    day.pump(0.600)
    lost = day.tag(40.0, lost=True)
    assert [(zone.top_m, zone.bottom_m, zone.kind) for zone in day.state.grout.zones] == [(40.0, 41.0, "loss")]
    day.tag(45.0)
    assert raised(day, "zone-near") is None
    day.pump(0.026)
    assert raised(day, "zone-near") is None
    day.pump(0.002)
    assert (raised(day, "zone-near") or (0, 0))[1] == 41.0
    assert day.standing()["zone-near"].entry == lost.number
    day.quiet(4.0)
    day.void(lost)
    assert day.state.grout.zones == () and raised(day, "zone-near") is None


def test_a_zone_noted_by_key_counts_and_one_upside_down_does_not() -> None:
    day = metered_day()
    day.do(want.NoteZone("void", 56.0, 58.0, "56 to 58 m"))
    assert raised(day, "zone-near") == pytest.approx((60.0, 58.0))
    day.record(ev.ZoneNoted(top_m=50.0, bottom_m=49.0, of="void", typed=""))
    assert len(day.state.grout.zones) == 1
    refusal = day.ask(want.NoteZone("void", 50.0, 49.0, ""))
    assert isinstance(refusal, Refusal) and "from its top down" in refusal.reason


# --- stock -----------------------------------------------------------------------------------------------------------


def test_bags_for_the_likely_and_not_for_the_high_need() -> None:
    """1.15 ± 0.15 and a meter of ± 2 %: the 90th of a hundred is 1.311745 of theory (deviations of logarithms 0.101493
    and 0.015605, together 0.102686). 1,610.86 x 1.311745 + 40 = 2,153.0 L: 64.46 bags of 33.4 L."""
    assert "stock-thin" not in grouting_day(plan(aboard={"bags": 64}), alarms=True).standing()
    day = grouting_day(plan(aboard={"bags": 63}), alarms=True)
    assert raised(day, "stock-thin") == pytest.approx((63.0, 64.462), abs=0.01)
    assert day.standing()["stock-thin"].severity == "note"


def test_short_of_the_likely_need_is_one_alarm_and_the_louder() -> None:
    """1,852.5 + 40 L are 56.66 bags."""
    day = grouting_day(plan(aboard={"bags": 55}), alarms=True)
    assert raised(day, "stock-short") == pytest.approx((55.0, 56.661), abs=0.01)
    assert raised(day, "stock-thin") is None
    day.quiet(4.0)
    day.record(ev.StockDelivered(bags=6))
    assert raised(day, "stock-short") is None and raised(day, "stock-thin")


def test_water_that_falls_short() -> None:
    """49.427 bags at 19.7 L and 100 L to wash up: 1,073.7 L; a bag's 19.7 L are grace."""
    assert "water-short" not in metered_day(aboard={"water_m3": 1.055, "wash_up_m3": 0.1}).standing()
    day = metered_day(aboard={"water_m3": 1.053, "wash_up_m3": 0.1})
    assert raised(day, "water-short") == pytest.approx((1.053, 1.0737), abs=1e-3)


# --- time ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("rate_m3_s", "late"), [(0.00031, False), (0.00030, True)])
def test_a_pace_that_takes_longer_than_the_oldest_batch_keeps(rate_m3_s: float, late: bool) -> None:
    """1,650.9 L at 0.30 L/s take 5,503 s, at 0.31 L/s 5,325 s; the batch keeps 5,400 s."""
    day = metered_day()
    day.batch(60)
    day.beats(140, rate_m3_s)
    assert ("finish-late" in day.standing()) is late
    if late:
        # raised once grout is out: 134 beats, 40.2 L in the 133 s since the first; 1,610.7 L are left, and 5,266 s
        assert raised(day, "finish-late") == pytest.approx((1.610662 / (0.0402 / 133), 5_266.0), rel=1e-4)


def test_a_stop_counts_into_the_pace_and_too_early_tells_nothing() -> None:
    day = metered_day()
    day.batch(60)
    day.pump(0.200, seconds=100)
    assert raised(day, "finish-late") is None
    day.beats(20, 0.002)  # 2 L/s
    assert raised(day, "finish-late") is None
    day.quiet(700.0)  # 240 L in 819 s: 1,410.9 L take 4,815 s of 4,580 s left
    assert raised(day, "finish-late") == pytest.approx((1.410862 / (0.240 / 819), 4_580.0), rel=1e-3)


# --- the tremie ------------------------------------------------------------------------------------------------------


def test_a_start_too_far_off_bottom() -> None:
    """10 ft are 3.048 m (Minn. Rules 4725.3050)."""
    day = metered_day()
    day.tremie(56.96)
    assert raised(day, "tremie-off-bottom") is None
    day.tremie(56.94)
    assert raised(day, "tremie-off-bottom") == pytest.approx((3.06, 3.048))
    day.quiet(4.0)
    day.pump(0.050)
    assert raised(day, "tremie-off-bottom") is None, "the grout is out: its cover counts from now on"


def test_the_cover_of_a_tremie_that_was_pulled() -> None:
    """400 L out. End at 46.6 m: 13.4 x 26.8477 = 359.76 L below it, 40.24 L beside it stand 1.549 m high.
    At 46.5 m: 362.44 L and 37.56 L: 1.446 m. At 45.2 m 0.102 m; at 45.0 m all is below it, to 45.101 m."""
    day = metered_day()
    day.tremie(59.0)
    day.pump(0.440)
    for tip_m, cover_m in ((46.6, None), (46.5, 1.446), (45.2, 0.102)):
        day.tremie(tip_m)
        found = raised(day, "tremie-cover")
        assert (found is None) if cover_m is None else found == pytest.approx((1.446, 1.5), abs=2e-3)
        assert raised(day, "tremie-above") is None
    day.tremie(45.0)
    assert raised(day, "tremie-above") == pytest.approx((45.0, 45.101), abs=2e-3)
    assert day.standing()["tremie-above"].severity == "stop-and-look"


def test_the_first_grout_has_yet_to_rise_to_an_end_near_bottom() -> None:
    day = metered_day()
    day.tremie(57.0)
    day.pump(0.060)  # 20 L out: the top at 59.3 m
    assert not {"tremie-cover", "tremie-above", "tremie-off-bottom"} & set(day.standing())
    day.pump(0.200)
    day.tag(58.0)
    assert raised(day, "tremie-above") == (57.0, 58.0), "it was there, and a tag says it is not"


def test_an_end_that_hangs_clear_while_the_pump_is_stopped_is_as_it_should_be() -> None:
    day = metered_day()
    day.tremie(59.0)
    day.pump(0.440)
    day.record(ev.PumpStopped(reason="hose"))
    day.tremie(40.0)
    assert raised(day, "tremie-above") is None
    day.record(ev.PumpStarted())
    assert raised(day, "tremie-above") == pytest.approx((40.0, 45.101), abs=2e-3)


def test_pumped_through_the_casing_no_tremie_is_asked_for() -> None:
    stage = {**plan().stages[0].model_dump(), "method": "through casing"}
    day = metered_day(stages=[stage])
    day.tremie(40.0)
    day.pump(0.440)
    assert not {"tremie-cover", "tremie-above", "tremie-off-bottom", "grout-under-shoe"} & set(day.standing())


# --- the shoe --------------------------------------------------------------------------------------------------------


def test_grout_beside_an_open_end_comes_up_inside() -> None:
    """Water stands alike inside and outside, so that the grout's excess weight counts: (1,870 - 999.1) x 9.80665 =
    8,540.6 Pa a metre of it outside, against 18,338.4 Pa a metre inside. 3 m inside are 6.44156 m outside, 172.94 L."""
    day = metered_day()
    day.pump(0.2128)
    assert raised(day, "grout-under-shoe") is None
    day.pump(0.0003, seconds=1)
    rise_m = 0.1731 / ANNULUS_M2 * 8_540.6 / 18_338.4
    assert raised(day, "grout-under-shoe") == pytest.approx((rise_m, 3.0), rel=1e-4)


def test_a_level_read_inside_counts() -> None:
    """440 L put in lift the water outside by 16.3887 m, from 20 to 3.611 m; 14.8989 m of grout stand below 45.101 m.
    Outside 41.4898 x 9,797.82 + 14.8989 x 18,338.4 = 679.7 kPa; inside, from 20 m, 391.9 kPa: 287.8 kPa."""
    day = metered_day()
    day.record(ev.FluidLevelRead(where="inside casing", depth_m=20.0, typed=""))
    day.pump(0.440)
    stage = day.state.grout.stages[-1]
    found = inflow(day.state, stage, filling.fill(day.state, stage))
    assert found is not None
    assert found.difference_pa == pytest.approx(287_800, rel=1e-3)
    assert found.rise_m == pytest.approx(287_800 / 18_338.4, rel=1e-3)
    # 679.7 kPa are 69.38 m of water: 9.38 m above ground
    assert found.balance_m == pytest.approx(-9.38, abs=0.01)


@pytest.mark.parametrize("changes", [{"shoe": "float"}, {"shoe": "closed"}])
def test_nothing_comes_up_a_shut_end(changes: dict[str, Any]) -> None:
    day = metered_day(casing=changes)
    day.pump(0.440)
    assert raised(day, "grout-under-shoe") is None


def test_nothing_comes_up_past_a_first_lift_that_has_set() -> None:
    day = metered_day()
    day.pump(0.050)
    day.end("left to set")
    day.tag(59.5)
    day.stage(0, bottom_m=59.5)
    day.pump(0.300)
    assert raised(day, "grout-under-shoe") is None


def test_ground_that_drinks_keeps_the_water_where_it_is() -> None:
    """20 to 45.101 m of water, then grout: (25.101 x 9,797.82 + 14.8989 x 18,338.4) less 40 x 9,797.82 inside."""
    day = metered_day(hole={"drinks_water": True})
    day.record(ev.FluidLevelRead(where="inside casing", depth_m=20.0, typed=""))
    day.pump(0.440)
    stage = day.state.grout.stages[-1]
    found = inflow(day.state, stage, filling.fill(day.state, stage))
    assert found is not None and found.difference_pa == pytest.approx(14.8989 * 8_540.6, rel=1e-4)
