"""The printed report of the longest demo session against what its libraries cost alone, each in its own process."""

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from tests.bench.row import Bench, Row, in_turn_s

ROOT = Path(__file__).resolve().parents[2]
BARE = """
import sys, typst
typst.compile(sys.argv[1].encode(), ignore_system_fonts=True)
import matplotlib.figure, matplotlib.backends.backend_svg
"""
OURS = """
import sys
from tally.cli import main
main(["report", sys.argv[1], "-o", sys.argv[2]])
"""


def printing() -> Iterator[Row]:
    import pypdfium2

    longest = max(ROOT.glob("demo_sessions/*/session.jsonl"), key=lambda path: path.stat().st_size)
    with tempfile.TemporaryDirectory() as folder:
        made = Path(folder) / "day.pdf"
        _run(OURS, str(longest), str(made))
        read = pypdfium2.PdfDocument(made)
        letters = sum(read[at].get_textpage().count_chars() for at in range(len(read)))
        words = "word and " * (letters // 9)
        bare = f'#set page("a4", margin: 36pt)\n#set text(size: 7.3pt)\n{words}'
        ours_s, bare_s = in_turn_s(partial(_run, OURS, str(longest), str(made)), partial(_run, BARE, bare), 5)
        what = f"PDF of {longest.parent.name}, {len(read)} pages / bare typst and matplotlib"
        yield Row(what, ours_s, bare_s, 3.0)


def _run(script: str, *arguments: str) -> None:
    subprocess.run([sys.executable, "-c", script, *arguments], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)


BENCHES: dict[str, Bench] = {"paper": printing}
