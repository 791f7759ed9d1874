"""The commands as a shell starts them: what each prints, and how it refuses what is wrong."""

import contextlib
import io
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tally.cli import main
from tally.job import events as ev
from tally.job.coding import encoded
from tally.job.plan import Plan
from tally.live.clock import SystemClock
from tally.live.instruments import grout_meter
from tally.live.recorder import Recorder
from tally.planfile import example, read
from tally.record.folder import slug
from tests.live.small_job import plan_text
from tests.record.sessions import chained
from tests.scenario import Day, grouting_day, plan

ROOT = Path(__file__).resolve().parents[1]
posix = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "home").mkdir()
    monkeypatch.setenv("TALLY_HOME", str(tmp_path / "home" / "sessions"))
    return tmp_path / "home"


def tally(home: Path, *arguments: str, **variables: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", "tally", *arguments],
        capture_output=True,
        encoding="utf-8",
        cwd=home,
        env={**os.environ, "PYTHONPATH": str(ROOT), "TALLY_HOME": str(home / "sessions"), **variables},
        stdin=subprocess.DEVNULL,
        timeout=60,
        check=False,
    )


def here(home: Path, *arguments: str) -> "subprocess.CompletedProcess[str]":
    """The same without a process of its own, which takes a hundred times as long: for the many rows of a table."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    with contextlib.chdir(home), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            code: object = main(arguments)
        except SystemExit as ended:
            code = ended.code
        out.flush()
        err.flush()
    told, wrong = (each.buffer.getvalue().decode("utf-8") for each in (out, err))
    return subprocess.CompletedProcess(arguments, code if isinstance(code, int) else 0, told, wrong)


def refused(home: Path, *arguments: str, alone: bool = False) -> str:
    """What a refusal says: exit 2, nothing on standard output, no traceback, nothing written.

    `alone` asks a process of its own.
    """
    before = contents(home)
    done = tally(home, *arguments) if alone else here(home, *arguments)
    assert (done.returncode, done.stdout) == (2, ""), done
    assert done.stderr.startswith("tally: "), done.stderr
    assert "Traceback" not in done.stderr
    assert contents(home) == before
    return done.stderr


def contents(home: Path) -> dict[str, bytes]:
    return {str(path.relative_to(home)): path.read_bytes() for path in home.rglob("*") if path.is_file()}


def written(path: Path, day: Day) -> Path:
    path.write_bytes(b"".join(chained(tuple(encoded(entry) for entry in day.entries))))
    return path


@pytest.fixture
def session(home: Path) -> Path:
    """A stage that pumped 100 L without returns, its alarm included."""
    day = grouting_day(plan(hole={"water_level_m": 2.0}), alarms=True)
    day.batch()
    day.pump(0.4, seconds=20)
    return written(home / "day.jsonl", day)


# --- plan ------------------------------------------------------------------------------------------------------------


def test_the_example_is_a_plan_that_reads(home: Path) -> None:
    printed = tally(home, "plan", "--example")
    assert (printed.returncode, printed.stderr) == (0, "")
    assert printed.stdout == example()
    (home / "plan.toml").write_text(printed.stdout, encoding="utf-8")
    told = tally(home, "plan", "plan.toml")
    assert (told.returncode, told.stderr) == (0, "")
    assert "Upper Meadow, well 2" in told.stdout
    us = here(home, "plan", "plan.toml", "--units", "us")
    assert us.returncode == 0
    assert us.stdout != told.stdout


def test_json_has_the_unit_in_every_key_of_a_number(home: Path) -> None:
    (home / "plan.toml").write_text(example(), encoding="utf-8")
    printed = tally(home, "plan", "plan.toml", "--json")
    assert (printed.returncode, printed.stderr) == (0, "")
    bare = {key for key, value in _numbers(json.loads(printed.stdout)) if isinstance(value, float) and "_" not in key}
    assert bare - {"share", "factor", "ratio"} == set()  # these have none


def _numbers(value: object, key: str = "") -> Iterator[tuple[str, object]]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _numbers(inner, name)
    elif isinstance(value, list):
        for inner in value:
            yield from _numbers(inner, key)
    else:
        yield key, value


WRONG_PLANS = {
    "an unknown unit": ('outer_diameter = "114.3 mm"', 'outer_diameter = "114.3 cubits"', "cubits"),
    "a bare number": ('outer_diameter = "114.3 mm"', "outer_diameter = 114.3", "114.3"),
    "a bare number as text": ('outer_diameter = "114.3 mm"', 'outer_diameter = "114.3"', "114.3"),
    "a casing larger than the hole": ('diameter = "200 mm"', 'diameter = "100 mm"', "does not fit"),
    "overlapping sections": (
        "[casing]",
        '[[hole.section]]\nfrom = "9 m"\nto = "12 m"\ndiameter = "180 mm"\n\n[casing]',
        "overlaps",
    ),
    "a negative length": ('rack = ["5.20 m"', 'rack = ["-5.20 m"', "-5.2"),
    "an absurd length": ('rack = ["5.20 m"', 'rack = ["5200 m"', "5200"),
    "not a number": ('diameter = "200 mm"', 'diameter = "nan mm"', "nan"),
    "not a number, bare": ('diameter = "200 mm"', "diameter = nan", "nan"),
}


@pytest.mark.parametrize("row", WRONG_PLANS)
def test_a_wrong_plan_is_refused_with_line_key_and_what_is_accepted(home: Path, row: str) -> None:
    good, bad, words = WRONG_PLANS[row]
    text = plan_text("/dev/none")
    assert good in text
    wrong = text.replace(good, bad, 1)
    (home / "plan.toml").write_text(wrong, encoding="utf-8")
    said = refused(home, "plan", "plan.toml", alone=row == "an unknown unit")
    assert words in said
    assert "accepted: " in said
    line = next(number for number, each in enumerate(wrong.splitlines(), 1) if bad.splitlines()[-1] in each)
    assert "plan.toml line " in said
    told = [int(part.split(",")[0]) for part in said.split("plan.toml line ")[1:]]
    assert any(abs(number - line) <= 6 for number in told), (line, said)


def test_all_mistakes_are_told_at_once(home: Path) -> None:
    text = plan_text("/dev/none").replace('"200 mm"', '"200"').replace("bags = 40", "bags = -1").replace('"8 t"', "8")
    (home / "plan.toml").write_text(text, encoding="utf-8")
    said = refused(home, "plan", "plan.toml")
    assert "3 mistakes; nothing was started" in said
    assert all(key in said for key in ("diameter", "aboard.bags", "limits.hoist"))


@pytest.mark.parametrize(
    ("name", "words"),
    [("missing.toml", "No such file"), (".", "folder"), ("latin.toml", "UTF-8"), ("text.toml", "not TOML")],
)
def test_what_is_no_plan_file_is_refused(home: Path, name: str, words: str) -> None:
    (home / "latin.toml").write_bytes(b'[job]\nname = "Gr\xfcn"\n')
    (home / "text.toml").write_text("dig a hole\n", encoding="utf-8")
    assert words.lower() in refused(home, "plan", name).lower()


def test_plan_without_a_file_says_how_to_begin(home: Path) -> None:
    assert "tally plan --example" in refused(home, "plan")


# --- a session that was recorded -------------------------------------------------------------------------------------


def test_replay_as_text_ends_with_whether_the_alarms_agree(home: Path, session: Path) -> None:
    done = tally(home, "replay", "--text", session.name)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Test hole 1" in done.stdout.splitlines()[0]
    assert "3 alarms recorded; they agree" in done.stdout
    # Without a terminal there are no screens to show it on.
    assert tally(home, "replay", session.name).stdout == done.stdout


def test_replay_says_which_alarm_is_missing(home: Path) -> None:
    day = grouting_day(plan(hole={"water_level_m": 2.0}))
    day.batch()
    day.pump(0.4, seconds=20)
    done = here(home, "replay", "--text", written(home / "silent.jsonl", day).name)
    assert done.returncode == 1
    assert "ALARM DIFFERS" in done.stdout
    assert "“Returns overdue” is missing" in done.stdout


def test_a_what_if_says_so_on_every_line_and_touches_nothing(home: Path) -> None:
    day = grouting_day(plan(casing={"shoe": "float"}), alarms=True)
    day.pump(0.9, seconds=90)
    path = written(home / "day.jsonl", day)
    before = contents(home)
    supposed = ("--allowance", "100%", "--spread", "0%", "--tolerance", "3 %", "--k-factor", "50/48")
    done = here(home, "replay", "--text", path.name, *supposed)
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert all(line.startswith("WHAT-IF ") for line in lines)
    assert "allowance 100 %, spread 0 %, meter tolerance 3 %, metered volume × 1.042" in lines[0]
    assert any("Returns overdue: recorded 12:13:" in line and line.endswith("WHAT-IF not raised") for line in lines)
    assert "recorded, " in lines[-1] and "moved, new or gone" in lines[-1]
    assert contents(home) == before


@pytest.mark.parametrize(
    ("option", "given"),
    [("--allowance", "25"), ("--allowance", "600%"), ("--spread", "-1%"), ("--tolerance", "x%"),
     ("--tolerance", "101%"), ("--k-factor", "50"), ("--k-factor", "50/0"), ("--k-factor", "50/4"),
     ("--k-factor", "nan/nan")],
)  # fmt: skip
def test_a_supposition_that_is_none_is_refused(home: Path, option: str, given: str) -> None:
    done = here(home, "replay", "--text", "x.jsonl", f"{option}={given}")
    assert done.returncode == 2
    assert f"given {given}; " in done.stderr and "accepted" in done.stderr


def test_a_supposition_about_a_meter_needs_one(home: Path) -> None:
    path = written(home / "dry.jsonl", Day(plan(meter=None)))
    assert "this job had none" in refused(home, "replay", path.name, "--k-factor", "50/48")


def test_the_report_is_the_same_bytes_on_the_output_and_in_a_file(home: Path, session: Path) -> None:
    printed = tally(home, "report", session.name)
    assert (printed.returncode, printed.stderr) == (0, "")
    saved = tally(home, "report", session.name, "-o", "day.md", PYTHONIOENCODING="ascii", LC_ALL="C")
    assert (saved.returncode, saved.stdout) == (0, "written to day.md\n")
    assert (home / "day.md").read_bytes() == printed.stdout.encode("utf-8")
    ascii_only = tally(home, "report", session.name, PYTHONIOENCODING="ascii", LC_ALL="C")
    assert ascii_only.stdout == printed.stdout


class TestReportFormats:
    def test_the_ending_says_the_format(self, home: Path, session: Path) -> None:
        assert here(home, "report", session.name, "-o", "day.PDF").returncode == 0
        assert (home / "day.PDF").read_bytes().startswith(b"%PDF-")
        assert here(home, "report", session.name, "-o", "day.json").returncode == 0
        assert json.loads((home / "day.json").read_text(encoding="utf-8"))["job"]["name"] == "Test hole 1"
        assert here(home, "report", session.name, "-o", "day.txt", "--format", "json").returncode == 0
        assert (home / "day.txt").read_bytes() == (home / "day.json").read_bytes()

    def test_csv_is_a_file_a_table(self, home: Path, session: Path) -> None:
        told = here(home, "report", session.name, "-o", "day.csv").stdout
        assert "day-joints.csv" in told
        assert (home / "day-joints.csv").read_text(encoding="utf-8").startswith("place,number,length_m,shoe_m,at\n1,")
        assert not (home / "day.csv").exists()
        assert "give -o day.csv" in refused(home, "report", session.name, "--format", "csv")

    def test_one_day_of_a_session(self, home: Path) -> None:
        day = Day()
        day.joint()
        day.record(ev.NoteWritten(text="first day"))
        day.tick(86_400)
        day.joint()
        day.record(ev.NoteWritten(text="second day"))
        name = written(home / "two.jsonl", day).name
        first, second = (tally(home, "report", name, "--day", date).stdout for date in ("2026-05-11", "2026-05-12"))
        assert "first day" in first and "second day" not in first
        assert "second day" in second and "first day" not in second
        assert "| 1, 5.05 m together" in first and "| 2, 10.10 m together" in second
        assert "runs from 2026-05-11 to 2026-05-12" in refused(home, "report", name, "--day", "2026-05-13")
        assert "a date such as 2026-05-20" in here(home, "report", name, "--day", "12.5.").stderr


class TestRules:
    def test_listed_printed_and_checked(self, home: Path, session: Path) -> None:
        assert "neutral      Common practice" in here(home, "rules").stdout
        assert "tremie-start: Pumping begins" in here(home, "rules", "neutral").stdout
        (home / "plan.toml").write_text(example(), encoding="utf-8")
        for job in ("plan.toml", session.name):
            told = here(home, "rules", "neutral", job)
            assert told.returncode == 0
            assert "met       space:" in told.stdout
            assert "certify nothing" in told.stdout

    def test_what_is_wrong_is_said(self, home: Path) -> None:
        assert "one of maryland" in refused(home, "rules", "nowhere")
        (home / "ours.toml").write_text('name = "x"\n[[rule]]\n', encoding="utf-8")
        assert "ours.toml has 5 mistakes" in refused(home, "rules", "ours.toml")


def test_a_report_never_overwrites_a_session(home: Path, session: Path) -> None:
    before = session.read_bytes()
    assert "named like a session" in refused(home, "report", session.name, "-o", session.name)
    copy = home / "copy"
    copy.write_bytes(before)
    refused(home, "report", "copy", "-o", "./copy")
    assert (session.read_bytes(), copy.read_bytes()) == (before, before)


def test_a_report_in_a_format_that_there_is_not_is_refused(home: Path, session: Path) -> None:
    said = refused(home, "report", session.name, "-o", "day.docx")
    assert "given day.docx" in said and ".pdf" in said
    assert not (home / "day.docx").exists()


def test_a_report_that_cannot_be_written_says_so(home: Path, session: Path) -> None:
    assert "was not written" in refused(home, "report", session.name, "-o", "no/such/folder/day.md")


def test_whoever_reads_only_the_first_line_gets_it_and_nothing_else_happens(home: Path, session: Path) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "tally", "report", str(session)],
            stdout=writer,
            stderr=subprocess.PIPE,
            cwd=home,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            timeout=60,
            check=False,
        )
    finally:
        os.close(writer)
    assert (done.returncode, done.stderr) == (0, b"")


def test_check_says_whole_and_names_the_line_that_is_not(home: Path, session: Path) -> None:
    whole = tally(home, "check", session.name)
    lines = session.read_bytes().splitlines(keepends=True)
    assert (whole.returncode, whole.stderr) == (0, "")
    assert whole.stdout.startswith(f"{len(lines)} lines, digest ")
    assert whole.stdout.endswith("whole\n")
    assert json.loads(lines[-1])["chain"] in whole.stdout
    lines[3] = lines[3].replace(b'"length_m":5.05', b'"length_m":5.06')
    session.write_bytes(b"".join(lines))
    damaged = tally(home, "check", session.name)
    assert damaged.returncode == 1
    assert damaged.stdout.startswith("line 4: ")
    assert damaged.stdout.endswith("NOT WHOLE\n")
    # It is still read: the report says what is wrong with it.
    report = tally(home, "report", session.name)
    assert report.returncode == 0
    assert "line 4" in report.stdout
    assert here(home, "replay", "--text", session.name).returncode == 1


@pytest.mark.parametrize("command", ["replay", "report", "check"])
@pytest.mark.parametrize(
    ("name", "words"),
    [("missing.jsonl", "no such file"), (".", "folder"), ("empty.jsonl", "is empty"), ("notes.txt", "not a session")],
)
def test_what_is_no_session_is_refused(home: Path, command: str, name: str, words: str) -> None:
    (home / "empty.jsonl").touch()
    (home / "notes.txt").write_text('{"kind": "shopping"}\n', encoding="utf-8")
    assert words in refused(home, command, name, alone=(command, name) == ("check", "."))


@pytest.mark.parametrize(
    ("arguments", "meant"),
    [
        (("report", "dya.jsonl"), "day.jsonl"),
        (("check", "dayy.jsonl"), "day.jsonl"),
        (("plan", "paln.toml"), "plan.toml"),
    ],
)
def test_a_name_that_is_mistyped_is_told_with_its_nearest(
    home: Path, session: Path, arguments: tuple[str, str], meant: str
) -> None:
    (home / "plan.toml").write_text(example(), encoding="utf-8")
    assert f"did you mean {meant}?" in refused(home, *arguments)


@pytest.mark.parametrize("command", ["replay", "report"])
def test_a_session_of_a_newer_program_is_refused_by_its_version(home: Path, command: str) -> None:
    day = grouting_day()
    bodies = tuple(encoded(entry).replace(b'"version":1', b'"version":7') for entry in day.entries)
    (home / "future.jsonl").write_bytes(b"".join(chained(bodies)))
    said = refused(home, command, "future.jsonl", alone=True)
    assert "SessionOpened version 7 was written by a newer program" in said
    assert "install the newer one" in said


# --- run and demo ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", [("run", "plan.toml"), ("run",), ("demo",), ("start",), ("watch", "plan.toml")])
def test_what_needs_a_terminal_says_so_without_one(home: Path, command: tuple[str, ...]) -> None:
    (home / "plan.toml").write_text(example(), encoding="utf-8")
    assert "terminal" in refused(home, *command)


def in_terminal(home: Path, *arguments: str) -> str:
    """What `tally run` says on a terminal when it refuses; nothing is written, a lock's file aside."""
    from tests.live.terminal import Terminal

    before = contents(home)
    with Terminal(*arguments, home=home) as terminal:
        assert terminal.ended(20.0) == 2, terminal.text
        terminal.settled()
        assert terminal.left.startswith("tally: "), terminal.text
        assert contents(home) == before
        return " ".join(terminal.left.split())


