"""The session core stopped, and made to fail, at every call to the system: what a screen showed as saved is there."""

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.live.loading import load
from tally.live.session import NotSaved, Saved, Session
from tally.record.fault import RecordFault
from tests.live.support import Bench, kept
from tests.record.disk import Disk, Stopped
from tests.record.test_crash import FAULTS
from tests.scenario import JOINT_M, plan

pytestmark = pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="the disk's model looks through /proc")

PLAN = plan(limits={"elevator_n": 3_000.0})
"""A second joint is too heavy for the elevator, so that an alarm follows an entry; a silent meter brings another."""


class Play:
    """A short job: joints, a landing, a stage, a meter that moves, an alarm, an answer. `shown` is what was seen."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.acknowledged: list[int] = []
        self.shown: list[tuple[int, str]] = [(0, "")]
        """Number and digest of each snapshot."""
        self.refused = 0

    def run(self, session: Session, most_tries: int = 3) -> None:
        intents: list[want.Intent] = [
            want.AddJoint(JOINT_M, "5.05 m"),
            want.AddJoint(5.5, "5.50 m", sure=True),
            want.StartStage(sure=True),
            want.SeeReturns("none"),
            want.WriteNote("rain"),
            want.AcknowledgeAlarm("hoist-limit", "stopped"),
        ]
        self.look(session)
        for second, intent in enumerate(intents, start=1):
            self.bench.beat(session, 100.0 + 18.0 * second, 101.0 + 18.0 * second)
            self.look(session)
            for _ in range(most_tries):
                outcome = session.enter(intent)
                self.look(session)
                if isinstance(outcome, Saved):
                    self.acknowledged += outcome.numbers
                if not isinstance(outcome, NotSaved):
                    break
                self.refused += 1
        self.bench.clock.tick(60.0)
        for _ in range(3):
            self.bench.beat(session)
            self.look(session)

    def look(self, session: Session) -> None:
        seen = session.snapshot
        self.shown.append((seen.state.number, seen.chain))


def _stops(folder: Path) -> Iterator[tuple[Disk, Play, Path]]:
    for stop_at in range(1, 400):
        bench = Bench(folder / str(stop_at))
        bench.folder.mkdir()
        play, disk = Play(bench), Disk(stop_at)
        session: Session | None = None
        try:
            with disk.installed():
                session = bench.opened(PLAN)
                play.run(session)
        except Stopped:
            if session is not None:
                play.look(session)
            yield disk, play, bench.folder
        else:
            assert stop_at > 30
            return
        finally:
            if session is not None:
                session.close()


def test_stopped_at_any_call_what_was_shown_as_saved_is_there(tmp_path: Path) -> None:
    stops = 0
    for disk, play, folder in _stops(tmp_path):
        stops += 1
        path = next(folder.glob("*.jsonl"), folder / "none.jsonl")
        for place, found in enumerate(list(disk.may_hold(path))):
            again = folder / f"again-{place}" / path.name
            again.parent.mkdir()
            again.write_bytes(found or b"")
            if not play.shown[-1][0]:
                continue  # nobody was shown anything yet; whatever is there is gone on with, or begun anew
            with Disk().installed():
                _went_on(again, play, found or b"")
    assert stops > 30


def _went_on(path: Path, play: Play, found: bytes) -> None:
    number, chain = play.shown[-1]
    session = Bench(path.parent).resumed(path)
    entries = load(path).entries
    assert entries[number - 1].number == number and f'"chain":"{chain}"'.encode() in found
    assert {entry.number for entry in entries} >= set(play.acknowledged)
    last = max(number, *play.acknowledged, 0)
    written = [entry for entry in entries[last:] if not isinstance(entry.event, ev.SessionResumed)]
    assert len(written) <= 1 or isinstance(written[1].event, ev.AlarmRaised | ev.AlarmCleared)
    assert isinstance(session.enter(want.WriteNote("went on")), Saved)
    kept(session)
    session.close()


@pytest.mark.parametrize("fault", FAULTS)
def test_failing_at_any_call_costs_nothing_and_repeats_nothing(fault: str, tmp_path: Path) -> None:
    """Every call fails in turn, and again two calls later; the operator enters what was not saved once more."""
    refused = 0
    expected = {
        ev.SessionOpened: 1, ev.MeterChanged: 1, ev.JointAdded: 2, ev.StageStarted: 1, ev.ReturnsSeen: 1,
        ev.NoteWritten: 1, ev.AlarmAcknowledged: 1, ev.AlarmRaised: 3, ev.Heartbeat: 10,
    }  # fmt: skip
    for call in range(1, 50, 1 if fault == "EIO" else 4):
        bench = Bench(tmp_path / f"{call}")
        bench.folder.mkdir()
        play, disk = Play(bench), Disk(faults={call: fault, call + 2: fault})
        with disk.installed():
            try:
                session = bench.opened(PLAN)
            except RecordFault:
                assert not list(bench.folder.glob("*.jsonl"))  # nothing was begun, and nothing is left of it
                continue
            play.run(session)
            disk.faults = {}
            bench.beat(session)
            refused += play.refused
            session.close()
        entries = kept(session)
        kinds = Counter(type(entry.event) for entry in entries if "record-interrupted" not in str(entry.event))
        told = kinds.pop(ev.RecordDisturbed, 0)
        assert kinds == expected, call
        assert (told > 0) >= (play.refused > 0), "what could not be saved for a while is told"
        assert session.snapshot.trouble == ""
        assert session.snapshot.state.flow.metered_m3 == pytest.approx(0.091)
    assert refused > 1
