"""`tally run --mirror`: the second copy on the top line of the screen, and in the last words."""

import os
from pathlib import Path

import pytest

from tests.live.small_job import plan_text

if os.name != "posix":
    pytest.skip("needs pseudo-terminals", allow_module_level=True)
from tests.live.terminal import Terminal
from tests.meters.support import wait_until


def test_the_second_copy_is_told_while_recording_and_at_the_end(tmp_path: Path) -> None:
    plan, folder, stick = tmp_path / "plan.toml", tmp_path / "sessions", tmp_path / "stick"
    plan.write_text(plan_text(str(tmp_path / "no-such-port")), encoding="utf-8")
    where = ("--folder", str(folder), "--mirror", str(stick))
    with Terminal("run", str(plan), *where, home=tmp_path, columns=120) as terminal:
        assert terminal.shows("copy missing"), terminal.text[-2000:]
        assert not stick.exists()
        stick.mkdir()
        assert terminal.shows("copied"), terminal.text[-2000:]
        terminal.keys("F9")
        assert terminal.shows("Stop recording?")
        terminal.keys("1")
        assert terminal.ended(10.0) == 0, terminal.text[-2000:]
        assert terminal.shows("on the same disk as the session")
    (session,) = folder.glob("*.jsonl")
    assert wait_until(lambda: (stick / session.name).read_bytes() == session.read_bytes(), 5.0)


def test_the_folder_of_the_sessions_is_no_place_for_the_copy(tmp_path: Path) -> None:
    plan = tmp_path / "plan.toml"
    plan.write_text(plan_text("none"), encoding="utf-8")
    with Terminal("run", str(plan), "--folder", str(tmp_path), "--mirror", str(tmp_path), home=tmp_path) as terminal:
        assert terminal.ended(20.0) == 2
        assert terminal.shows("name a folder on another disk")
    assert not list(tmp_path.glob("*.jsonl"))