@posix
def test_run_refuses_what_is_neither_plan_nor_session(home: Path) -> None:
    (home / "empty.jsonl").touch()
    (home / "notes.txt").write_text("dig\n", encoding="utf-8")
    assert "no such file" in in_terminal(home, "run", "missing.jsonl")
    assert "it is a folder" in in_terminal(home, "run", ".")
    assert "is empty" in in_terminal(home, "run", "empty.jsonl")
    assert "not a session" in in_terminal(home, "run", "notes.txt")


@posix
def test_run_with_nothing_to_go_on_with_says_how_to_begin(home: Path) -> None:
    assert "no session to go on with" in in_terminal(home, "run")


@posix
def test_run_goes_on_with_nothing_older_than_a_session_it_cannot_read(home: Path) -> None:
    sessions = home / "sessions"
    sessions.mkdir()
    written(sessions / "2026-05-10-old.jsonl", Day(plan(meter=None)))
    bodies = tuple(encoded(entry).replace(b'"version":1', b'"version":7') for entry in Day().entries)
    (sessions / "2026-05-11-new.jsonl").write_bytes(b"".join(chained(bodies)))
    (sessions / "2026-05-12-cut-short.jsonl").write_bytes(b'{"number":1,"at":"2026-05-12')
    said = in_terminal(home, "run")
    assert "2026-05-11-new.jsonl" in said
    assert "newer program" in said


