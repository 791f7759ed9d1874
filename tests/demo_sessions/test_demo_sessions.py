"""Every demo session through the real code: whole, its alarms recomputed, report and alarms as expected, the raw log
decoded again to what was recorded.
"""

from pathlib import Path
from typing import Any

import pytest

from tally import cli
from tally.job import events as ev
from tally.job.alarms.replay import disagreements
from tally.job.plan import Plan
from tally.live.instruments import dialect
from tally.live.loading import Loaded, load
from tally.live.player import Player
from tally.meters.decoder import Decoder
from tally.planfile import read
from tally.record.raw_log import read_raw
from tally.record.verify import verify
from tests.demo_sessions.build import FOLDER, expected

NAMES = sorted(path.name for path in FOLDER.iterdir() if path.is_dir())


@pytest.fixture(scope="module", params=NAMES)
def name(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def loaded(name: str) -> Loaded:
    return load(FOLDER / name / "session.jsonl")


def test_the_folder_is_complete(name: str) -> None:
    present = {path.name for path in (FOLDER / name).iterdir()}
    assert {"ABOUT.md", "plan.toml", "session.jsonl", "session.raw", "report.md", "alarms.txt"} <= present


def test_the_session_is_whole(name: str, loaded: Loaded) -> None:
    verdict = verify(FOLDER / name / "session.jsonl")
    assert verdict.whole and not loaded.damaged
    assert verdict.lines == len(loaded.entries) == loaded.state.number


def test_its_plan_is_the_plan_file(name: str, loaded: Loaded) -> None:
    first = loaded.entries[0].event
    assert isinstance(first, ev.SessionOpened)
    planned = read(FOLDER / name / "plan.toml")
    assert isinstance(planned, Plan)
    # a plan file is read into more than a session knew that was recorded before: whatever that says must be the same
    assert said_within(first.plan.model_dump(exclude_defaults=True), planned.model_dump())
    assert planned.job.invented


def said_within(less: Any, more: Any) -> bool:
    if isinstance(less, dict):
        return all(key in more and said_within(value, more[key]) for key, value in less.items())
    if isinstance(less, tuple):
        return len(less) == len(more) and all(map(said_within, less, more))
    return bool(less == more)


def test_alarms_come_out_as_they_were_recorded(name: str, loaded: Loaded) -> None:
    raised = any(isinstance(entry.event, ev.AlarmRaised) for entry in loaded.entries)
    assert raised == (name != "one-clean-day")
    assert disagreements(loaded.entries) == []


def test_report_and_alarms_are_those_expected(name: str) -> None:
    """pinned: rebuilt with `python -m tests.demo_sessions.build --expected`, after reading the difference."""
    for file, text in expected(name).items():
        assert text == (FOLDER / name / file).read_text(encoding="utf-8"), file


def test_a_replay_ends_in_the_same_state(loaded: Loaded) -> None:
    player = Player(loaded.entries)
    player.to_end()
    assert player.snapshot.state == loaded.state


def test_the_raw_log_decodes_to_the_recorded_totals(name: str, loaded: Loaded) -> None:
    meter = loaded.state.plan.meter
    assert meter is not None
    decoder = Decoder("grout", dialect(meter))
    decoded = [
        round(reading.value, 9)
        for chunk in read_raw(FOLDER / name / "session.raw")
        for reading in decoder.feed(chunk.mono_s, chunk.data)
        if reading.quantity == "total_m3"
    ]
    recorded = [
        value
        for entry in loaded.entries
        if isinstance(entry.event, ev.Heartbeat)
        for samples in entry.event.samples
        if samples.quantity == "total_m3"
        for value in samples.values
    ]
    # The recorder leaves out at most the last second before it is switched off.
    assert len(decoded) - len(recorded) <= loaded.state.runs
    assert set(recorded) <= set(decoded)


def test_the_commands_read_it(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    session = str(FOLDER / name / "session.jsonl")
    assert cli.main(["check", session]) == 0
    assert cli.main(["replay", "--text", session]) == 0
    assert "agree with those worked out anew" in capsys.readouterr().out
    out = tmp_path / "report.md"
    assert cli.main(["report", session, "-o", str(out)]) == 0
    assert out.read_bytes() == (FOLDER / name / "report.md").read_bytes()
