"""A replay shows what was live: the same state after the same entry."""

import pytest

from tally.job import events as ev
from tally.job import fold
from tally.job import intents as want
from tally.job.decide.refusal import Refusal
from tally.live.player import CHUNK, SPEEDS, Player
from tests.scenario import Day, grouting_day


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
    assert player.speed == SPEEDS[0] == 1
    player.faster(100)
    assert player.speed == SPEEDS[-1]


def test_a_replay_records_nothing(day: Day) -> None:
    player = Player(day.entries)
    outcome = player.submit(want.WriteNote("late")).result(timeout=0)
    assert isinstance(outcome, Refusal)
    assert "nothing is recorded" in outcome.reason
