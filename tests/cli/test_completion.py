"""Completion as a shell asks for it: the program is run with the line as far as it was typed."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.live.terminal import ROOT, environment


def offered(line: str, home: Path) -> set[str]:
    """What would complete `line`, as argcomplete's own protocol has it."""
    answers = home / "answers"
    asked = {
        "_ARGCOMPLETE": "1",
        "_ARGCOMPLETE_STDOUT_FILENAME": str(answers),
        "_ARGCOMPLETE_IFS": "\n",
        "COMP_LINE": line,
        "COMP_POINT": str(len(line)),
        "COMP_TYPE": "9",
    }
    subprocess.run([sys.executable, "-m", "tally"], env=environment(home) | asked, cwd=ROOT, check=True, timeout=60)
    return {answer.strip() for answer in answers.read_text(encoding="utf-8").split("\n")}


@pytest.mark.parametrize(
    ("line", "among"),
    [("tally rep", {"replay", "report"}), ("tally plan --e", {"--example"}), ("tally meter li", {"listen"})],
)
def test_a_shell_is_told_what_could_come_next(line: str, among: set[str], tmp_path: Path) -> None:
    assert offered(line, tmp_path) == among


@pytest.mark.skipif(os.name != "posix", reason="needs bash")
def test_the_lines_for_bash_are_bash(tmp_path: Path) -> None:
    lines = subprocess.run(
        [sys.executable, "-m", "tally", "completion", "bash"],
        env=environment(tmp_path), cwd=ROOT, check=True, capture_output=True, text=True, timeout=60,
    ).stdout  # fmt: skip
    told = subprocess.run(["bash", "-c", lines + "\ncomplete -p tally"], capture_output=True, text=True, timeout=60)
    assert told.returncode == 0 and told.stdout.strip().endswith("tally")
