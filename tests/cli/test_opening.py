"""From a command to the working screens on a real terminal: the first frame, and leaving, failing, typing before it."""

import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest

from tally.cli import main
from tally.record.lock import recorded_by
from tally.screens.opening import Frame
from tally.screens.places import Work
from tally.screens.preparing import Left, Preparation
from tests.live.small_job import plan_text
from tests.test_cli import contents, written
from tests.test_main_job import entries, kinds, saved

if os.name != "posix":
    pytest.skip("needs pseudo-terminals", allow_module_level=True)
from tests.live.terminal import Terminal
from tests.screens.days import DAYS

LEAVES_S = 2.0
NOTHING = "Left before anything was recorded."


@pytest.fixture
def pipe(tmp_path: Path) -> Path:
    """A plan file that is not read to its end before somebody writes it."""
    path = tmp_path / "plan.toml"
    os.mkfifo(path)
    return path


def write(pipe: Path, text: str) -> None:
    with pipe.open("w", encoding="utf-8") as file:
        file.write(text)


def in_order(text: str, *words: str) -> bool:
    places = [text.find(word) for word in words]
    return -1 not in places and places == sorted(places)


def test_the_frame_then_the_working_screen(tmp_path: Path, pipe: Path) -> None:
    with Terminal("run", "plan.toml", home=tmp_path) as terminal:
        assert terminal.shows("reading the plan plan.toml …"), terminal.text
        assert terminal.shows("F9 leave"), terminal.text
        assert in_order(terminal.text, "plan.toml", "not recording yet", "alarms", "reading", "▸", "F9 leave")
        assert not (tmp_path / "sessions").is_dir() or not entries(tmp_path / "sessions")
        write(pipe, plan_text("none"))
        assert terminal.shows("SHOE DEPTH"), terminal.text
        terminal.keys("F9")
        assert terminal.shows("Stop recording?")
        terminal.keys("1")
        assert terminal.ended(20.0) == 0
        terminal.settled()
        assert terminal.left.startswith("Saved in "), terminal.left


def test_what_is_typed_while_it_loads_is_kept_and_waits_for_its_enter(tmp_path: Path, pipe: Path) -> None:
    folder = tmp_path / "sessions"
    with Terminal("run", "plan.toml", home=tmp_path) as terminal:
        assert terminal.shows("reading the plan")
        terminal.keys("5.2\r")
        assert terminal.shows("press Enter again"), terminal.text
        write(pipe, plan_text("none"))
        assert terminal.shows("typed while it was opened"), terminal.text
        assert not kinds(folder, "JointAdded")
        saved(terminal, folder, "JointAdded", 1, "0\r")
    assert [event["typed"] for event in kinds(folder, "JointAdded")] == ["5.20 m"]


def test_a_plan_with_mistakes_is_told_when_the_terminal_is_free_again(tmp_path: Path, pipe: Path) -> None:
    with Terminal("run", "plan.toml", home=tmp_path) as terminal:
        assert terminal.shows("reading the plan")
        terminal.keys("5")
        write(pipe, plan_text("none").replace('"200 mm"', '"100 mm"').replace('"8 t"', '"8"'))
        assert terminal.ended(20.0) == 2
        terminal.settled()
        said = " ".join(terminal.left.split())
        assert said.startswith("tally: plan.toml has 2 mistakes; nothing was started:"), terminal.text
        assert said.count("accepted:") == 2
    assert not list(tmp_path.rglob("*.jsonl"))


@pytest.mark.parametrize("key", ["F9", "\x03"])
@pytest.mark.parametrize("command", ["run", "watch"])
def test_leaving_while_it_loads_takes_under_two_seconds_and_records_nothing(
    tmp_path: Path, pipe: Path, command: str, key: str
) -> None:
    """A plan that a hanging disk does not give, and a session that nobody has begun."""
    with Terminal(command, "plan.toml" if command == "run" else "later.jsonl", home=tmp_path) as terminal:
        assert terminal.shows("reading the plan" if command == "run" else "waiting for it"), terminal.text
        terminal.keys("5", key)
        assert terminal.ended(LEAVES_S) == 0, "still running after two seconds"
        terminal.settled()
        assert terminal.left.strip() == (NOTHING if command == "run" else "")
    assert not list(tmp_path.rglob("*.jsonl*"))


def test_the_demonstration_left_at_once_leaves_nothing_running(tmp_path: Path) -> None:
    with Terminal("demo", home=tmp_path) as terminal:
        assert terminal.shows("not recording yet"), terminal.text
        terminal.keys("F9")
        # Where it was quicker than the key, it is a demonstration under way, and asks.
        if terminal.ended(LEAVES_S) is None:
            assert terminal.shows("Stop recording?")
            terminal.keys("1")
        assert terminal.ended(LEAVES_S) == 0
    assert all(not recorded_by(path) for path in tmp_path.rglob("*.jsonl"))


