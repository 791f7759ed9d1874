"""`tally rules`: the rule files there are, what one says, and what it finds in a plan or a session."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.common import units_option
from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.cli.common import Commands
    from tally.job.plan import Plan
    from tally.job.rule import RuleSet
    from tally.job.state import State


def add(commands: Commands) -> None:
    rules = commands.add_parser(
        "rules",
        help="local rules against a plan or a session",
        description="Lists the rule files that come with the program; with one, or a file of your own, what it says;"
        " with a plan or a session too, what is met, not met or not shown. It informs; it certifies nothing: the local"
        " code and the licensed contractor decide.",
        epilog="examples: tally rules | tally rules wisconsin | tally rules ours.toml day.jsonl. In a plan: rules = "
        '["wisconsin", "ours.toml"] under [job] puts the notes into the report.',
    )
    rules.add_argument("rules", nargs="?", metavar="NAME|FILE.toml")
    rules.add_argument("job", nargs="?", type=Path, metavar="PLAN.toml|SESSION.jsonl")
    units_option(rules)
    rules.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from tally.job.view.ruled import rule_notes
    from tally.report.ruled import checked_text, rules_text

    if options.rules is None:
        sys.stdout.write(_listed())
        return 0
    found = _rules(options.rules)
    if options.job is None:
        sys.stdout.write(rules_text(found, options.units or "us"))
        return 0
    plan, state = _job(options.job)
    sys.stdout.write(checked_text(rule_notes((found,), plan, state), options.units or plan.job.units))
    return 0


def _listed() -> str:
    from tally.catalogue import rules
    from tally.planfile.rules import named

    rows = []
    for name in rules.names():
        found = named(name)
        assert not isinstance(found, list), found
        rows.append(f"{name:<12} {found.name}, {len(found.rules)} rules. {found.about}")
    return "\n".join([*rows, "", "Or a file of your own; README says how to write one."]) + "\n"


def _rules(name: str) -> RuleSet:
    from tally.planfile.rules import named

    found = named(name)
    if isinstance(found, list):
        head = f"{name} has {len(found)} mistake{'s' if len(found) > 1 else ''}:"
        raise CommandFault("\n  ".join([head, *map(str, found)]))
    return found


def _job(path: Path) -> tuple[Plan, State | None]:
    if path.suffix.lower() == ".toml":
        from tally.cli.common import read_plan

        return read_plan(path), None
    from tally.live.loading import open_session

    state = open_session(path).state
    return state.plan, state
