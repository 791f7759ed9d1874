"""Readings to heartbeats: what is counted is what flowed, however the seconds cut it, and never less than nothing."""

from hypothesis import given
from hypothesis import strategies as st

from tally.job import events as ev
from tally.live.sampling import MOST_SAMPLES, Sampler, belief
from tally.meters.reading import Reading
from tests.scenario import Day, plan

ML = 1e-6
L = 1e-3


class Meter:
    """A totaliser that sends a line every 0.2 s, its sampler, and the day that its heartbeats are recorded on."""

    def __init__(self, *, rolls_over_l: float | None = None, beats_each: int = 5) -> None:
        modulus = None if rolls_over_l is None else rolls_over_l * L
        self.day = Day(plan(meter={"modulus_m3": modulus}))
        self.day.meter("LIVE")
        self.sampler = Sampler(self.day.state.plan.meter, None)
        self.told: list[ev.Heartbeat | ev.MeterRebased] = []
        self._pending: list[Reading] = []
        self._beats_each = beats_each
        self.now_s = 0.0

    def send(self, *totals_l: float, every_s: float = 0.2) -> "Meter":
        for total in totals_l:
            self.now_s += every_s
            self._pending.append(Reading(self.now_s, "grout", "total_m3", total * L))
            if len(self._pending) >= self._beats_each:
                self.beat()
        return self

    def beat(self) -> "Meter":
        events = self.sampler.events(self._pending, self.now_s)
        self._pending = []
        self.told += events
        self.day.tick(1.0)
        for event in events:
            self.day.record(event)
        return self

    @property
    def counted_l(self) -> float:
        return round(self.day.state.flow.metered_m3 * 1000, 6)

    @property
    def offered_l(self) -> float:
        return round(self.day.state.flow.offered_m3 * 1000, 6)

    @property
    def breaks(self) -> list[str]:
        return [event.cause for event in self.told if isinstance(event, ev.MeterRebased)]


def test_a_second_without_readings_is_a_heartbeat_without_samples() -> None:
    (beat,) = Sampler(plan().meter, None).events([], 5.0)
    assert isinstance(beat, ev.Heartbeat)
    assert beat.samples == ()


def test_a_heartbeat_says_how_long_before_it_each_value_arrived() -> None:
    readings = [
        Reading(4.2, "grout", "total_m3", 0.1),
        Reading(4.2, "grout", "rate_m3_s", 0.001),
        Reading(4.9, "grout", "total_m3", 0.1007),
    ]
    (beat,) = Sampler(plan().meter, None).events(readings, 5.0)
    assert isinstance(beat, ev.Heartbeat)
    told = {samples.quantity: (samples.before_s, samples.values) for samples in beat.samples}
    assert told == {"total_m3": ((0.8, 0.1), (0.1, 0.1007)), "rate_m3_s": ((0.8,), (0.001,))}


def test_the_first_total_is_where_counting_starts() -> None:
    meter = Meter().send(1204.5).beat()
    assert (meter.counted_l, meter.offered_l) == (0.0, 0.0)
    assert meter.send(1205.5).beat().counted_l == 1.0


def test_a_reset_counts_what_came_before_and_after_it_and_offers_what_the_new_total_shows() -> None:
    meter = Meter().send(500.0, 500.3, 500.6, 0.2, 0.5, 0.8).beat()
    assert meter.breaks == ["reset"]
    assert meter.counted_l == 0.6 + 0.6
    assert meter.offered_l == 0.2


def test_a_rollover_of_the_known_width_is_counted_through() -> None:
    meter = Meter(rolls_over_l=1000.0).send(999.4, 999.8, 0.2, 0.6).beat()
    assert meter.breaks == ["rollover"]
    assert (meter.counted_l, meter.offered_l) == (1.2, 0.0)


def test_a_leap_is_offered_and_not_counted() -> None:
    meter = Meter().send(100.0, 100.2, 600.2, 600.4).beat()
    assert meter.breaks == ["jump"]
    assert (meter.counted_l, meter.offered_l) == (0.4, 500.0)


def test_a_leap_is_not_believed_before_a_second_total_says_the_same() -> None:
    meter = Meter().send(100.0, 100.2, 600.2).beat()
    assert (meter.breaks, meter.counted_l, meter.offered_l) == ([], 0.2, 0.0)
    meter.send(600.4).beat()
    assert (meter.breaks, meter.counted_l, meter.offered_l) == (["jump"], 0.4, 500.0)


def test_one_bad_line_costs_nothing() -> None:
    """A lost digit, up or down, between totals that go on as before."""
    for bad in (10.04, 1004.2, 0.0):
        meter = Meter().send(100.0, 100.2, bad, 100.6, 100.8).beat()
        assert (meter.breaks, meter.counted_l, meter.offered_l) == ([], 0.8, 0.0)


def test_one_bad_line_that_is_the_last_of_its_second_costs_nothing() -> None:
    meter = Meter().send(100.0, 100.2, 10.04).beat().send(100.6).beat()
    assert (meter.breaks, meter.counted_l, meter.offered_l) == ([], 0.6, 0.0)


def test_a_shiver_backward_counts_once() -> None:
    meter = Meter().send(100.0, 101.0, 100.9, 101.0, 100.95, 101.2, 101.0, 101.4).beat()
    assert meter.counted_l == 1.4
    assert set(meter.breaks) == {"backward"}


