"""A second copy beside the record: it follows, goes missing and comes back, and never holds the recorder up."""

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from tally.job import intents as want
from tally.live.mirror import Mirror
from tally.live.session import Saved, Session
from tally.record.verify import verify
from tests.live.support import Bench, kept
from tests.meters.support import wait_until

NOTE = want.WriteNote("rain")


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    folder = tmp_path / "stick"
    folder.mkdir()
    return folder


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    (tmp_path / "sessions").mkdir()
    return Bench(tmp_path / "sessions")


@pytest.fixture
def session(bench: Bench) -> Iterator[Session]:
    session = bench.opened()
    yield session
    session.close()


def same(session: Session, folder: Path) -> bool:
    path = folder / session.path.name
    return path.exists() and path.read_bytes() == session.path.read_bytes()


def test_the_copy_follows_and_is_whole_at_the_end(session: Session, bench: Bench, stick: Path) -> None:
    mirror = Mirror(stick)
    session.copy_to(mirror)
    for _ in range(5):
        assert isinstance(session.enter(NOTE), Saved)
    assert wait_until(lambda: same(session, stick), 20.0)
    bench.beat(session)
    session.close()
    assert mirror.complete and same(session, stick)
    verdict = verify(stick / session.path.name, session.snapshot.chain)
    assert verdict.whole and verdict.reached == verdict.last == session.snapshot.state.number


def test_a_stick_that_goes_and_comes_back_stops_nothing(session: Session, bench: Bench, stick: Path) -> None:
    session.copy_to(Mirror(stick))
    assert wait_until(lambda: same(session, stick), 20.0)
    bench.beat(session)
    assert session.snapshot.copy == "copied"
    away = stick.rename(stick.with_name("away"))
    for _ in range(12):
        bench.beat(session)

    def said(words: str) -> bool:
        bench.beat(session)
        return session.snapshot.copy == words

    assert wait_until(lambda: said("copy missing"), 20.0)
    assert not stick.exists(), "a stick that is not there must not become a folder"
    assert isinstance(session.enter(NOTE), Saved)
    assert session.snapshot.trouble == ""
    away.rename(stick)
    assert wait_until(lambda: said("copied") and same(session, stick), 20.0)
    kept(session)


def test_a_stick_that_hangs_never_holds_the_recorder_up(session: Session, stick: Path) -> None:
    mirror, gate, reached = Mirror(stick), threading.Event(), threading.Event()
    step = mirror.step

    def hangs() -> None:
        reached.set()
        assert gate.wait(60.0)
        step()

    mirror.step = hangs  # type: ignore[method-assign]
    session.copy_to(mirror)
    assert reached.wait(20.0)
    for _ in range(12):
        assert isinstance(session.enter(NOTE), Saved)
    assert session.snapshot.copy == "copy 13 behind"
    gate.set()
    assert wait_until(lambda: mirror.complete, 20.0)


def test_a_folder_that_is_the_sessions_own_is_refused_and_harms_nothing(session: Session, bench: Bench) -> None:
    mirror = Mirror(bench.folder)
    session.copy_to(mirror)
    assert wait_until(lambda: "the session itself" in mirror.why, 20.0)
    assert isinstance(session.enter(NOTE), Saved)
    assert len(kept(session)) == 2


def test_a_bug_in_the_copying_is_told_and_costs_nothing(session: Session, stick: Path) -> None:
    mirror = Mirror(stick)

    def bug() -> None:
        raise ZeroDivisionError

    mirror.step = bug  # type: ignore[method-assign]
    session.copy_to(mirror)
    assert wait_until(lambda: "ZeroDivisionError" in mirror.why, 20.0)
    assert isinstance(session.enter(NOTE), Saved)
    assert "behind" in session.snapshot.copy
