"""Every rule: silent up to its limit, raised just past it with the right figures, cleared, raised again; latched."""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import loads
from tally.job.alarms.due import CLEAR_AFTER_S, RULES, due
from tally.job.alarms.replay import disagreements
from tally.job.alarms.wording import WORDINGS
from tally.job.events import Entry
from tally.job.fold import apply, opened
from tally.job.view.alarms import standing
from tally.job.view.grout import grout
from tally.job.view.quantity import Kind
from tests.job.happenings import BY_RECORDER, PLANS, events
from tests.scenario import Day, grouting_day, plan

ANNULUS_M2 = 0.0268477  # pi/4 (0.250^2 - 0.168275^2)
BORE_M2 = 0.0186390  # pi/4 0.154051^2
EXACT: dict[str, Any] = {
    "stages": [{**plan().stages[0].model_dump(), "allowance_share": 0.0, "spread_share": 0.0}],
    "meter": {"tolerance_share": 0.0},
}


def recomputed(entries: list[Entry]) -> list[Entry]:
    """The session as a recorder would write it from what people and meters sent, alarms worked out anew."""
    sent = [e for e in entries if not isinstance(e.event, ev.AlarmRaised | ev.AlarmCleared)]
    state, written = opened(sent[0]), [sent[0]]

    def answer(entry: Entry) -> None:
        nonlocal state
        for change in due(state):
            made = Entry(number=written[-1].number + 1, at=entry.at, mono_s=entry.mono_s, who=entry.who, event=change)
            state = apply(state, made)
            written.append(made)

    answer(sent[0])
    for entry in sent[1:]:
        numbered = entry.model_copy(update={"number": written[-1].number + 1})
        state = apply(state, numbered)
        written.append(numbered)
        answer(numbered)
    return written


def raised(day: Day, name: str) -> tuple[float, float] | None:
    """Value and limit of an alarm whose cause is there, or None."""
    alarm = day.standing().get(name)
    return (alarm.value, alarm.limit) if alarm else None


def metered_day(**changes: Any) -> Day:
    return grouting_day(plan(**{**EXACT, **changes}), alarms=True)


# --- the whole -------------------------------------------------------------------------------------------------------


def test_a_good_day_raises_nothing() -> None:
    """Shut shoe, hole standing at 20 m: water from 537 L on, grout at 1,651 L, as the geometry has it."""
    day = Day(plan(**EXACT, casing={"shoe": "closed"}), alarms=True)
    day.record(ev.FluidLevelRead(where="inside casing", depth_m=0.0, typed=""))
    day.joints()
    expected_n = loads.expected_n(day.state.plan, day.state.string)
    assert expected_n is not None
    day.hook(expected_n)
    day.landed()
    day.metered()
    day.stage()
    for _ in range(10):
        day.batch(5, density_kg_m3=1_870.0)
        day.pump(0.165, seconds=60)
        if day.state.flow.metered_m3 > 0.49:
            day.returns("full", "grout" if day.state.flow.metered_m3 > 1.6 else "water")
    day.end("good grout at surface")
    assert [alarm.alarm for alarm in day.state.alarms] == []


def test_every_wording_has_its_places_and_what_helps() -> None:
    for name, wording in WORDINGS.items():
        text = wording.sentence.format(value="<v>", limit="<l>", other="<o>")
        assert "<v>" in text and "<l>" in text, name
        assert wording.helps and wording.title, name


def test_every_rule_is_tested_here_and_has_its_words() -> None:
    names = {rule.__name__ for rule in RULES}
    tested = {
        "load_high", "load_low", "hoist_limit", "casing_floats", "rack_mismatch", "rack_count", "shoe_below_hole",
        "returns_overdue", "returns_stopped", "over_planned", "past_high", "over_mixed", "pump_stopped", "working_time",
        "batch_density",
        "thin_returns", "stock_short", "no_meter_data", "meter_gap", "meter_rebased", "no_rise",
        # in test_alarms_placement.py
        "stock_thin", "water_short", "zone_near", "finish_late", "tremie_off_bottom", "tremie_cover", "tremie_above",
        "grout_under_shoe",
        # in test_alarms_grouted.py
        "casing_lifts", "collapse_margin", "casing_not_filled",
        # in test_alarms_record.py
        "clock_jumped", "disk_slow", "record_interrupted", "session_moved", "record_mended",
        # in test_alarms_instrument.py
        "sources_disagree", "returns_deficit", "meter_frozen", "meter_gone", "meter_backward", "meter_garbage",
        "meter_flood", "meter_blind", "check_silent", "pressure_high", "rate_high",
    }  # fmt: skip
    assert names == tested and len(WORDINGS) == len(tested)


