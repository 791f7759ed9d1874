"""Rules about instruments: silent up to the limit, raised just past it with the figures worked by hand."""

import pytest

from tally.job import events as ev
from tally.job.alarms.replay import disagreements
from tally.job.view.alarms import alarms
from tests.job.instrumented import BALANCE, CHECK, GAUGE, RETURNS, beat, day, said, volumes
from tests.scenario import Day

L = 1e-3


def raised(day_: Day, name: str) -> tuple[float, float] | None:
    alarm = day_.standing().get(name)
    return (alarm.value, alarm.limit) if alarm else None


def holds(day_: Day, name: str, value: float, limit: float) -> None:
    found = raised(day_, name)
    assert found is not None
    assert list(found) == pytest.approx([value, limit])


def test_two_sources_of_one_volume_further_apart_than_the_tolerance() -> None:
    """400 L by what counts: 5 % of that is 20 L, and so is the floor."""
    day_ = day(CHECK)
    volumes(day_, 0.0, check=5_000.0)
    volumes(day_, 400.0, check=5_380.1)
    assert raised(day_, "sources-disagree") is None
    volumes(day_, 401.0, check=5_380.1)
    holds(day_, "sources-disagree", 0.401, 0.05 * 0.401)
    alarm = next(row for row in alarms(day_.state) if row.alarm == "sources-disagree")
    assert alarm.sentence.written(lambda q: f"{q.si * 1000:.0f} L" if q.si is not None else "–") == (
        "401 L by what counts, 380 L by the one that checks it: further apart than 20 L"
    )
    assert disagreements(day_.entries) == []


def test_comparing_begins_anew_when_either_was_away() -> None:
    day_ = day(CHECK)
    volumes(day_, 0.0, check=0.0)
    volumes(day_, 100.0, check=100.0)
    day_.record(ev.MeterChanged(channel="check", condition="FAULT", why="unplugged"))
    volumes(day_, 300.0)
    assert raised(day_, "sources-disagree") is None
    day_.record(ev.MeterChanged(channel="check", condition="LIVE"))
    volumes(day_, 300.0, check=100.0)  # it saw nothing of 200 L, which is no disagreement
    volumes(day_, 340.0, check=140.0)
    assert raised(day_, "sources-disagree") is None
    volumes(day_, 340.0, check=161.0)  # 40 L against 61 L
    holds(day_, "sources-disagree", 0.040, 0.020)


def test_less_coming_out_than_going_in() -> None:
    """Returns begin at 300 L in. Of the 600 L that follow 20 %, 120 L, may stay below; before that 100 L."""
    day_ = day(RETURNS)
    volumes(day_, 0.0, returns=70.0)
    volumes(day_, 300.0, returns=75.1)
    volumes(day_, 500.0, returns=75.1 + 100.1)
    assert raised(day_, "returns-deficit") is None
    volumes(day_, 900.0, returns=75.1 + 480.1)
    assert raised(day_, "returns-deficit") is None
    volumes(day_, 902.0, returns=75.1 + 480.1)
    holds(day_, "returns-deficit", 0.1219, 0.1204)


def test_returns_that_a_meter_sees_are_not_overdue_and_stop_when_it_stops() -> None:
    day_ = day(RETURNS)
    volumes(day_, 0.0, returns=0.0)
    for place in range(1, 30):
        volumes(day_, 60.0 * place, returns=58.0 * place)
    assert raised(day_, "returns-overdue") is None
    for place in range(1, 61):
        volumes(day_, 1_740.0 + place, returns=58.0 * 29)
        if place == 59:
            assert raised(day_, "returns-stopped") is None
    assert raised(day_, "returns-stopped") == (60.0, 60.0)


def test_a_count_that_stands_still_while_its_own_rate_says_flow() -> None:
    day_ = day()
    volumes(day_, 10.0)
    for _ in range(30):
        beat(day_, said("grout", "total_m3", 0.010), said("grout", "rate_m3_s", 0.7 * L))
    assert raised(day_, "meter-frozen") is None
    beat(day_, said("grout", "total_m3", 0.010), said("grout", "rate_m3_s", 0.7 * L))
    assert raised(day_, "meter-frozen") == (31.0, 30.0)


def test_a_count_that_stands_still_while_another_source_counts_on() -> None:
    day_ = day(CHECK)
    volumes(day_, 0.0, check=0.0)
    stage = day_.state.grout.stage
    assert stage is not None
    for place in range(1, 40):
        volumes(day_, 0.0, check=0.5 * place)
        still_s = day_.state.elapsed_s - stage.started_s
        assert (raised(day_, "meter-frozen") is not None) == (still_s > 30.0), still_s