@pytest.mark.parametrize(
    ("command", "content", "words"),
    [(command, "dig\n" * 30, "not a session") for command in ("run", "replay", "watch")]
    + [(command, None, "no such file") for command in ("run", "replay")],  # a watcher waits for it
)
def test_what_cannot_be_opened_is_told_in_the_same_words_by_every_command(
    tmp_path: Path, command: str, content: str | None, words: str
) -> None:
    if content is not None:
        (tmp_path / "day.jsonl").write_text(content, encoding="utf-8")
    with Terminal(command, "day.jsonl", home=tmp_path) as terminal:
        assert terminal.ended(20.0) == 2, terminal.text
        terminal.settled()
        assert terminal.left.startswith("tally: "), terminal.text
        assert words in " ".join(terminal.left.split())


def test_a_damaged_session_is_refused_and_its_replay_tells_the_damage_at_the_end(tmp_path: Path) -> None:
    path = tmp_path / "day.jsonl"
    written(path, DAYS["casing"]())
    lines = path.read_bytes().split(b"\n")
    path.write_bytes(b"\n".join([lines[0], lines[1].replace(b'"who"', b'"woh"'), *lines[2:]]))
    with Terminal("run", "day.jsonl", home=tmp_path) as terminal:
        assert terminal.ended(20.0) == 2, terminal.text
        terminal.settled()
        assert "is damaged and is not recorded on (line 2" in " ".join(terminal.left.split())
    with Terminal("replay", "day.jsonl", home=tmp_path) as terminal:
        assert terminal.shows("SHOE DEPTH"), terminal.text
        terminal.keys("F9")
        assert terminal.ended(20.0) == 0
        terminal.settled()
        assert terminal.left.startswith("tally: line 2"), terminal.left


# --- left at every step ----------------------------------------------------------------------------------------------


class LeftAt(Preparation):
    """The crew leaves at the `last` question whether it is still there."""

    def __init__(self, last: int) -> None:
        super().__init__(lambda _: pytest.fail("not run here"), "")
        self._last, self.asked = last, 0

    def heed(self) -> None:
        self.asked += 1
        if self.asked >= self._last:
            raise Left


def opened(monkeypatch: pytest.MonkeyPatch, preparation: Preparation, *command: str) -> bool:
    """Has `command` opened on no screen at all; whether it was before the crew left."""
    done: list[Work] = []

    def shown(_: str, __: Frame, make: Callable[[Preparation], AbstractContextManager[Work]], ___: Any) -> int:
        try:
            with make(preparation) as work:
                done.append(work)
        except Left:
            return 0
        return 0

    monkeypatch.setattr("tally.cli.run.shown", shown)
    monkeypatch.setattr("tally.cli.run.terminal", lambda: True)
    assert main([*command]) == 0
    return bool(done)


def steps(monkeypatch: pytest.MonkeyPatch, *command: str) -> Iterator[bool]:
    """The same with the crew leaving at the first question, at the second, and so on until it is there at the end."""
    there = False
    for last in range(1, 200):
        there = opened(monkeypatch, LeftAt(last), *command)
        yield there
        if there:
            return
    raise AssertionError("it was never opened")


def test_a_new_session_is_begun_whole_or_not_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "plan.toml").write_text(plan_text("none"), encoding="utf-8")
    folder = tmp_path / "sessions"
    left = 0
    for there in steps(monkeypatch, "run", str(tmp_path / "plan.toml"), "--folder", str(folder)):
        found = list(folder.glob("*.jsonl")) if folder.is_dir() else []
        assert bool(found) == there
        left += not there
    assert left >= 2, "the crew was never asked"
    (session,) = folder.glob("*.jsonl")
    assert main(["check", str(session)]) == 0
    assert not recorded_by(session)


@pytest.mark.parametrize("named", [True, False], ids=["by its name", "the newest"])
def test_a_session_is_taken_up_whole_or_left_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named: bool
) -> None:
    session = tmp_path / "2026-05-12-old.jsonl"
    written(session, DAYS["casing"]())
    with session.open("ab") as file:
        file.write(b'{"number":99,"at"')  # a torn tail, which taking it up would cut off
    before = session.read_bytes()
    left = 0
    for there in steps(monkeypatch, "run", *([str(session)] if named else []), "--folder", str(tmp_path)):
        assert (session.read_bytes() == before) == (not there)
        assert not recorded_by(session)
        left += not there
    assert left >= before.count(b"\n"), "it could not be left at every entry"
    assert main(["check", str(session)]) == 0
    assert set(contents(tmp_path)) >= {session.name}