def test_an_alarm_stays_until_it_is_acknowledged() -> None:
    day = Day(alarms=True)
    day.joints()
    day.hook(40_000.0)
    day.quiet(10.0)
    expected_n = loads.expected_n(day.state.plan, day.state.string)
    assert expected_n is not None
    day.hook(expected_n)
    (alarm,) = day.state.alarms
    assert not alarm.active and alarm.cleared_at == day.at and alarm.standing
    day.record(ev.AlarmAcknowledged(alarm="load-high", done="worked the casing"))
    (alarm,) = day.state.alarms
    assert not alarm.standing and (alarm.done, alarm.who) == ("worked the casing", "Driller A")


def test_acknowledged_while_its_cause_is_there_it_still_stands() -> None:
    day = Day(alarms=True)
    day.joints()
    day.hook(40_000.0)
    day.record(ev.AlarmAcknowledged(alarm="load-high", done="looking"))
    assert day.state.alarms[0].standing and raised(day, "load-high")


def test_raised_again_it_asks_again() -> None:
    day = Day(alarms=True)
    day.joints()
    expected_n = loads.expected_n(day.state.plan, day.state.string)
    assert expected_n is not None
    for load_n in (40_000.0, expected_n, 41_000.0):
        day.hook(load_n)
        day.quiet(10.0)
    day.record(ev.AlarmAcknowledged(alarm="load-high", done="stopped"))
    first, second = day.state.alarms
    assert (first.active, second.active) == (False, True)
    assert first.done == second.done == "stopped"
    day.hook(expected_n)
    day.hook(42_000.0)
    assert len(day.state.alarms) == 3 and day.state.alarms[2].acknowledged_at is None


def test_an_alarm_stands_at_least_a_few_seconds() -> None:
    day = Day(alarms=True)
    day.joints()
    expected_n = loads.expected_n(day.state.plan, day.state.string)
    assert expected_n is not None
    day.hook(40_000.0)
    day.hook(expected_n)
    assert raised(day, "load-high")
    day.beats(int(CLEAR_AFTER_S) - 1)
    assert raised(day, "load-high")
    day.beats(1)
    assert raised(day, "load-high") is None


# --- casing ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "side"), [("load-high", 1.0), ("load-low", -1.0)])
def test_a_reading_off_by_more_than_the_band(name: str, side: float) -> None:
    """Expected about 15.2 kN, so that the band is 10 % of it."""
    day = Day(alarms=True)
    day.joints()
    expected_n = loads.expected_n(day.state.plan, day.state.string)
    assert expected_n is not None
    limit_n = expected_n * (1 + side * 0.10)
    day.hook(limit_n - side * 1.0)
    assert raised(day, name) is None
    entry = day.hook(limit_n + side * 1.0)
    assert raised(day, name) == pytest.approx((limit_n + side, limit_n))
    assert day.standing()[name].entry == entry.number
    assert day.standing()[name].measure == Kind.LOAD


def test_on_a_light_string_the_fixed_band_counts() -> None:
    day = Day(plan(hole={"water_level_m": 60.0}), alarms=True)
    day.joint()  # 28.26 x 5.05 x 9.80665 = 1,399.5 N; 500 N either way
    day.hook(1_899.0)
    assert not day.standing()
    day.hook(1_901.0)
    assert raised(day, "load-high") == pytest.approx((1_901.0, 1_899.5), abs=0.1)


def test_the_drop_at_landing_is_no_alarm() -> None:
    day = Day(alarms=True)
    day.joints()
    day.landed("rock")
    day.hook(2_000.0)
    assert not day.standing()