def test_totals_after_a_restart_go_on_from_the_last_one_on_record() -> None:
    meter = Meter().send(100.0, 101.0).beat()
    meter.day.restart(60.0)
    meter.day.meter("LIVE")
    meter.sampler = Sampler(meter.day.state.plan.meter, meter.day.state.flow.last_total_m3)
    meter.send(104.0, 104.5).beat()
    assert (meter.counted_l, meter.offered_l) == (1.5, 3.0)


@given(
    start_ml=st.integers(0, 10**9),
    steps_ml=st.lists(st.integers(0, 4_000), max_size=60),
    cuts=st.lists(st.integers(1, 9), min_size=1, max_size=60),
)
def test_a_total_that_only_grows_is_counted_in_full_however_it_is_cut(
    start_ml: int, steps_ml: list[int], cuts: list[int]
) -> None:
    """Steps of up to 4 L in 0.2 s are 1,200 L/min, the most that is believed of a pump."""
    meter = Meter(beats_each=1_000).send(start_ml / 1000)
    total_ml = start_ml
    for place, step_ml in enumerate(steps_ml):
        total_ml += step_ml
        meter.send(total_ml / 1000)
        if place % cuts[place % len(cuts)] == 0:
            meter.beat()
    meter.beat()
    assert meter.breaks == []
    assert meter.offered_l == 0.0
    assert abs(meter.counted_l - sum(steps_ml) / 1000) < 1e-4


@given(
    totals_l=st.lists(st.floats(0.0, 5_000.0) | st.floats(95.0, 105.0), max_size=40),
    rolls_over_l=st.none() | st.floats(50.0, 5_000.0),
)
def test_whatever_a_meter_says_the_count_never_falls(totals_l: list[float], rolls_over_l: float | None) -> None:
    meter = Meter(rolls_over_l=rolls_over_l, beats_each=3)
    before = (0.0, 0.0)
    for total_l in totals_l:
        meter.send(total_l)
        now = (meter.counted_l, meter.offered_l)
        assert now >= before
        assert now[1] >= before[1] >= 0.0
        before = now


def test_what_is_believed_follows_the_pump() -> None:
    """40 L/min planned: 80 L/min at most, 1.333 L/s. Floor 5 s of that, 6.667 L; 2 s later 9.333 L."""
    pumped = plan(pump={"rate_m3_s": 40 * L / 60})
    believed = belief(pumped, pumped.meter)
    assert abs(believed.limit_m3(0.0) - 6.667 * L) < 0.001 * L
    assert abs(believed.limit_m3(2.0) - 9.333 * L) < 0.001 * L
    sampler = Sampler(pumped.meter, None, believed=believed)
    for at_s, total_l in ((0.0, 100.0), (2.0, 109.3), (4.0, 118.5), (4.2, 125.3)):
        events = sampler.events([Reading(at_s, "grout", "total_m3", total_l * L)], at_s)
        assert len(events) == 1
    events = sampler.events([Reading(4.4, "grout", "total_m3", 135.0 * L)], 4.4)
    events += sampler.events([Reading(4.6, "grout", "total_m3", 135.1 * L)], 4.6)
    assert [event.cause for event in events if isinstance(event, ev.MeterRebased)] == ["jump"]


def test_what_is_believed_follows_the_plans_own_words() -> None:
    """A pump of 200 L/min by the plan is 3.333 L/s; a total that grows by 30 L at once may grow by two such steps."""
    pumped = plan(
        pump={"rate_m3_s": 40 * L / 60, "greatest_rate_m3_s": 200 * L / 60},
        meter={"step_m3": 30 * L},
    )
    believed = belief(pumped, pumped.meter)
    assert believed.fastest_m3_s == 200 * L / 60
    assert believed.floor_m3 == 60 * L
    assert belief(plan(), plan().meter).fastest_m3_s == 0.02


def test_a_second_of_very_many_lines_keeps_its_last_total_and_a_few_more() -> None:
    readings = [Reading(place / 1000, "grout", "total_m3", place * ML) for place in range(1_000)]
    (beat,) = Sampler(plan().meter, None).events(readings, 1.0)
    assert isinstance(beat, ev.Heartbeat)
    (samples,) = beat.samples
    assert len(samples.values) == MOST_SAMPLES
    assert [round(value / ML) for value in (samples.values[0], samples.values[-1])] == [0, 999]


def test_reversed_wires_are_followed_down_and_taken_up_from_there() -> None:
    down = [100.0 - place for place in range(60)]
    meter = Meter().send(*down, every_s=1.0).beat()
    assert (meter.counted_l, meter.offered_l) == (0.0, 0.0)
    assert abs(meter.sampler.backward_m3 - 59 * L) < 1e-9
    meter.send(*[41.0 + place for place in range(1, 11)], every_s=1.0).beat()
    assert (meter.counted_l, meter.offered_l) == (10.0, 59.0)
    assert meter.breaks == ["backward", "backward"]
    assert meter.sampler.backward_m3 == 0.0


def test_a_reset_while_the_count_goes_backward_is_a_reset() -> None:
    meter = Meter().send(900.0, 899.0, 898.0, 0.1, 0.2, every_s=1.0).beat()
    assert meter.breaks == ["backward", "reset"]
