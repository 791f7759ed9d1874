"""Opens what it is given as a session, under limits: `python -m tests.live.hostile CPU_SECONDS FILE ...`.

Prints one JSON line a file: what it was refused with, or the problems that were found in it, and how far the memory of
the process has grown by then. The system ends it where it takes more processor time than allowed.
"""

import json
import resource
import sys
from collections.abc import Callable
from pathlib import Path

from tally.cli import main as tally
from tally.live.loading import load, open_session
from tally.live.mend import mended  # noqa: F401  # loaded before memory is measured
from tally.record.fault import RecordFault
from tally.record.verify import verify


def peak_kb() -> int:
    """Of this program alone; what the system tells of a process includes whoever started it."""
    status = Path("/proc/self/status")
    if not status.exists():
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return next(int(line.split()[1]) for line in status.read_text().splitlines() if line.startswith("VmHWM"))


def said(look: Callable[[Path], object], path: Path) -> str:
    try:
        found = look(path)
    except RecordFault as refused:
        return f"refused: {refused}"
    problems = getattr(found, "problems", ())
    return f"{len(problems)} problems: {problems[0] if problems else ''}"


def main() -> None:
    seconds, paths = int(sys.argv[1]), sys.argv[2:]
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    began_kb = peak_kb()
    for path in map(Path, paths):
        checked, opened = said(verify, path), said(open_session, path)
        if opened.startswith("refused"):
            assert said(load, path) == opened
            assert tally(["report", str(path)]) != 0 and tally(["replay", "--text", str(path)]) != 0
        print(json.dumps({"checked": checked, "opened": opened, "grown_kb": peak_kb() - began_kb}), flush=True)


if __name__ == "__main__":
    main()