@pytest.mark.parametrize("then", ["landed", "grout"])
def test_an_old_reading_says_nothing_once_the_casing_is_landed_or_in_grout(then: str) -> None:
    day = Day(alarms=True)
    day.joints()
    day.hook(40_000.0)
    day.landed("hung") if then == "landed" else day.stage()
    day.quiet(10.0)
    assert raised(day, "load-high") is None


def test_the_next_joint_passes_the_lowest_limit() -> None:
    """Dry hole, 1,399.5 N a joint: the eighth makes 11,196 N against an elevator rated at 11,000 N."""
    limits = {"elevator_n": 11_000.0}
    day = Day(plan(hole={"water_level_m": 60.0}, limits=limits), alarms=True)
    day.joints([5.05] * 6)
    assert not day.standing()
    day.joint()
    assert raised(day, "hoist-limit") == pytest.approx((11_196.3, 11_000.0), abs=0.1)
    day.landed("hung")
    day.quiet(10.0)
    assert raised(day, "hoist-limit") is None


def test_a_closed_empty_casing_floats_where_its_metal_is_too_light() -> None:
    """A thin wall: 12 kg/m in air, but 22.2 kg/m of water displaced. Below the water at 20 m each metre lifts 10.2 kg,
    so that 20.6 m hanging in air carry 247.2 kg and some 24 m of depth in water undo it."""
    day = Day(plan(casing={"shoe": "closed", "mass_kg_m": 12.0, "bore_m": 0.160}), alarms=True)
    day.joints([5.05] * 8)  # 40.4 m: 484.8 kg less 22.22 x 19.8 = 439.9 kg: hangs
    assert raised(day, "casing-floats") is None
    day.joints([5.05])  # 45.45 m: 545.4 kg less 22.22 x 24.85 = 552.1 kg: lifts with 6.8 kg
    found = raised(day, "casing-floats")
    assert found == pytest.approx((-6.8 * 9.80665, 0.0), abs=3.0)
    day.record(ev.FluidLevelRead(where="inside casing", depth_m=30.0, typed=""))
    day.quiet(10.0)
    assert raised(day, "casing-floats") is None


def test_a_length_that_the_rack_does_not_hold() -> None:
    day = Day(alarms=True)
    day.joint(5.05)
    assert not day.standing()
    wrong = day.joint(5.50)
    assert raised(day, "rack-mismatch") == (1.0, 0.0)
    day.quiet(10.0)
    day.void(wrong)
    assert raised(day, "rack-mismatch") is None


def test_joints_delivered_and_accounted_for() -> None:
    """Twelve joints are listed: thirteen or eleven delivered do not add up, whatever goes in or is rejected."""
    for delivered, off in ((None, None), (12, None), (13, (1.0, 0.0)), (11, (1.0, 0.0))):
        day = Day(plan(casing={"delivered": delivered}), alarms=True)
        day.joint(5.05)
        day.record(ev.JointRejected(length_m=5.05, typed="", reason="bent"))
        assert raised(day, "rack-count") == off, delivered
    day.quiet(10.0)
    day.record(ev.PlanAmended(plan=plan(casing={"delivered": 12}), reason="counted again"))
    day.quiet(10.0)
    assert raised(day, "rack-count") is None


def test_the_shoe_below_the_hole() -> None:
    """60.60 m stand with the shoe at 60.00 m; 0.30 m of stick-up put it at 60.30 m."""
    day = Day(alarms=True)
    day.joints()
    assert not day.standing()
    day.record(ev.StickUpRead(stick_up_m=0.30, typed=""))
    assert raised(day, "shoe-below-hole") == pytest.approx((60.30, 60.0))
    day.quiet(10.0)
    day.record(ev.CutOffMade(length_m=0.30, typed=""))
    assert raised(day, "shoe-below-hole"), "a cut off the top does not lift the shoe"
    day.record(ev.StickUpRead(stick_up_m=0.35, typed=""))
    assert raised(day, "shoe-below-hole") is None, "60.30 m of string with 0.35 m above ground: 59.95 m"


