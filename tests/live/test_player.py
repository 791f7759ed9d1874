"""A replay shows what was live: the same state after the same entry."""

import math
from datetime import timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import fold
from tally.job import intents as want
from tally.job.alarms.replay import disagreements
from tally.job.decide.refusal import Refusal
from tally.job.state import Alarm
from tally.live import ladder
from tally.live.loading import load
from tally.live.player import CHUNK, SPEEDS, Player
from tally.live.session import Saved
from tests.live.support import Bench
from tests.scenario import START, Day, grouting_day, plan


@pytest.fixture
def day() -> Day:
    """A stage with a batch, an overdue alarm, a restart, and an end."""
    day = grouting_day(alarms=True)
    day.batch()
    day.pump(1.0, seconds=20)
    day.restart(900.0)
    day.meter("LIVE")
    day.beats(5, 0.001)
    day.end()
    assert any(isinstance(entry.event, ev.AlarmRaised) for entry in day.entries)
    return day


def shown(player: Player) -> object:
    return player.snapshot.state


def test_it_begins_with_the_first_entry_and_holds(day: Day) -> None:
    player = Player(day.entries, "digest")
    player.advance(1_000.0)
    assert (player.place, player.count, player.at_end) == (1, len(day.entries), False)
    assert shown(player) == fold.opened(day.entries[0])
    assert player.snapshot.chain == ""


def test_played_forward_it_is_at_every_moment_what_the_entries_so_far_come_to(day: Day) -> None:
    player = Player(day.entries, "digest")
    player.playing = True
    places = set()
    while not player.at_end:
        player.advance(0.25)
        places.add(player.place)
        assert shown(player) == fold.folded(day.entries[: player.place])
    assert len(places) > 10
    assert shown(player) == day.state
    assert player.snapshot.chain == "digest"
    player.advance(0.25)
    assert not player.playing


def test_an_entry_is_shown_when_its_own_time_has_come_and_not_before() -> None:
    day = Day()
    day.beat(after_s=10.0)
    day.beat(after_s=10.0)
    player = Player(day.entries)
    player.playing = True
    player.speed_index = SPEEDS.index(2)
    player.advance(4.75)
    assert player.place == 1
    player.advance(0.25)
    assert player.place == 2
    player.advance(5.0)
    assert player.place == 3


def test_the_time_between_two_runs_is_not_sat_through(day: Day) -> None:
    player = Player(day.entries)
    player.playing = True
    player.speed_index = SPEEDS.index(1)
    restart = next(place for place, entry in enumerate(day.entries) if isinstance(entry.event, ev.SessionResumed))
    while player.place <= restart:
        before = player.place
        player.advance(60.0)
        assert player.place > before


def test_a_step_goes_to_the_next_entry_that_is_no_heartbeat(day: Day) -> None:
    player = Player(day.entries)
    for place, entry in enumerate(day.entries[1:], start=2):
        if not isinstance(entry.event, ev.Heartbeat):
            player.step()
            assert player.place == place
            assert shown(player) == fold.folded(day.entries[:place])


def test_next_alarm_stops_at_each_alarm_and_then_at_the_end(day: Day) -> None:
    player = Player(day.entries)
    raised = [place for place, entry in enumerate(day.entries, start=1) if isinstance(entry.event, ev.AlarmRaised)]
    for place in raised:
        player.playing = True
        player.next_alarm()
        assert (player.place, player.playing) == (place, False)
    player.next_alarm()
    assert player.at_end
    player.step()
    player.next_alarm()
    player.to_end()
    assert (player.place, shown(player)) == (len(day.entries), day.state)


def test_to_the_end_from_anywhere(day: Day) -> None:
    player = Player(day.entries, "digest")
    player.step()
    player.playing = True
    player.to_end()
    assert (player.at_end, player.playing, shown(player)) == (True, False, day.state)


