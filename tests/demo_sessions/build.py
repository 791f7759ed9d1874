"""Builds the demo sessions anew: `python -m tests.demo_sessions.build [NAME ...]`.

A session that ships is frozen: rebuild one only when its story changes, or when a new calculation is to show in it.
What is expected of it (`report.md`, `alarms.txt`) is rebuilt alone with `--expected`, after looking at the difference.
"""

import argparse
import tempfile
from collections.abc import Callable
from pathlib import Path

from tally import __version__, formats
from tally.job.alarms.replay import disagreements
from tally.job.plan import Plan
from tally.job.view.alarms import alarms
from tally.job.view.report import report
from tally.live.loading import Loaded, load
from tally.planfile import read
from tally.record.raw_log import raw_log_path
from tally.report.markdown import markdown
from tests.demo_sessions import lost_returns, one_clean_day, through_the_shoe, washed_out
from tests.demo_sessions.stage_hand import gathered

FOLDER = Path(__file__).resolve().parents[2] / "demo_sessions"
PLAYS: dict[str, Callable[[Plan, Path], Path]] = {
    "lost-returns": lost_returns.play,
    "one-clean-day": one_clean_day.play,
    "through-the-shoe": through_the_shoe.play,
    "washed-out": washed_out.play,
}


def built(name: str) -> None:
    """Plays the job `name` and puts session and raw log into its folder."""
    with tempfile.TemporaryDirectory() as folder:
        session = PLAYS[name](plan(name), Path(folder))
        gathered(session, raw_log_path(session), FOLDER / name)


def plan(name: str) -> Plan:
    found = read(FOLDER / name / "plan.toml")
    assert isinstance(found, Plan), found
    return found


def expected(name: str) -> dict[str, str]:
    """File name -> text that the session of `name` gives now."""
    loaded = load(FOLDER / name / "session.jsonl")
    return {"report.md": report_text(loaded), "alarms.txt": alarm_text(loaded)}


def report_text(loaded: Loaded) -> str:
    view = report(
        loaded.state,
        digest=loaded.extent.chain,
        program=__version__,
        problems=loaded.problems,
        disagreements=disagreements(loaded.entries),
    )
    return markdown(view, loaded.state.plan.job.units)


def alarm_text(loaded: Loaded) -> str:
    """The alarms in the order in which they came: one line each."""
    units, zone = loaded.state.plan.job.units, loaded.state.plan.job.time_zone
    rows = sorted(alarms(loaded.state), key=lambda row: row.raised_at)
    return "".join(
        f"{formats.day(row.raised_at, zone)} {formats.clock_s(row.raised_at, zone)} {row.alarm}: "
        f"{row.sentence.written(lambda quantity: formats.text(quantity, units))}; "
        f"{row.done or 'not answered'}\n"
        for row in rows
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", default=sorted(PLAYS), metavar="NAME")
    parser.add_argument("--expected", action="store_true", help="leave the sessions, rebuild what is expected of them")
    options = parser.parse_args()
    for name in options.names:
        if not options.expected:
            built(name)
        for file, text in expected(name).items():
            (FOLDER / name / file).write_text(text, encoding="utf-8", newline="\n")
        print(f"{name}: {(FOLDER / name / 'session.jsonl').stat().st_size:,} bytes")


if __name__ == "__main__":
    main()