def test_grout_that_does_not_rise_between_two_tags() -> None:
    """10 ft of this annulus are 3.048 x 26.8477 = 81.83 L, less than a cubic yard (Minn. Rules 4727.0980)."""
    day = metered_day()
    day.pump(0.50)
    day.tag(45.0)
    day.pump(0.08)
    day.tag(44.9)
    assert raised(day, "no-rise") is None, "80 L are not enough to tell"
    day.pump(0.12)
    day.tag(44.7)
    assert raised(day, "no-rise") == pytest.approx((0.12, 0.08183), rel=1e-3)
    day.pump(0.12)
    day.quiet(10.0)
    day.tag(40.0)
    assert raised(day, "no-rise") is None, "it rises again"


def test_in_a_hole_that_stands_full_returns_are_looked_for_after_ten_feet_of_fill() -> None:
    """Due at once, so that the alarm waits for 3.048 x 26.8477 = 81.83 L."""
    day = metered_day(hole={"water_level_m": 0.0}, casing={"shoe": "closed"})
    day.pump(0.08)
    assert raised(day, "returns-overdue") is None
    day.pump(0.01)
    value, limit = raised(day, "returns-overdue") or (0.0, 0.0)
    assert limit == pytest.approx(0.08183, rel=1e-3) and value > limit


# --- returns ---------------------------------------------------------------------------------------------------------


def test_returns_are_overdue_past_what_fills_annulus_and_bore() -> None:
    """Open shoe, water at 20 m: 20 x (26.8477 + 18.6390) = 909.7 L."""
    limit_m3 = 20 * (ANNULUS_M2 + BORE_M2)
    day = metered_day()
    day.batch(40)
    day.pump(0.909)
    assert raised(day, "returns-overdue") is None
    day.pump(0.001, seconds=1)
    assert raised(day, "returns-overdue") == pytest.approx((0.910, limit_m3), rel=1e-5)
    day.quiet(4.0)
    day.returns("weak")
    assert raised(day, "returns-overdue") is None


def test_a_look_that_saw_none_is_no_return() -> None:
    day = metered_day()
    day.batch(40)
    day.returns("none")
    day.pump(0.950)
    assert raised(day, "returns-overdue")


def test_returns_that_stop_while_the_pump_goes_on() -> None:
    day = metered_day()
    day.batch(40)
    day.pump(0.3, seconds=60)
    day.returns("full")
    gone = day.returns("none")
    day.beats(59, 0.0005)
    assert raised(day, "returns-stopped") is None
    day.returns("none")  # a second look does not begin the minute again
    day.beats(1, 0.0005)
    assert raised(day, "returns-stopped") == pytest.approx((60.0, 60.0))
    assert day.standing()["returns-stopped"].entry == gone.number
    day.quiet(3.0)
    day.returns("weak")
    assert raised(day, "returns-stopped") is None


def test_returns_that_stop_with_the_pump_are_no_alarm() -> None:
    day = metered_day()
    day.batch(40)
    day.pump(0.3)
    day.returns("full")
    day.returns("none")
    day.beats(120, 0.0)
    assert raised(day, "returns-stopped") is None


def test_over_the_planned_volume_without_grout_at_surface() -> None:
    """1,610.86 L and 40 L of line."""
    planned_m3 = 60 * ANNULUS_M2 + 0.040
    day = metered_day()
    day.batch(60)
    day.returns("full", "water")
    day.pump(1.650)
    assert raised(day, "over-planned-volume") is None
    day.pump(0.002, seconds=1)
    assert raised(day, "over-planned-volume") == pytest.approx((1.652, planned_m3), rel=1e-5)
    day.quiet(4.0)
    day.returns("full", "grout")
    assert raised(day, "over-planned-volume") is None


def test_past_the_high_volume_without_grout_at_surface() -> None:
    """1.15 x 1,610.86 L, half-widths asinh(0.15/1.15) and asinh(0.02): x e^0.13159, and 40 L of line, 2,153.04 L."""
    day = Day(plan(), alarms=True)
    day.joints()
    day.landed()
    day.metered()
    day.batch(80)
    day.stage()
    day.returns("full", "water")
    day.pump(2.153)
    assert raised(day, "past-high-volume") is None
    day.pump(0.001, seconds=1)
    assert raised(day, "past-high-volume") == pytest.approx((2.154, 2.15304), rel=1e-5)
    day.quiet(4.0)
    day.returns("full", "grout")
    assert raised(day, "past-high-volume") is None


