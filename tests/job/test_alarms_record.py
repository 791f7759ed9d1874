"""What befalls the record itself: told just past its limit, in words, and standing until it is answered."""

import pytest

from tally.job import events as ev
from tally.job.alarms.due import CLEAR_AFTER_S, due
from tally.job.alarms.replay import disagreements
from tally.job.view import log
from tests.scenario import Day


def disturbed(what: str, seconds: float) -> Day:
    day = Day(alarms=True)
    day.record(ev.RecordDisturbed.model_validate({"what": what, "seconds": seconds, "why": "[/] the disk is full"}))
    return day


@pytest.mark.parametrize(
    ("what", "alarm", "limit_s"),
    [
        ("clock jumped", "clock-jumped", 2.0),
        ("slow disk", "disk-slow", 2.0),
        ("not written", "record-interrupted", 0.0),
    ],
)
def test_what_lasts_is_told_past_its_limit(what: str, alarm: str, limit_s: float) -> None:
    assert disturbed(what, limit_s).state.alarms == ()
    day = disturbed(what, limit_s + 0.1)
    (raised,) = day.state.alarms
    assert (raised.alarm, raised.limit) == (alarm, limit_s)
    assert raised.value == pytest.approx(limit_s + 0.1)
    day.quiet(CLEAR_AFTER_S + 0.1)
    assert not day.state.alarms[0].active and day.state.alarms[0].standing
    assert due(day.state) == [] and disagreements(day.entries) == []


def test_a_clock_that_goes_back_is_told_as_well() -> None:
    day = disturbed("clock jumped", -3600.0)
    assert day.state.alarms[0].value == 3600.0
    assert "jumped back by {0}" in log.log(day.state)[1].sentence.text


@pytest.mark.parametrize("what", ["file moved", "file put back"])
def test_a_file_that_was_moved_or_deleted_is_told_each_time(what: str) -> None:
    day = disturbed(what, 0.0)
    day.record(ev.AlarmAcknowledged(alarm="session-moved", done="moved it back"))
    day.quiet(10.0)
    day.record(ev.RecordDisturbed.model_validate({"what": what}))
    assert [alarm.value for alarm in day.state.alarms] == [1.0, 2.0]
    assert what in log.log(day.state)[1].sentence.text


def mended(lost: int) -> Day:
    day = Day(alarms=True)
    day.joint()
    day.tick(600.0)
    event = ev.SessionMended(
        program="1", damaged="a.jsonl", digest="0" * 64, lines="3", aside="a-mended.damaged", lost=lost, by="E"
    )
    day.record(event)
    return day


def test_a_mended_session_says_how_many_entries_are_missing() -> None:
    assert mended(0).state.alarms == ()
    day = mended(3)
    (raised,) = day.state.alarms
    assert (raised.alarm, raised.severity, raised.value) == ("record-mended", "stop-and-look", 3.0)
    assert day.state.elapsed_s == pytest.approx(660.0), "the time until it was mended has passed"


def test_numbers_go_on_after_what_was_lost() -> None:
    day = Day()
    lost = day.entry(ev.EntriesLost(through=7))
    day.record(lost.event)
    assert day.state.number == 7
    assert "up to entry 7" in log.log(day.state)[-1].sentence.text
