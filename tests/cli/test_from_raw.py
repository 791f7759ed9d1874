"""`tally replay --from-raw` on the shipped session, and on a short one whose bytes are written here."""

import shutil
from pathlib import Path

import pytest

from tally.job import events as ev
from tally.record.raw_log import RawLog
from tests.scenario import Day, grouting_day, plan
from tests.test_cli import here, written

SHIPPED = Path(__file__).parents[2] / "demo_sessions" / "lost-returns"


def with_bytes(home: Path, day: Day, *, spoiled: int = 0) -> Path:
    """The session, and beside it lines whose totals are those of its heartbeats, some of them spoiled."""
    path = written(home / "day.jsonl", day)
    log = RawLog(home / "day.raw")
    pulses = "pulses" in day.state.plan.meter.factors  # type: ignore[union-attr]
    for entry in day.entries:
        if isinstance(entry.event, ev.Heartbeat) and entry.event.samples:
            total_m3 = entry.event.samples[0].values[0]
            text = f"P {round(total_m3 * 1e5)}\r\n" if pulses else f"T={total_m3 * 1000:.6f}\r\n"
            spoiled -= 1
            log.write("grout", entry.mono_s - 0.1, entry.at, b"?\r\n" if spoiled >= 0 else text.encode())
    log.close()
    return path


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path


def test_with_nothing_changed_the_shipped_session_is_the_record(home: Path) -> None:
    for name in ("session.jsonl", "session.raw"):
        shutil.copy(SHIPPED / name, home / name)
    before = {path.name: path.read_bytes() for path in home.iterdir()}
    done = here(home, "replay", "session.jsonl", "--from-raw")
    assert (done.returncode, done.stderr) == (0, "")
    assert "5885 lines read, 0 not understood" in done.stdout
    assert "11770 readings, as recorded" in done.stdout
    assert done.stdout.count(", as recorded\n") == 5  # readings, two stages, metered, waiting
    assert "4 as recorded, 0 with other figures, 0 moved, new or gone" in done.stdout
    assert {path.name: path.read_bytes() for path in home.iterdir()} == before


def test_another_scale_shows_volumes_and_alarms_that_would_have_differed(home: Path) -> None:
    day = grouting_day(plan(hole={"water_level_m": 2.0}), alarms=True)
    day.batch()
    day.pump(0.4, seconds=400)  # far past the litres at which returns are due; 40 L are not
    with_bytes(home, day)
    done = here(home, "replay", "day.jsonl", "--from-raw", "--scale", "0.1")
    assert done.returncode == 0
    assert "day.raw read again: metered volume × 0.1" in done.stdout
    assert "metered in all: recorded 400 L, read again 40 L (360 L less)" in done.stdout
    overdue = next(line for line in done.stdout.splitlines() if line.startswith("Returns overdue: recorded "))
    assert overdue.endswith("WHAT-IF not raised")
    same = here(home, "replay", "day.jsonl", "--from-raw", "--k-factor", "10/100")
    assert same.stdout == done.stdout


def test_another_k_counts_again(home: Path) -> None:
    meter = plan().meter
    assert meter is not None
    pulses = meter.model_copy(update={"pattern": r"P (?P<pulses>\d+)", "factors": {"pulses": 1e-5}})
    day = grouting_day(plan().model_copy(update={"meter": pulses}))
    day.pump(0.1)
    with_bytes(home, day)
    done = here(home, "replay", "day.jsonl", "--from-raw", "--pulse-is", "50 pulses/L")  # recorded at 100
    assert done.returncode == 0
    assert "metered in all: recorded 100 L, read again 200 L" in done.stdout
    assert "K 50 pulses/L" in done.stdout


def test_a_pattern_that_loses_lines_says_which(home: Path) -> None:
    day = grouting_day()
    day.pump(0.1)
    with_bytes(home, day)
    arguments = ("--pattern", r"T=(?P<total>[0-8.]+)", "--pattern-units", "total=L")
    done = here(home, "replay", "day.jsonl", "--from-raw", *arguments)
    assert done.returncode == 0
    assert "10 lines read, 1 not understood" in done.stdout  # 90 L
    assert "T=90.000000  (the line does not fit the pattern)" in done.stdout


def test_bytes_that_do_not_give_the_record_are_told_by_the_exit_code(home: Path) -> None:
    day = grouting_day()
    day.pump(0.1)
    with_bytes(home, day, spoiled=3)
    done = here(home, "replay", "day.jsonl", "--from-raw")
    assert done.returncode == 1
    assert "(recorded 21)" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--raw", "none.raw"), "there is no raw log"),
        (("--scale", "0"), "given 0"),
        (("--scale", "1.1", "--k-factor", "50/48"), "two ways"),
        (("--pulse-is", "98.5 pulses/L"), "counts no pulses"),
        (("--pulse-is", "98.5"), "pulses"),
        (("--pattern", "(?P<total>.+)"), "units"),
        (("--pattern", "("), "regular expression"),
    ],
)
def test_what_cannot_be_read_again_is_told(home: Path, arguments: tuple[str, ...], words: str) -> None:
    with_bytes(home, grouting_day())
    done = here(home, "replay", "day.jsonl", "--from-raw", *arguments)
    assert done.returncode == 2
    assert words in done.stderr
    assert done.stdout == ""


def test_a_job_without_a_meter_has_nothing_to_read_again(home: Path) -> None:
    written(home / "dry.jsonl", Day(plan(meter=None)))
    assert "no meter" in here(home, "replay", "dry.jsonl", "--from-raw").stderr