def test_a_long_gap_of_fast_replay_does_not_hold_up_the_screen() -> None:
    day = Day()
    entries = list(day.entries)
    for number in range(2, CHUNK + 102):
        day.tick(0.01)
        beat = ev.Heartbeat()
        entries.append(entries[0].model_copy(update={"number": number, "mono_s": day.mono_s, "event": beat}))
    player = Player(entries)
    player.playing = True
    player.advance(1e9)
    assert player.place == CHUNK + 1
    player.advance(0.0)
    assert player.at_end


def test_speeds_stay_within_their_table() -> None:
    player = Player(Day().entries)
    player.faster(-100)
    assert player.speed == SPEEDS[0] == 0.1
    player.faster(100)
    assert player.speed == SPEEDS[-1] == math.inf


def test_at_a_tenth_of_the_speed_a_second_takes_ten() -> None:
    day = Day()
    day.beat(after_s=1.0)
    player = Player(day.entries)
    player.playing = True
    player.speed_index = SPEEDS.index(0.1)
    player.advance(9.5)
    assert player.place == 1
    player.advance(0.75)
    assert player.place == 2


def test_as_fast_as_it_goes_waits_for_no_clock(day: Day) -> None:
    assert len(day.entries) < CHUNK
    player = Player(day.entries, "digest")
    player.playing = True
    player.speed_index = len(SPEEDS) - 1
    player.advance(0.0)
    assert player.place == 1
    player.advance(0.001)
    assert (player.at_end, shown(player)) == (True, day.state)


# --- seeking ---------------------------------------------------------------------------------------------------------


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(places=st.lists(st.integers(-5, 60), min_size=1, max_size=12), ready=st.booleans())
def test_wherever_it_goes_it_shows_what_the_entries_so_far_come_to(
    day: Day, monkeypatch: pytest.MonkeyPatch, places: list[int], ready: bool
) -> None:
    monkeypatch.setattr(ladder, "LEAST_STEP", 4)
    player = Player(day.entries, "digest")
    if ready:
        player.advance(0.0)
    for place in places:
        player.seek(place)
        assert player.place == min(max(place, 1), player.count)
        assert shown(player) == fold.folded(day.entries[: player.place])
        assert player.snapshot.chain == ("digest" if player.at_end else "")


def test_back_and_forth_by_entries_and_alarms(day: Day) -> None:
    told = [place for place, entry in enumerate(day.entries, 1) if not isinstance(entry.event, ev.Heartbeat)]
    raised = [place for place, entry in enumerate(day.entries, 1) if isinstance(entry.event, ev.AlarmRaised)]
    player = Player(day.entries)
    player.to_end()
    went = []
    while player.place > 1:
        player.step(-1)
        went.append(player.place)
    assert went == [place for place in reversed(told) if place < player.count]
    player.step(-1)
    assert player.place == 1
    player.to_end()
    for place in reversed(raised):
        player.playing = True
        player.next_alarm(-1)
        assert (player.place, player.playing) == (place, False)
    player.next_alarm(-1)
    assert player.place == 1


def joints(player: Player) -> int:
    return len(player.snapshot.state.string.joints)


def test_by_share_time_clock_and_number(day: Day) -> None:
    player = Player(day.entries)
    player.seek_share(0.5)
    assert player.place == 1 + round((player.count - 1) / 2)
    player.seek_share(1.0)
    assert player.at_end
    player.seek_share(0.0)
    assert player.place == 1
    # Twelve joints of a minute each come first.
    player.seek_elapsed(300.0)
    assert [joints(player), player.snapshot.state.elapsed_s] == [5, 300.0]
    player.shift(60.0)
    assert joints(player) == 6
    player.shift(-120.0)
    assert joints(player) == 4
    player.shift(-1e9)
    assert player.place == 1
    player.seek_time(START + timedelta(seconds=659))
    assert joints(player) == 10
    player.seek_time(START + timedelta(seconds=660))  # the very moment of the eleventh
    assert joints(player) == 11
    assert player.seek_number(4) and player.snapshot.state.number == 4
    assert not player.seek_number(10_000) and player.place == 4
    player.seek_time(START + timedelta(days=9))
    assert player.at_end