@posix
def test_run_refuses_a_wrong_plan_and_a_port_without_a_meter(home: Path) -> None:
    text = plan_text("/dev/none")
    (home / "plan.toml").write_text(text.replace('"200 mm"', '"100 mm"'), encoding="utf-8")
    assert "nothing was started" in in_terminal(home, "run", "plan.toml")
    (home / "plan.toml").write_text(text.partition("[meter]")[0], encoding="utf-8")
    assert "no [meter]" in in_terminal(home, "run", "plan.toml", "--port", "/dev/none")
    written(home / "dry.jsonl", Day(plan(meter=None)))
    assert "no [meter]" in in_terminal(home, "run", "dry.jsonl", "--port", "/dev/none")


@posix
def test_run_begins_no_second_session_of_a_job_that_was_cut_off(home: Path) -> None:
    """Today, and not signed off. Signed off, of another job, with nothing entered or long ago: it begins."""
    (home / "plan.toml").write_text(plan_text("/dev/none"), encoding="utf-8")
    known = read(home / "plan.toml")
    assert isinstance(known, Plan)
    sessions, now = home / "sessions", datetime.now(UTC)
    sessions.mkdir()

    def left(*, at: datetime = now, joints: int = 1, closed: bool = False, name: str = known.job.name) -> Path:
        job = known.job.model_copy(update={"name": name})
        day = Day(known.model_copy(update={"job": job}), at=at)
        for _ in range(joints):
            day.joint(6.0)
        if closed:
            day.record(ev.SessionClosed())
        path = sessions / f"{at.date().isoformat()}-{slug(name)}.jsonl"
        written(path, day)
        return path

    path = left()
    said = in_terminal(home, "run", "plan.toml", "--folder", str(sessions))
    assert f"{known.job.name} is open in" in said and path.name in said and "--new" in said
    others: tuple[dict[str, Any], ...] = (
        {"closed": True},
        {"joints": 0},
        {"at": now - timedelta(days=3)},
        {"name": f"{known.job.name} 2"},
    )
    for other in others:
        path.unlink()
        path = left(**other)
        assert begins(home, sessions), other
    left()
    assert begins(home, sessions, "--new")


