"""What is made ready in a thread: begun and left as a whole, whenever the crew leaves."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from tally.screens import preparing
from tally.screens.preparing import Left, Preparation
from tests.meters.support import wait_until

WORK: Any = object()
"""Stands for a session that was opened."""


class Held:
    """Notes when what is made ready is begun and left; waits in between where it is told to."""

    def __init__(self, *, waits: bool = False, raises: Exception | None = None) -> None:
        self.goes_on, self.reached = threading.Event(), threading.Event()
        self.did: list[str] = []
        self._raises = raises
        if not waits:
            self.goes_on.set()

    @contextmanager
    def make(self, preparation: Preparation) -> Iterator[Any]:
        preparation.step("reading")
        self.reached.set()
        assert self.goes_on.wait(20.0)
        if self._raises is not None:
            raise self._raises
        preparation.heed()
        self.did.append("begun")
        try:
            preparation.step("opening", "another name")
            yield WORK
        finally:
            self.did.append("left")


def started(held: Held) -> Preparation:
    preparation = Preparation(held.make, "a name")
    preparation.start(bool)
    return preparation


def test_each_step_is_told_and_the_work_is_left_at_the_end() -> None:
    held, told = Held(), []
    preparation = Preparation(held.make, "a name")
    preparation.start(lambda: told.append((preparation.words, preparation.name, preparation.work)))
    assert wait_until(lambda: preparation.work is WORK and len(told) == 3)
    assert told == [("reading", "a name", None), ("opening", "another name", None), ("opening", "another name", WORK)]
    assert held.did == ["begun"]
    preparation.end()
    assert held.did == ["begun", "left"]


def test_whoever_leaves_before_it_is_begun_has_it_never_begun() -> None:
    held = Held(waits=True)
    preparation = started(held)
    assert held.reached.wait(20.0)
    preparation.leave()
    held.goes_on.set()
    preparation.end()
    assert (preparation.work, preparation.fault, held.did) == (None, None, [])


def test_whoever_leaves_while_it_is_begun_has_it_left_again() -> None:
    held = Held()
    preparation = Preparation(held.make, "a name")
    preparation.start(lambda: preparation.leave() if held.did else None)  # as soon as it is told that it was begun
    assert wait_until(lambda: preparation.work is WORK)
    preparation.end()
    assert held.did == ["begun", "left"]


def test_whoever_has_left_has_nothing_written_any_more() -> None:
    preparation = Preparation(Held().make, "a name")
    with preparation.touching():
        preparation.leave()  # too late: it is being written, and is done as a whole
    with pytest.raises(Left), preparation.touching():
        raise AssertionError("entered")


def test_a_wait_ends_when_the_crew_leaves() -> None:
    @contextmanager
    def make(preparation: Preparation) -> Iterator[Any]:
        preparation.step("waiting")
        preparation.wait(3600.0)
        yield WORK

    preparation = Preparation(make, "a name")
    told = threading.Event()
    preparation.start(told.set)
    assert told.wait(20.0)
    preparation.end()
    assert not preparation._thread.is_alive()
    assert preparation.work is None


def test_what_went_wrong_is_kept_for_whoever_gave_the_command() -> None:
    fault = OSError("no such file")
    preparation = started(Held(raises=fault))
    assert wait_until(lambda: preparation.fault is fault)
    preparation.end()


def test_what_hangs_does_not_keep_anybody(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(preparing, "PATIENCE_S", 0.01)
    held = Held(waits=True)
    preparation = started(held)
    assert held.reached.wait(20.0)
    preparation.end()  # with the thread still at it
    assert preparation._thread.is_alive()
    held.goes_on.set()
    preparation._thread.join(20.0)
    assert held.did == []


def test_what_was_never_started_ends_all_the_same() -> None:
    held = Held()
    Preparation(held.make, "a name").end()
    assert held.did == []