def test_more_pumped_than_the_batches_make() -> None:
    """40 bags of 33.4 L, 5 % and 40 L of line to flush: 1,442.8 L."""
    day = metered_day()
    day.batch(40)
    day.pump(1.442)
    assert raised(day, "pumped-over-mixed") is None
    day.pump(0.002, seconds=1)
    assert raised(day, "pumped-over-mixed") == pytest.approx((1.444, 1.4428), rel=1e-5)
    day.batch(1)
    day.quiet(4.0)
    assert raised(day, "pumped-over-mixed") is None


def test_what_is_still_to_be_mixed_does_not_grow_with_what_was_pumped_past_the_batches() -> None:
    """1,650.86 L in all; 1,444 pumped from batches of 1,336 leave 206.86 L, 6.2 bags of 33.4 L."""
    day = metered_day()
    day.batch(40)
    day.pump(1.444)
    view = grout(day.state).stage
    assert view is not None and view.bags_needed == 7


def test_grout_at_surface_that_is_too_thin() -> None:
    day = metered_day()
    day.returns("full", "grout", 1_830.0)
    assert raised(day, "thin-returns") is None
    seen = day.returns("full", "grout", 1_829.0)
    assert raised(day, "thin-returns") == (1_829.0, 1_830.0)  # 1,870 less 40
    assert day.standing()["thin-returns"].entry == seen.number


# --- pumping ---------------------------------------------------------------------------------------------------------


def test_a_pump_that_stands_too_long() -> None:
    """A quarter of 90 min is 1,350 s."""
    day = metered_day()
    day.batch()
    day.pump(0.2)
    for _ in range(5):
        day.beat(day.total_m3, after_s=270.0)
    assert raised(day, "pump-stopped") is None
    day.beat(day.total_m3)
    assert raised(day, "pump-stopped") == pytest.approx((1_351.0, 1_350.0))
    day.quiet(4.0)
    day.pump(0.05)
    assert raised(day, "pump-stopped") is None


def test_a_stop_by_key_counts_from_the_key() -> None:
    day = grouting_day(plan(meter=None), alarms=True)
    day.batch()
    day.volume(0.2)
    day.tick(100.0)
    day.record(ev.PumpStopped(reason="hose"))
    day.quiet(1_350.0)
    assert raised(day, "pump-stopped") is None
    day.quiet(1.0)
    assert raised(day, "pump-stopped") == pytest.approx((1_351.0, 1_350.0))


def test_a_pump_that_the_meter_sees_moving_needs_no_start_key() -> None:
    day = metered_day()
    day.batch()
    day.pump(0.2)
    day.record(ev.PumpStopped(reason="hose"))
    day.beats(60, 0.0)
    day.beats(1_500, 0.0001)
    assert raised(day, "pump-stopped") is None


def test_nothing_pumped_yet_is_no_stop() -> None:
    day = metered_day()
    day.beat(day.total_m3, after_s=3_000.0)
    assert raised(day, "pump-stopped") is None


def test_the_oldest_batch_of_the_stage_passes_its_working_time() -> None:
    day = metered_day()
    day.batch()
    day.beat(day.total_m3, after_s=1_000.0)
    day.batch()
    day.beat(day.total_m3, after_s=4_400.0)
    assert raised(day, "working-time") is None
    day.beat(day.total_m3)
    assert raised(day, "working-time") == pytest.approx((5_401.0, 5_400.0))
    day.quiet(4.0)
    day.end("left to set")
    assert raised(day, "working-time") is None


def test_a_batch_mixed_ahead_of_its_stage_ages_too() -> None:
    day = Day(plan(**EXACT), alarms=True)
    day.joints()
    day.landed()
    day.metered()
    day.batch()
    day.tick(5_000.0)
    day.stage()
    day.beat(0.0, after_s=401.0)
    assert raised(day, "working-time") == pytest.approx((5_401.0, 5_400.0))


