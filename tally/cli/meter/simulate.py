"""`tally meter simulate`: a rig that is not there, to try everything else with."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.cli.common import Commands
    from tally.meters.simulated_play import Play

_ABOUT = """\
A simulated rig: its pump, its grout meter and, with --hole, a meter in the returns. It says at which port each of them
is, for `tally meter listen PORT` or `tally run plan.toml --port PORT` in another terminal. Type commands while it runs:

  rate 60       pump at 60 L/min            stop          stop the pump; stall 20 only for 20 s
  loss 40       40 % goes into the ground   washout 80    the hole takes 80 L more
  early 10      10 % comes back too early   noise 2       the rate strays by 2 %
  silent 5      nothing is sent for 5 s     dropout 5     the plug is out for 5 s; unplug, replug
  freeze        the count sticks; thaw      reset         the count starts from zero
  jump 500      the count leaps by 500 L    reverse       the count falls; forward
  spoil 5       5 % of the lines go wrong   garbage       a burst of noise; flood 900 sends 900 lines at once
  tell          what is true                quit          the same as Ctrl+C

The same seed and script give the same bytes. A script is a text of lines such as `at 60 loss 40`, or TOML:
`--example` prints one."""
_EXAMPLE = """\
# A simulated rig; every name and figure is invented.

[rig]
seed = 7
hz = 5                    # lines a second
line = "plain"            # or "pulse", with litres_per_pulse
start_total_l = 9900
rollover_l = 10000
rate_noise_percent = 1
hole_l = 400              # what it takes before returns come

[[step]]
at_s = 5
do = "rate 60"

[[step]]                  # a fracture takes two fifths
at_s = 120
do = "loss 40"

[[step]]
at_s = 150
do = "silent 8"

[[step]]                  # the hole is washed out: more room
at_s = 180
do = "washout 60"

[[step]]                  # bridged with sawdust and stiffer grout
at_s = 240
do = "loss 0"

[[step]]
at_s = 300
do = "dropout 6"

[[step]]
at_s = 700
do = "stop"
"""
_PASSED_ON = ("seed", "speed", "hz", "rate", "start_total", "rollover", "line", "litres_per_pulse", "hole", "script",
              "seconds", "link")  # fmt: skip


def add(commands: Commands) -> None:
    simulate = commands.add_parser(
        "simulate",
        help="a simulated rig to try everything else with",
        description=_ABOUT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    where = simulate.add_mutually_exclusive_group()
    where.add_argument("--pty", action="store_true", help="on a pseudo-terminal (the default where there is one)")
    where.add_argument("--socket", metavar="PORT", help="on a TCP port of this machine; 0 takes a free one")
    where.add_argument("--print", action="store_true", help="print what it sends in --seconds, at once")
    simulate.add_argument("--link", metavar="PATH", help="with --pty: a name that always points at it")
    simulate.add_argument("--script", metavar="FILE", help="steps to follow, text or .toml")
    simulate.add_argument("--example", action="store_true", help="print a script to copy and change")
    simulate.add_argument("--seed", metavar="N", help="of all that is left to chance (default 1)")
    simulate.add_argument("--line", choices=("plain", "pulse", "modbus"),
                          help="what the meter says (default plain); modbus: RTU, unit 1, register 0: L")  # fmt: skip
    simulate.add_argument("--litres-per-pulse", metavar="L")
    simulate.add_argument("--rate", metavar="L/MIN", help="of the pump at the start (default 0)")
    simulate.add_argument("--start-total", metavar="L", help="on the meter at the start (default 0)")
    simulate.add_argument("--rollover", metavar="L", help="the total at which it starts again from zero")
    simulate.add_argument("--hole", metavar="L", help="what the hole takes before returns come")
    simulate.add_argument("--speed", metavar="TIMES", help="as fast as the wall clock (default 1)")
    simulate.add_argument("--hz", metavar="N", help="lines a second (default 5)")
    simulate.add_argument("--seconds", metavar="S", help="end after so many simulated seconds")
    simulate.add_argument("--keep", type=Path, metavar="FILE.raw", help="with --print: as a raw log instead")
    simulate.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    if options.example:
        print(_EXAMPLE, end="")
        return 0
    from tally.meters import simulator

    arguments = [part for name in _PASSED_ON if (value := getattr(options, name)) is not None
                 for part in (f"--{name.replace('_', '-')}", str(value))]  # fmt: skip
    if options.print or options.keep is not None:
        if options.seconds is None:
            raise CommandFault("--print and --keep need --seconds: for how long")
        return _printed(arguments, options.keep)
    if options.socket is not None:
        arguments += ["--listen", f"127.0.0.1:{options.socket}"]
    return simulator.main([*arguments, "--stay"])


def _printed(arguments: list[str], keep: Path | None) -> int:
    """What the grout meter sends, without waiting for it to be sent."""
    from tally.meters import simulator
    from tally.meters.simulated_rig import CommandFault as ScriptFault

    try:
        options, script = simulator.parsed(arguments)
        play = simulator.play(options, script)
    except (ScriptFault, OSError, UnicodeDecodeError) as fault:
        raise CommandFault(str(fault)) from fault
    if keep is None:
        for _, sent in play.through(options.seconds):
            sys.stdout.buffer.write(sent.data)
        return 0
    return _kept(play, options.seconds, keep)


def _kept(play: Play, seconds: float, path: Path) -> int:
    """As a raw log: each step a piece, an empty one where the plug went in. Its times are invented."""
    from datetime import UTC, datetime, timedelta

    from tally.record.raw_log import RawLog

    if path.exists():
        raise CommandFault(f"{path} is there already, and nothing is written over; give --keep another name")
    log, start = RawLog(path), datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
    log.write("grout", 0.0, start, b"")
    for at_s, sent in play.through(seconds):
        if sent.data or sent.plug == "in":
            log.write("grout", round(at_s, 3), start + timedelta(seconds=at_s), sent.data)
    log.close()
    if log.fault:
        raise CommandFault(log.fault)
    print(f"kept in {path}")
    return 0
