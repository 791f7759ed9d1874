"""`tally plan`: a plan file worked out."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.common import read_plan, shown, units_option
from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.cli.common import Commands


def add(commands: Commands) -> None:
    plan = commands.add_parser(
        "plan",
        help="work a plan file out: volumes, mixes, loads, margins, returns",
        description="Works a plan file out: volumes, mixes, loads, margins, returns."
        " Without a plan yet: tally plan --example > plan.toml",
    )
    plan.add_argument("file", nargs="?", type=Path, metavar="PLAN.toml")
    plan.add_argument("--json", action="store_true", help="the same in SI, with the unit in every key")
    plan.add_argument("--example", action="store_true", help="print a complete plan to copy and change")
    units_option(plan)
    plan.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from tally.planfile import example

    if options.example:
        print(example(), end="")
        return 0
    if options.file is None:
        raise CommandFault("name a plan file, or begin with `tally plan --example > plan.toml`")
    plan = read_plan(options.file)
    from tally.job.view.planned import planned
    from tally.report import planned as told

    view = planned(plan)
    if options.json:
        print(json.dumps(told.as_json(view), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        print(told.text(view, shown(options, plan)))
    return 0