def begins(home: Path, sessions: Path, *options: str) -> bool:
    """Whether `tally run` of the plan comes to its screen; the session that it makes is taken away again."""
    from tests.live.terminal import Terminal

    before = set(sessions.iterdir())
    with Terminal("run", "plan.toml", "--folder", str(sessions), *options, home=home) as terminal:
        came = terminal.shows("joint length")
    for made in set(sessions.iterdir()) - before:
        made.unlink()
    return came


@posix
def test_run_refuses_a_session_that_is_being_recorded(home: Path) -> None:
    recorder = Recorder.opened(plan(), home, SystemClock(), grout_meter)
    try:
        said = in_terminal(home, "run", recorder.path.name)
        assert f"being recorded by another program (pid {os.getpid()}" in said
    finally:
        recorder.stop()


@posix
def test_alone_in_a_terminal_it_asks_which_job_and_enter_goes_on(home: Path) -> None:
    from tests.live.terminal import Terminal

    (home / "sessions").mkdir()
    session = written(home / "sessions" / "2026-05-11-open.jsonl", Day(plan(meter=None)))
    before = session.read_bytes()
    with Terminal(home=home) as terminal:
        assert terminal.shows("ENTER GOES ON RECORDING"), terminal.text
        assert session.read_bytes() == before
        terminal.keys("Enter")
        assert terminal.shows("SHOE DEPTH"), terminal.text
        terminal.keys("F9")
        assert terminal.shows("Stop recording?"), terminal.text
        terminal.keys("1")
        assert terminal.ended(20.0) == 0
        terminal.settled()
        assert "Saved in" in terminal.text
    assert session.read_bytes().startswith(before)
    assert b"SessionResumed" in session.read_bytes()
    with Terminal("start", home=home) as again:
        assert again.shows("ENTER GOES ON RECORDING"), again.text
        again.keys("5")
        assert again.shows("write its report"), again.text
        again.keys("3")
        assert again.shows("The report was written"), again.text
        again.keys("F9")
        assert again.ended(20.0) == 0
    assert session.with_suffix(".pdf").read_bytes().startswith(b"%PDF")