@pytest.mark.parametrize(("good", "bad", "edge"), [(1_830.0, 1_829.0, 1_830.0), (1_910.0, 1_911.0, 1_910.0)])
def test_a_batch_off_its_band(good: float, bad: float, edge: float) -> None:
    """1,870 +- 40 kg/m3."""
    day = metered_day()
    day.batch(10, density_kg_m3=good)
    assert raised(day, "batch-density") is None
    entry = day.batch(10)
    day.record(ev.BatchWeighed(density_kg_m3=bad, typed=""))
    assert raised(day, "batch-density") == (bad, edge)
    assert day.standing()["batch-density"].entry == entry.number
    day.quiet(4.0)
    day.record(ev.BatchWeighed(density_kg_m3=1_870.0, typed=""))
    assert raised(day, "batch-density") is None


def test_an_off_batch_of_the_last_stage_is_not_held_against_the_next() -> None:
    day = metered_day()
    day.batch(10, density_kg_m3=1_700.0)
    day.end("left to set")
    day.quiet(10.0)
    day.tag(50.0)
    day.stage(0, bottom_m=50.0)
    assert raised(day, "batch-density") is None


def test_bags_aboard_that_fall_short() -> None:
    """1,650.86 L at 33.4 L a bag are 49.43 bags: 49 aboard are a bag's grace, 48 are short."""
    assert "stock-short" not in metered_day(aboard={"bags": 49}).standing()
    day = metered_day(aboard={"bags": 48})
    assert raised(day, "stock-short") == pytest.approx((48.0, (60 * ANNULUS_M2 + 0.040) / 0.0334), rel=1e-5)
    day.quiet(4.0)
    day.record(ev.StockDelivered(bags=10))
    assert raised(day, "stock-short") is None


def test_bags_mixed_but_not_pumped_are_not_needed_again() -> None:
    day = metered_day(aboard={"bags": 50})
    day.batch(40)
    assert raised(day, "stock-short") is None


# --- the meter -------------------------------------------------------------------------------------------------------


def test_no_data_from_the_meter_while_a_stage_is_under_way() -> None:
    day = metered_day()
    day.beats(5)
    assert raised(day, "no-meter-data") is None
    day.beats(1)
    assert raised(day, "no-meter-data") == pytest.approx((6.0, 5.0))
    day.beats(4)
    day.beats(1, 0.0)
    assert raised(day, "no-meter-data") is None


def test_a_meter_silent_before_its_stage_is_given_time() -> None:
    day = Day(plan(**EXACT), alarms=True)
    day.joints()
    day.landed()
    day.metered()
    day.quiet(3_600.0)
    day.stage()
    day.beats(5)
    assert raised(day, "no-meter-data") is None
    day.beats(1)
    assert raised(day, "no-meter-data") == pytest.approx((6.0, 5.0))


def test_without_a_meter_in_the_plan_none_is_missed() -> None:
    day = grouting_day(plan(meter=None), alarms=True)
    day.quiet(600.0)
    assert raised(day, "no-meter-data") is None


def test_a_volume_that_nobody_saw_waits_for_an_answer() -> None:
    day = metered_day()
    day.beat(0.5)
    day.restart(60.0)
    day.beat(0.500_4)
    assert raised(day, "meter-gap") is None  # the last drip
    day.restart(60.0)
    day.beat(0.560_4)
    assert raised(day, "meter-gap") == pytest.approx((0.0604, 0.0005))
    day.quiet(4.0)
    day.record(ev.GapAnswered(channel="grout", offered_m3=day.state.flow.offered_m3, counted_m3=0.060))
    assert raised(day, "meter-gap") is None


def test_a_meter_that_was_reset_is_told_for_a_moment() -> None:
    day = metered_day()
    day.beat(0.5)
    day.record(ev.MeterRebased(channel="grout", from_m3=0.5, to_m3=0.0, cause="reset"))
    assert raised(day, "meter-rebased") == (0.5, 0.0)
    day.beats(4, 0.0)
    assert raised(day, "meter-rebased") is None
    assert "meter-rebased" in {alarm.alarm for alarm in day.state.alarms if alarm.standing}


# --- live and replay agree -------------------------------------------------------------------------------------------


def test_what_is_due_is_asked_for_once() -> None:
    day = Day(plan(hole={"water_level_m": 60.0}, limits={"elevator_n": 3_000.0}), alarms=True)
    day.joints([5.5, 5.05])
    day.hook(50_000.0)
    assert len(day.standing()) == 3
    assert due(day.state) == []


