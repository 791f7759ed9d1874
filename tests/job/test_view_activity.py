"""Times by activity: by the entries and by what the crew said; always the whole session, no second twice."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import intents as want
from tally.job.decide.refusal import Refusal
from tally.job.view import activity, reported_book
from tally.job.view.header import header
from tests.job.happenings import events
from tests.scenario import Day, grouting_day


def lasted(day: Day) -> dict[str, float]:
    return {total.activity.text: total.lasted.si or 0.0 for total in activity.totals(day.state)}


def test_what_the_crew_says_goes_before_what_the_entries_tell() -> None:
    """Two joints a minute each, 100 s of standby, 50 s of repair, and a joint 60 s after that ends it unsaid."""
    day = Day()
    day.joints([5.05] * 2)
    day.do(want.BeginActivity("standby", "for the welder"))
    assert header(day.state).activity == "standby"
    day.tick(100.0)
    day.do(want.BeginActivity("repair"))
    day.tick(50.0)
    day.joint()
    assert header(day.state).activity == "casing" and activity.now(day.state) is None
    day.do(want.BeginActivity("travel"))
    day.tick(30.0)
    day.do(want.BeginActivity("job"))
    day.quiet(5.0)
    assert lasted(day) == {
        "before the first joint": 60,
        "running casing, welds included": 65,
        "standby": 100,
        "repair": 110,
        "travel": 30,
    }


def test_what_was_entered_wrongly_counts_as_it_is_put_right() -> None:
    """90 s of standby that were repair, 40 s of weather that were work; the report tells the times that stand."""
    day = Day()
    day.joint()
    standby = day.do(want.BeginActivity("standby", "for the welder"))[0].number
    day.tick(90.0)
    weather = day.do(want.BeginActivity("weather", "rain"))[0].number
    day.tick(40.0)
    day.joint()
    day.do(want.CorrectEntry(standby, want.BeginActivity("repair", "mast"), "typed wrong"))
    day.do(want.CorrectEntry(weather, want.BeginActivity("job"), "typed wrong"))
    assert lasted(day) == {"before the first joint": 60, "repair": 90, "running casing, welds included": 100}
    spells = {spell.activity.text: spell.lasted.si for spell in reported_book.spells(day.state)}
    assert spells["repair"] == 90 and "standby" not in spells
    day.void(day.state.number)
    assert lasted(day)["held up by weather"] == 100


def test_a_stop_of_the_pump_and_the_time_away_are_told_apart() -> None:
    day = grouting_day()
    day.pump(0.1)
    day.record(ev.PumpStopped(reason="hose"))
    day.quiet(40.0)
    day.record(ev.PumpStarted())
    day.tick(20.0)
    day.end("left to set")
    day.tick(300.0)
    day.beat()
    day.restart(7_200.0)
    day.quiet(60.0)
    found = lasted(day)
    assert found["pump stopped in stage 1"] == 40
    assert found["grouting, stage 1"] == 30
    assert found["nobody recorded"] == 7_200
    assert found["after the last stage"] == 361
    shares = [total.share.si or 0.0 for total in activity.totals(day.state)]
    assert sum(shares) == pytest.approx(1.0)


def test_of_one_day_the_rest_is_left_out() -> None:
    day = Day()
    day.joints([5.05] * 3)
    found = {total.activity.text: total.lasted.si for total in activity.totals(day.state, 90.0)}
    assert found == {"running casing, welds included": 90}


def test_voided_it_never_was() -> None:
    day = Day()
    (entry,) = day.do(want.BeginActivity("standby"))
    day.quiet(10.0)
    day.void(entry)
    assert "standby" not in lasted(day)


@settings(max_examples=60)
@given(st.lists(events(ev.SessionOpened, ev.Heartbeat), max_size=14))
def test_any_day_adds_up_without_gap_or_overlap(happenings: list[ev.AnyEvent]) -> None:
    day = Day()
    for event in happenings:
        day.tick(7.0)
        day.record(event)
    spans = activity.spans(day.state)
    assert [span.from_s for span in spans] == [0.0, *(span.until_s for span in spans)][:-1] or not spans
    assert sum(lasted(day).values()) == pytest.approx(day.state.elapsed_s)


@pytest.mark.parametrize(
    ("text", "air_c"),
    [
        ("rain, 12 C", 12.0),
        ("54 F and wind", 12.22),
        ("-3,5 °C", -3.5),
        ("wind from the west", None),
        ("8 Cats", None),
        ("hole 5, 31C", 31.0),
    ],
)
def test_a_temperature_in_the_words_is_kept_as_a_number(text: str, air_c: float | None) -> None:
    """54 °F is (54 - 32) / 1.8 °C, exact by definition (NIST Special Publication 811, 2008, appendix B.8)."""
    (entry,) = Day().do(want.NoteWeather(text))
    assert isinstance(entry.event, ev.WeatherNoted)
    assert (entry.event.text, entry.event.air_c) == (text, air_c)


def test_what_is_no_weather_is_refused() -> None:
    for text, words in (("  ", "nothing"), ("200 C", "200 C")):
        refused = Day().ask(want.NoteWeather(text))
        assert isinstance(refused, Refusal) and words in refused.reason