@posix
def test_watch_waits_for_a_file_and_shows_what_another_program_records_there(home: Path) -> None:
    from tests.live.terminal import Terminal

    path = home / "later.jsonl"
    written(home / "late.jsonl", Day(plan(meter=None)))
    with Terminal("watch", "later.jsonl", home=home) as terminal:
        assert terminal.shows("later.jsonl is not there yet, or empty: waiting for it"), terminal.text
        assert terminal.shows("late.jsonl?"), terminal.text
        written(path, Day(plan(meter=None)))
        assert terminal.shows("WATCHING, read-only"), terminal.text
        terminal.keys("F9")
        assert terminal.ended(20.0) == 0
    assert {each.name for each in home.iterdir() if each.name.startswith("late")} == {"late.jsonl", "later.jsonl"}


def test_a_speed_that_is_none_is_refused(home: Path) -> None:
    for speed in ("0", "99", "nan", "fast"):
        done = here(home, "demo", "--speed", speed)
        assert done.returncode == 2
        assert f"given {speed}; a number from 1 to 60 is accepted" in done.stderr


# --- help ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "command", ["", "start", "watch", "demo", "plan", "run", "replay", "report", "rules", "check", "settings"]
)
def test_every_command_explains_itself(home: Path, command: str) -> None:
    done = (here if command else tally)(home, *filter(None, [command]), "--help")
    assert (done.returncode, done.stderr) == (0, "")
    assert f"usage: tally {command}".strip() in done.stdout


def test_the_version_is_the_packages_own(home: Path) -> None:
    import tally as package

    assert here(home, "--version").stdout == f"tally {package.__version__}\n"


def test_no_command_is_refused_with_their_list(home: Path) -> None:
    done = here(home)
    assert done.returncode == 2
    assert "usage: tally" in done.stderr