def test_a_day_of_trouble_is_recomputed_entry_by_entry() -> None:
    day = metered_day()
    day.batch(10, density_kg_m3=1_700.0)
    day.pump(0.95)
    day.beats(10)
    day.returns("full")
    wrong = day.returns("none")
    day.beats(70, 0.0005)
    day.void(wrong)
    day.restart(300.0)
    day.pump(0.9)
    day.record(ev.AlarmAcknowledged(alarm="returns-overdue", done="looked"))
    day.quiet(6_000.0)
    day.end("left to set")
    day.quiet(10.0)
    assert len({alarm.alarm for alarm in day.state.alarms}) >= 6
    assert recomputed(day.entries) == day.entries
    assert disagreements(day.entries) == []


@settings(max_examples=80, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(events(*BY_RECORDER, ev.EntryVoided), max_size=20), st.sampled_from(PLANS))
def test_any_day_is_recomputed_entry_by_entry(happened: list[Any], plan_: Any) -> None:
    day = Day(plan_, alarms=True)
    for event in happened:
        day.tick(3.5)
        day.record(event)
        assert due(day.state) == []
    assert recomputed(day.entries) == day.entries
    assert disagreements(day.entries) == []


def test_a_missing_and_an_invented_alarm_are_found() -> None:
    day = metered_day()
    day.batch(10, density_kg_m3=1_700.0)
    day.beats(2, 0.0)
    kept = [e for e in day.entries if not isinstance(e.event, ev.AlarmRaised)]
    assert any("“Batch density off” is missing" in words for words in disagreements(kept))
    invented = day.entry(ev.AlarmCleared(alarm="load-high"))
    assert any(
        "“Hook load above expected” is not called for" in words for words in disagreements([*day.entries, invented])
    )


def test_what_a_newer_rule_calls_for_all_day_is_told_once() -> None:
    """As a session from before the rule reads: its alarm is missing at every heartbeat, and again only once it is due
    anew."""
    day = metered_day()
    day.batch(10, density_kg_m3=1_700.0)
    day.beats(30, 0.0)
    day.record(ev.BatchWeighed(density_kg_m3=1_870.0, typed=""))
    day.beats(10, 0.0)
    day.record(ev.BatchWeighed(density_kg_m3=1_700.0, typed=""))
    day.beats(30, 0.0)
    kept = [e for e in day.entries if not isinstance(e.event, ev.AlarmRaised | ev.AlarmCleared)]
    told = [words for words in disagreements(kept) if "Batch density off" in words]
    assert len(told) == 2 and all("“Batch density off” is missing" in words for words in told)


def test_at_depth_no_next_joint_is_looked_ahead_to() -> None:
    """Eleven joints hang under the limit, a twelfth would pass it; with the shoe down, a spare joint is no alarm."""
    heavy = {"limits": {"hoist_n": 15_000.0}}
    day = Day(plan(**heavy, casing={"rack_m": [5.05] * 13}), alarms=True)
    day.joints([5.05] * 11)
    assert raised(day, "hoist-limit"), "one joint before depth it looks ahead"
    day.joints([5.05])
    day.quiet(10.0)
    assert raised(day, "hoist-limit") is None


def test_what_is_wrong_on_one_day_is_not_said_of_another() -> None:
    """The casing's rules answer once for the same plan and entries."""
    shared = plan()
    wrong, right = Day(shared), Day(shared)
    wrong.joint(6.40)
    right.joint()
    for _ in range(2):
        assert "rack-mismatch" in {change.alarm for change in due(wrong.state)}
        assert "rack-mismatch" not in {change.alarm for change in due(right.state)}


def test_what_still_holds_stands_before_what_is_over() -> None:
    """A light dry casing lifts; then returns are overdue, and come: both are to be looked at, the first still now."""
    day = metered_day(casing={"shoe": "closed", "mass_kg_m": 20.0})
    day.pump(0.800)
    day.returns("full", "water")
    for _ in range(5):
        day.beat()
    assert [(row.alarm, row.active) for row in standing(day.state)] == [
        ("casing-lifts", True),
        ("returns-overdue", False),
    ]