def test_elapsed_time_runs_on_over_a_restart_as_in_the_fold(day: Day) -> None:
    player = Player(day.entries)
    states = [fold.folded(day.entries[:place]) for place in range(1, len(day.entries) + 1)]
    for state in states:
        player.seek_elapsed(state.elapsed_s)
        assert player.snapshot.state.elapsed_s == state.elapsed_s


def test_the_ladder_is_bounded_and_holds_no_entries_of_its_own() -> None:
    day = Day()
    beat = ev.Heartbeat()
    entries = [day.entries[0]]
    for number in range(2, 40_000):
        event = ev.NoteWritten(text="n") if number % 400 == 0 else beat
        entries.append(entries[0].model_copy(update={"number": number, "mono_s": 1_000.0 + number, "event": event}))
    steps = ladder.Ladder(entries)
    steps.climb(len(entries))
    assert steps.climbed == len(entries)
    assert len(steps._rungs) <= ladder.MOST_RUNGS + 1
    assert not any(rung.state.entries for rung in steps._rungs)
    for place in (1, 2, 157, 158, 20_000, 39_999):
        assert steps.state_at(place) == fold.folded(entries[:place])


# --- alarms ----------------------------------------------------------------------------------------------------------


def looked_through(player: Player) -> list[str]:
    while not player.checked:
        player.advance(0.0)
    return [found.words for found in player.differences]


def test_the_alarms_are_worked_out_anew_and_agree(day: Day) -> None:
    assert looked_through(Player(day.entries)) == []


def test_alarms_stand_in_a_replay_as_they_stood_on_the_day(tmp_path: Path) -> None:
    """Recorded live, with its meter: at every entry the replay has the alarms that the screens had."""
    bench = Bench(tmp_path)
    session = bench.opened(plan(hole={"water_level_m": 5.0}))
    live: dict[int, tuple[Alarm, ...]] = {}

    def note() -> None:
        state = session.snapshot.state
        live[state.number] = state.alarms

    assert isinstance(session.enter(want.StartStage(sure=True)), Saved)
    for second in range(60):
        bench.beat(session, *([20.0 * second] if second < 45 else []))  # past due; then the meter falls silent
        note()
        if second == 50:
            assert isinstance(session.enter(want.AcknowledgeAlarm("returns-overdue", "waited")), Saved)
            note()
    path = session.path
    session.close()
    player = Player(load(path).entries)
    assert looked_through(player) == []
    for number in [*reversed(live), *live]:
        assert player.seek_number(number)
        assert player.snapshot.state.alarms == live[number]
    raised = {alarm.alarm for alarm in player.snapshot.state.alarms}
    assert {"returns-overdue", "no-meter-data"} <= raised
    assert any(alarm.acknowledged_at for alarm in live[max(live)])


def test_a_difference_is_told_with_its_entry(day: Day) -> None:
    raised = next(entry for entry in day.entries if isinstance(entry.event, ev.AlarmRaised))
    assert isinstance(raised.event, ev.AlarmRaised)
    other = raised.model_copy(update={"event": raised.event.model_copy(update={"value": 0.5})})
    entries = [other if entry is raised else entry for entry in day.entries]
    differing = looked_through(Player(entries))
    assert differing == disagreements(entries)
    assert differing[0].startswith(f"entry {raised.number}: “{raised.event.words}” is not called for")


def test_a_difference_is_found_again_by_its_place(day: Day) -> None:
    raised = [place for place, entry in enumerate(day.entries) if isinstance(entry.event, ev.AlarmRaised)]
    entries = [entry for place, entry in enumerate(day.entries) if place != raised[0]]
    player = Player(entries)
    looked_through(player)
    player.next_difference()
    assert player.place == raised[0] + 1  # the entry after the one that is missing
    assert player.difference is not None and "is missing" in player.difference.words
    player.seek(1)
    assert player.difference is None


def test_a_replay_records_nothing(day: Day) -> None:
    player = Player(day.entries)
    outcome = player.submit(want.WriteNote("late")).result(timeout=0)
    assert isinstance(outcome, Refusal)
    assert "nothing is recorded" in outcome.reason
