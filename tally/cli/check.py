"""`tally check`: whether a session file is whole."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tally.cli.common import Commands


def add(commands: Commands) -> None:
    check = commands.add_parser(
        "check",
        help="whether a session file is whole: every line against its digest",
        description="Says whether a session file is whole: every line against its digest.",
    )
    check.add_argument("file", type=Path, metavar="SESSION.jsonl")
    check.add_argument("--digest", default="", metavar="HEX",
                       help="as a report or a copy shows it: whether the file still reaches it")  # fmt: skip
    check.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from tally.record.verify import verify

    verdict = verify(options.file, options.digest)
    for problem in verdict.problems:
        print(f"line {problem.line}: {problem.what}")
    print(f"{verdict.lines} lines, digest {verdict.chain}, {'whole' if verdict.whole else 'NOT WHOLE'}")
    if not options.digest:
        return 0 if verdict.whole else 1
    if verdict.reached is None:
        print("the digest given is never reached: the end was cut off, or it is of another session")
        return 1
    after = verdict.last - verdict.reached
    print(f"the digest given is reached at line {verdict.reached}, {f'{after} more follow' if after else 'the last'}")
    return 0 if verdict.whole else 1
