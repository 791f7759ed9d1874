"""Instruments beside the meter: what is kept of them, and that they never touch the count."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import fold, loads, watching
from tally.job.coding import decoded_beat, encoded
from tests.job.instrumented import CHECK, HOOK, RETURNS, beat, day, said, volumes

BAND_N = 500.0


def test_another_instruments_total_is_not_the_meters() -> None:
    day_ = day(CHECK)
    volumes(day_, 0.0, check=7_000.0)
    volumes(day_, 1.0, check=7_003.0)
    assert day_.state.flow.metered_m3 == pytest.approx(0.001)
    (one,) = day_.state.watched
    assert one.flow.metered_m3 == pytest.approx(0.003)


def test_a_hook_load_is_kept_when_it_changes_by_more_than_the_band_or_every_half_minute() -> None:
    day_ = day(HOOK, landed=False, limits={"reading_band_share": 0.0})
    day_.joints([5.05] * 4)
    expected_n = loads.expected_n(day_.state.plan, day_.state.string)
    assert expected_n is not None
    for off_n in (0.0, 400.0, 499.0, 501.0, 501.0, 900.0):
        beat(day_, said("hook", "force_n", expected_n + off_n))
    kept = [reading.load_n - expected_n for reading in day_.state.gauges.loads]
    assert kept == pytest.approx([0.0, 501.0])
    assert {reading.motion for reading in day_.state.gauges.loads} == {"unknown"}
    assert day_.standing()["load-high"].value == pytest.approx(expected_n + 501.0)
    beat(day_, said("hook", "force_n", expected_n + 501.0), after_s=29.0)
    assert len(day_.state.gauges.loads) == 3  # half a minute after the last one that was kept


def test_an_empty_hook_is_no_light_string() -> None:
    """While the string stands in its clamp the hook carries itself alone."""
    day_ = day(HOOK, landed=False)
    day_.joints([5.05] * 4)
    beat(day_, said("hook", "force_n", 100.0))
    assert day_.state.gauges.loads == ()
    assert day_.state.gauges.load_n == 100.0
    assert "load-low" not in day_.standing()


def test_typed_and_metered_readings_stand_in_the_order_of_their_times() -> None:
    day_ = day(HOOK, landed=False)
    day_.joints([5.05] * 4)
    expected_n = loads.expected_n(day_.state.plan, day_.state.string)
    assert expected_n is not None
    beat(day_, said("hook", "force_n", expected_n))
    day_.tick(5.0)
    day_.hook(expected_n + 10.0)
    assert [reading.motion for reading in watching.hook_readings(day_.state)] == ["unknown", "still"]


def test_kept_loads_are_bounded() -> None:
    day_ = day(HOOK, landed=False)
    day_.alarms = False
    day_.joints([5.05] * 4)
    for place in range(watching.MOST_LOADS + 50):
        beat(day_, said("hook", "force_n", 3_000.0 + 2_000.0 * (place % 2)), after_s=31.0)
    assert len(day_.state.gauges.loads) == watching.MOST_LOADS


@given(
    st.lists(
        st.tuples(st.sampled_from("bgcrmns"), st.floats(0.0, 3.0), st.floats(0.0, 3.0), st.floats(0.0, 9e4)),
        max_size=40,
    )
)
def test_folded_in_parts_or_entry_by_entry_is_one_state(happened: list[tuple[str, float, float, float]]) -> None:
    """Also that nothing that another instrument says changes what is counted."""
    day_, plain = day(CHECK, RETURNS, HOOK), day()
    for kind, one_m3, other_m3, load_n in happened:
        if kind in "mr":
            event = ev.MeterChanged(channel="check" if kind == "m" else "returns", condition="FAULT")
            day_.record(event)
        elif kind == "n":
            for each in (day_, plain):
                each.record(ev.MeterChanged(channel="grout", condition="LIVE"))
        else:
            beat(
                day_,
                said("grout", "total_m3", one_m3),
                said("check", "total_m3", other_m3),
                said("hook", "force_n", load_n),
            )
            beat(plain, said("grout", "total_m3", one_m3))
    folding = fold.Folding(fold.opened(day_.entries[0]))
    for entry in day_.entries[1:]:
        parts = decoded_beat(encoded(entry))
        if parts is not None:
            folding.beat(*parts)
        else:
            folding.take(entry)
    assert folding.state == day_.state
    assert day_.state.flow.metered_m3 == plain.state.flow.metered_m3