def test_a_pump_that_stands_is_no_frozen_meter() -> None:
    day_ = day()
    for _ in range(60):
        beat(day_, said("grout", "total_m3", 0.010), said("grout", "rate_m3_s", 0.0))
    assert raised(day_, "meter-frozen") is None


@pytest.mark.parametrize(
    ("doubt", "amount", "alarm"),
    [("backward", 0.030, "meter-backward"), ("garbage", 0.8, "meter-garbage"), ("flood", 900.0, "meter-flood")],
)
@pytest.mark.parametrize("channel", ["grout", "check"])
def test_what_an_instrument_is_doubted_for(doubt: ev.Doubt, amount: float, alarm: str, channel: str) -> None:
    day_ = day(CHECK)
    day_.record(ev.MeterChanged(channel=channel, condition="LIVE", doubt=doubt, amount=amount))
    found = raised(day_, alarm)
    assert found is not None and found[0] == amount
    day_.record(ev.MeterChanged(channel=channel, condition="LIVE"))
    beat(day_, after_s=10.0)
    assert raised(day_, alarm) is None


def test_a_port_that_has_gone_is_told_within_the_second() -> None:
    day_ = day(alarms={"gone_s": 0.5})
    volumes(day_, 10.0)
    day_.record(ev.MeterChanged(channel="grout", condition="FAULT", why="unplugged"))
    beat(day_, after_s=0.5)
    assert raised(day_, "meter-gone") is None
    beat(day_, after_s=0.1)
    holds(day_, "meter-gone", 0.6, 0.5)


def test_a_meter_without_a_count_of_its_own_that_was_away() -> None:
    """5 s away is the limit; one that counts on by itself offers the volume instead."""
    for pulses, expected in ((False, (5.5, 5.0)), (True, None)):
        day_ = day()
        meter = day_.state.plan.meter
        assert meter is not None
        factors = {"pulses" if pulses else "rate": 1.0}
        counting = day_.state.plan.model_copy(update={"meter": meter.model_copy(update={"factors": factors})})
        day_.record(ev.PlanAmended(plan=counting, reason="another meter"))
        volumes(day_, 10.0)
        day_.record(ev.MeterChanged(channel="grout", condition="FAULT", why="unplugged"))
        day_.tick(5.5)
        day_.record(ev.MeterChanged(channel="grout", condition="LIVE"))
        assert raised(day_, "meter-blind") == expected


def test_an_instrument_beside_the_meter_that_is_not_heard() -> None:
    day_ = day(GAUGE)
    beat(day_, said("gauge", "pressure_pa", 1e5))
    for _ in range(10):
        beat(day_)
    assert raised(day_, "check-silent") is None
    beat(day_)
    assert raised(day_, "check-silent") == (11.0, 10.0)


def test_pressure_and_rate_over_their_limits() -> None:
    day_ = day(GAUGE, pump={"rate_m3_s": 1 * L, "greatest_rate_m3_s": 2 * L, "pressure_limit_pa": 20e5})
    beat(day_, said("gauge", "pressure_pa", 20e5), said("grout", "rate_m3_s", 2 * L))
    assert raised(day_, "pressure-high") is None and raised(day_, "rate-high") is None
    beat(day_, said("gauge", "pressure_pa", 19e5, 20.1e5), said("grout", "rate_m3_s", 2.1 * L))
    assert raised(day_, "pressure-high") == (20.1e5, 20e5)
    assert raised(day_, "rate-high") == (2.1 * L, 2 * L)


def test_density_of_the_returns_by_an_instrument_counts_as_a_weighed_one() -> None:
    """The mix is 1,870 kg/m3, its band 40."""
    day_ = day(BALANCE)
    beat(day_, said("balance", "density_kg_m3", 1_500.0))
    assert raised(day_, "thin-returns") is None  # water comes out thinner than grout, and nobody said that it is grout
    day_.returns("full", "grout")
    assert raised(day_, "thin-returns") == (1_500.0, 1_830.0)
    beat(day_, said("balance", "density_kg_m3", 1_830.0), after_s=5.0)
    assert raised(day_, "thin-returns") is None
    beat(day_, said("balance", "density_kg_m3", 1_829.0), after_s=5.0)
    assert raised(day_, "thin-returns") == (1_829.0, 1_830.0)
    beat(day_, after_s=11.0)  # the instrument is not heard: what it said is old
    assert raised(day_, "thin-returns") is None
