"""What the meter counted: grows only, and what nobody saw is offered, not counted."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import metering
from tally.job.state import Flow, Interruption
from tally.job.view.reported_grout import stage_reports
from tests.scenario import Day, grouting_day


def beat(*totals_m3: float) -> ev.Heartbeat:
    samples = ev.Samples(channel="grout", quantity="total_m3", before_s=(0.0,) * len(totals_m3), values=totals_m3)
    return ev.Heartbeat(samples=(samples,))


def test_the_first_total_is_a_start_and_not_a_volume() -> None:
    """A totaliser may stand at anything from earlier jobs."""
    day = Day()
    day.meter("LIVE")
    day.beat(8_412.5)
    assert day.state.flow.metered_m3 == 0.0
    day.beat(8_412.75)
    assert day.state.flow.metered_m3 == pytest.approx(0.25)


def test_rate_times_time_is_volume() -> None:
    """60 s at 0.5 L/s is 30 L."""
    day = Day()
    day.metered()
    day.beats(60, 0.0005)
    assert day.state.flow.metered_m3 == pytest.approx(0.030)
    assert day.state.flow.rate_m3_s == 0.0005
    assert day.state.flow.moved_s == day.state.elapsed_s


@settings(max_examples=200)
@given(st.lists(st.lists(st.floats(0.0, 100.0), max_size=4), max_size=20))
def test_volume_never_shrinks_and_never_exceeds_all_the_rises(seconds: list[list[float]]) -> None:
    flow, last_m3, rises_m3 = Flow(), None, 0.0
    for second, totals in enumerate(seconds):
        before_m3 = flow.metered_m3
        flow = metering.after_beat(flow, beat(*totals), float(second), stage=None)
        for total in totals:
            rises_m3 += max(total - last_m3, 0.0) if last_m3 is not None else 0.0
            last_m3 = total
        assert flow.metered_m3 >= before_m3
    assert flow.metered_m3 == pytest.approx(rises_m3)


def test_many_totals_in_one_second_count_like_one_each() -> None:
    one = metering.after_beat(Flow(), beat(1.0, 1.1, 1.2, 1.4), 0.0, stage=None)
    assert one.metered_m3 == pytest.approx(0.4)


# --- breaks ----------------------------------------------------------------------------------------------------------


def rebased(cause: str, from_m3: float, to_m3: float, counted: float = 0.0, offered: float = 0.0) -> ev.MeterRebased:
    values = {"from_m3": from_m3, "to_m3": to_m3, "counted_m3": counted, "offered_m3": offered}
    return ev.MeterRebased.model_validate({"channel": "grout", "cause": cause, **values})


def test_a_reset_starts_anew_without_a_negative_volume() -> None:
    day = Day()
    day.metered()
    day.beat(0.900)
    day.record(rebased("reset", 0.900, 0.010, offered=0.010))
    day.beat(0.010)
    day.beat(0.030)
    flow = day.state.flow
    assert flow.metered_m3 == pytest.approx(0.920)  # 900 L, and 20 L past the reset
    assert flow.offered_m3 == pytest.approx(0.010)  # shown since zero: seen by nobody
    assert (flow.rebased, flow.rebased_cause) == (1, "reset")
    assert flow.rebased_step_m3 == pytest.approx(0.890)


def test_a_roll_over_of_known_width_counts_what_passed_through_zero() -> None:
    day = Day()
    day.meter("LIVE")
    day.beat(9.990)
    day.record(rebased("rollover", 9.990, 0.004, counted=0.014))  # a 10 m3 counter: 10 L to the top and 4 L after
    day.beat(0.004)
    day.beat(0.006)
    assert day.state.flow.metered_m3 == pytest.approx(0.016)
    assert day.state.flow.offered_m3 == 0.0


def test_a_leap_waits_for_the_operators_word() -> None:
    day = Day()
    day.metered()
    day.record(rebased("jump", 0.0, 5.0, offered=5.0))
    day.beat(5.0)
    day.beat(5.1)
    assert day.state.flow.metered_m3 == pytest.approx(0.1)
    assert day.state.flow.offered_m3 == pytest.approx(5.0)


# --- gaps ------------------------------------------------------------------------------------------------------------


def test_what_moved_over_a_restart_is_offered_and_not_counted() -> None:
    day = Day()
    day.metered()
    day.beat(0.500)
    day.restart(120.0)
    day.meter("LIVE")
    day.beat(0.620)
    assert day.state.flow.metered_m3 == pytest.approx(0.500)
    assert day.state.flow.offered_m3 == pytest.approx(0.120)
    day.beat(0.630)
    assert day.state.flow.metered_m3 == pytest.approx(0.510)  # counting goes on from there
    assert day.state.flow.offered_m3 == pytest.approx(0.120)


@pytest.mark.parametrize("gone", ["STALE", "FAULT", "CLOSED"])
def test_what_moved_while_the_line_was_lost_is_offered(gone: ev.MeterCondition) -> None:
    day = Day()
    day.metered()
    day.beat(0.500)
    day.meter(gone, "cable out")
    assert day.state.flow.rate_m3_s is None  # an old rate is no rate
    day.beats(30)
    day.meter("LIVE")
    day.beat(0.540)
    assert day.state.flow.metered_m3 == pytest.approx(0.500)
    assert day.state.flow.offered_m3 == pytest.approx(0.040)


def test_a_meter_swapped_over_a_restart_offers_nothing_negative() -> None:
    day = Day()
    day.metered()
    day.beat(0.500)
    day.restart(600.0)
    day.meter("LIVE")
    day.beat(0.020)
    day.beat(0.030)
    assert day.state.flow.offered_m3 == 0.0
    assert day.state.flow.metered_m3 == pytest.approx(0.510)


def test_a_first_line_after_a_first_start_offers_nothing() -> None:
    day = Day()
    day.restart(60.0)
    day.meter("LIVE")
    day.beat(77.0)
    assert day.state.flow.offered_m3 == 0.0 and day.state.flow.metered_m3 == 0.0


def test_the_answer_counts_what_the_operator_says() -> None:
    day = grouting_day()
    day.beat(0.500)
    day.restart(120.0)
    day.beat(0.620)
    day.record(ev.GapAnswered(channel="grout", offered_m3=0.120, counted_m3=0.090))
    flow = day.state.flow
    assert flow.metered_m3 == pytest.approx(0.590)
    assert flow.offered_m3 == pytest.approx(0.0) and flow.answered_m3 == pytest.approx(0.090)


def test_gaps_add_up_until_they_are_answered() -> None:
    day = grouting_day()
    for total_m3 in (0.1, 0.3):
        day.restart(60.0)
        day.beat(total_m3)
    assert day.state.flow.offered_m3 == pytest.approx(0.3)


# --- interruptions and trend -----------------------------------------------------------------------------------------


def test_an_interruption_is_told_once_the_pump_moves_again() -> None:
    day = grouting_day()
    day.beats(30, 0.0005)
    stopped_s = day.state.elapsed_s
    day.beats(300, 0.0)
    assert not day.state.flow.interruptions
    day.beats(2, 0.0005)
    assert day.state.flow.interruptions == (Interruption(0, stopped_s, stopped_s + 301.0),)


def test_a_silent_meter_says_nothing_of_the_pump() -> None:
    day = grouting_day()
    day.beats(30, 0.0005)
    silent_s = day.state.elapsed_s
    day.beat(after_s=60.0)
    day.beats(3, 0.0005)
    (told,) = day.state.flow.interruptions
    assert (told.from_s, told.silent) == (silent_s, True)
    (stage,) = stage_reports(day.state)
    assert stage.times_interrupted == 0 and [row.silent for row in stage.interruptions] == [True]


def test_strokes_of_a_slow_pump_are_no_interruptions() -> None:
    day = grouting_day()
    for _ in range(10):
        day.beats(14, 0.0)
        day.beats(1, 0.002)
    assert day.state.flow.interruptions == ()


def test_time_between_two_stages_interrupts_neither() -> None:
    day = grouting_day()
    day.beats(30, 0.0005)
    day.end("left to set")
    day.quiet(86_400.0)
    day.tag(50.0)
    day.stage(0, bottom_m=50.0)
    day.beats(60, 0.0)
    day.beats(30, 0.0005)
    assert day.state.flow.interruptions == ()


def test_the_trend_of_twelve_hours_stays_small_and_spans_them_all() -> None:
    flow, total_m3 = Flow(), 0.0
    for second in range(12 * 3_600):
        total_m3 += 0.0002
        flow = metering.after_beat(flow, beat(round(total_m3, 6)), float(second), stage=0)
        assert len(flow.trend) <= metering.TREND_POINTS
    times = [at for at, _ in flow.trend]
    assert times[0] <= 60.0 and times[-1] >= 12 * 3_600 - 2 * flow.trend_step_s
    assert len(times) >= metering.TREND_POINTS / 2 - 1
    # Evenly thinned: no hole wider than the step, and what is drawn is what was counted (0.2 L a second).
    gaps = [after - before for before, after in pairwise(times[1:])]
    assert max(gaps) <= flow.trend_step_s and max(gaps) <= 12 * 3_600 / (metering.TREND_POINTS / 2)
    assert all(volume == pytest.approx(0.0002 * at, abs=1e-6) for at, volume in flow.trend)


def test_a_pump_that_stands_leaves_the_trend_alone() -> None:
    day = grouting_day()
    day.beats(400, 0.0005)
    trend, step_s = day.state.flow.trend, day.state.flow.trend_step_s
    day.beats(400, 0.0)
    assert day.state.flow.trend == trend and day.state.flow.trend_step_s == step_s
    day.beats(30, 0.0005)
    assert day.state.flow.trend[-1][0] >= day.state.elapsed_s - step_s
