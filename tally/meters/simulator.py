"""A simulated rig meter in a process of its own: `python -m tally.meters.simulator --pty --speed 20`.

The first line on standard output is `port URL`. Commands come on standard input, one a line:

    rate 60     pump at 60 L/min            stop        stop the pump; stall 20 only for 20 s
    silent 5    send nothing for 5 s        freeze      the meter sticks; thaw frees it
    reset       the total starts from zero  jump 500    the total leaps by 500 L
    reverse     the count falls; forward    noise 2     the rate strays by 2 %
    spoil 5     5 % of the lines go wrong   garbage     a burst of noise
    flood 900   900 lines at once           dropout 5   the plug out for 5 s; unplug, replug
    loss 40     40 % into the ground        early 10    10 % comes back before the hole is full
    washout 80  the hole takes 80 L more    tell        print what is true: time, total, pumped, returned
    quit

A script holds lines `at SECONDS COMMAND`, or is TOML. Seconds are simulated: the wall's times the speed. It ends when
standard input closes (unless it is to stay) or its parent dies.
"""

import argparse
import os
import queue
import sys
import threading
import time
from pathlib import Path

from tally.meters.simulated_device import Device
from tally.meters.simulated_hole import Hole
from tally.meters.simulated_line import PtyLine, SimulatedLine, SocketLine
from tally.meters.simulated_play import Play
from tally.meters.simulated_rig import L_M3, L_MIN_M3_S, Command, CommandFault, Rig, parsed_command
from tally.meters.simulated_script import read_script

_LOOK_S = 0.25  # how often a dead parent is looked for
_ASKED_S = 0.01  # how often a question is looked for
_BATCH = 500  # lines at most between two looks at the commands


def main(arguments: list[str] | None = None) -> int:
    given = sys.argv[1:] if arguments is None else arguments
    try:
        options, script = parsed(given)
        simulator = Simulator(play(options, script), _line(options), _returns_line(options), options)
    except (CommandFault, OSError, UnicodeDecodeError) as fault:
        print(f"simulator: {fault}", file=sys.stderr)
        return 2
    commands: queue.SimpleQueue[str | None] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(commands,), daemon=True).start()
    try:
        simulator.run(commands)
    except (BrokenPipeError, KeyboardInterrupt):
        return 0
    finally:
        simulator.close()
    return 0


def parsed(arguments: list[str]) -> tuple[argparse.Namespace, list[tuple[float, Command]]]:
    """Options and script; what the command line says goes before what the script says."""
    parser = _parser()
    options = parser.parse_args(arguments)
    if options.script is None:
        return options, []
    settings, script = read_script(options.script)
    return parser.parse_args([*settings, *arguments]), script


def play(options: argparse.Namespace, script: list[tuple[float, Command]]) -> Play:
    """The rig of the options, at the beginning of its script."""
    for _, command in script:
        if command.verb in ("loss", "washout", "early") and options.hole is None:
            raise CommandFault(f"{command.verb!r} needs a hole: say how much it takes with --hole, or hole_l in [rig]")
    return Play(_rig(options), script, 1 / options.hz)


class Simulator:
    """Drives the play by the clock and puts it on the wires, and obeys commands."""

    def __init__(
        self, play: Play, line: SimulatedLine, returns: SimulatedLine | None, options: argparse.Namespace
    ) -> None:
        self.play, self.line, self.returns = play, line, returns
        self._speed, self._stays, self._seconds = options.speed, options.stay, options.seconds
        self._device = Device(play.rig) if play.rig.line == "modbus" else None
        self._ended = False

    def run(self, commands: "queue.SimpleQueue[str | None]") -> None:
        parent = os.getppid()
        _say(f"port {self.line.open()}")
        if self.returns is not None:
            _say(f"returns {self.returns.open()}")
        wall_per_line_s = self.play.dt_s / self._speed
        next_s = time.monotonic() + wall_per_line_s
        while not self._ended and os.getppid() == parent:
            self._obey_waiting(commands, min(max(0.0, next_s - time.monotonic()), self._look_s))
            self._answer()
            data, returns = bytearray(), bytearray()
            for _ in range(_BATCH):
                if self._ended or time.monotonic() < next_s:
                    break
                for sent in self.play.step():
                    if sent.plug:
                        self._put(data, returns)
                        self._plug(sent.plug)
                    data += sent.data
                    returns += sent.returns
                next_s += wall_per_line_s
            self._put(data, returns)
            over = self._seconds is not None and self.play.rig.now_s >= self._seconds
            self._ended = self._ended or self.play.ended or over

    @property
    def _look_s(self) -> float:
        return _LOOK_S if self._device is None else _ASKED_S

    def _answer(self) -> None:
        """What a device that is asked sends back."""
        if self._device is None:
            return
        asked = self.line.receive()
        if asked and self.play.plugged and not self.play.rig.silent:
            self.line.send(self._device.answers(asked))

    def close(self) -> None:
        self.line.close()
        if self.returns is not None:
            self.returns.close()

    def _put(self, data: bytearray, returns: bytearray) -> None:
        if data:
            self.line.send(bytes(data))
        if returns and self.returns is not None:
            self.returns.send(bytes(returns))
        data.clear()
        returns.clear()

    def _plug(self, plug: str) -> None:
        if plug == "out":
            self.line.close()
        else:
            _say(f"port {self.line.open()}")

    def _obey_waiting(self, commands: "queue.SimpleQueue[str | None]", wait_s: float) -> None:
        """Obeys what has been typed, waiting for it no longer than `wait_s`."""
        while not self._ended:
            try:
                text = commands.get(timeout=wait_s)
            except queue.Empty:
                return
            wait_s = 0.0
            if text is None:
                self._ended = not self._stays
                return
            if text.strip():
                try:
                    self._obey(parsed_command(text))
                except CommandFault as fault:
                    _say(f"fault {fault}")

    def _obey(self, command: Command) -> None:
        rig = self.play.rig
        match command.verb:
            case "quit":
                self._ended = True
            case "tell":
                _say(
                    f"told time_s={rig.now_s:.3f} total_l={rig.total_m3 / L_M3:.4f} "
                    f"pumped_l={rig.pumped_m3 / L_M3:.4f} rate_l_min={rig.rate_m3_s / L_MIN_M3_S:.3f}{_ground(rig)}"
                )
            case "garbage" | "flood" | "unplug" | "replug" | "dropout":
                self.play.obey(command)
                for sent in self.play.told():
                    if sent.plug:
                        self._plug(sent.plug)
                    self._put(bytearray(sent.data), bytearray())
            case _:
                self.play.obey(command)


def _ground(rig: Rig) -> str:
    if rig.hole is None:
        return ""
    return f" returned_l={rig.hole.returned_m3 / L_M3:.4f} lost_l={rig.hole.lost_m3 / L_M3:.4f}"


def _say(text: str) -> None:
    print(text, flush=True)


def _listen(commands: "queue.SimpleQueue[str | None]") -> None:
    """Lines from standard input, None at its end; from the descriptor itself, to hold no lock when the program ends."""
    kept = b""
    while True:
        try:
            data = os.read(0, 4096)
        except OSError:
            data = b""
        if not data:
            commands.put(None)
            return
        *lines, kept = (kept + data).split(b"\n")
        for line in lines:
            commands.put(line.decode("utf-8", "replace"))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="simulator", description="A simulated rig meter.")
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--pty", action="store_true", help="on a pseudo-terminal (the default where there is one)")
    where.add_argument("--listen", metavar="HOST:PORT", help="on a TCP port; 0 takes a free one")
    parser.add_argument("--link", type=Path, help="with --pty: a symbolic link that always points at the terminal")
    parser.add_argument("--speed", type=_above_zero, default=1.0, help="simulated seconds in a second")
    parser.add_argument("--hz", type=_above_zero, default=5.0, help="lines in a simulated second")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=float, default=0.0, metavar="L/MIN", help="pump rate at the start")
    parser.add_argument("--rate-noise", type=float, default=0.01, help="standard deviation as a share of the rate")
    parser.add_argument("--start-total", type=float, default=0.0, metavar="L")
    parser.add_argument("--rollover", type=_above_zero, metavar="L", help="the total at which it starts from zero")
    parser.add_argument("--line", choices=("plain", "pulse", "modbus"), default="plain")
    parser.add_argument("--litres-per-pulse", type=_above_zero, default=0.01)
    parser.add_argument("--rate-noise-percent", type=float, help="the same in per cent")
    parser.add_argument("--hole", type=_above_zero, metavar="L", help="what the hole takes before returns come; they"
                        " have a meter of their own then, at a second port")  # fmt: skip
    parser.add_argument("--script", type=Path)
    parser.add_argument("--seconds", type=_above_zero, help="end after so many simulated seconds")
    parser.add_argument("--stay", action="store_true", help="do not end when standard input closes")
    return parser


def _above_zero(text: str) -> float:
    value = float(text)
    if not 0 < value < 1e9:
        raise argparse.ArgumentTypeError(f"{text} must be above zero")
    return value


def _rig(options: argparse.Namespace) -> Rig:
    return Rig(
        seed=options.seed,
        rate_noise=options.rate_noise if options.rate_noise_percent is None else options.rate_noise_percent / 100,
        total_m3=options.start_total * L_M3,
        rate_m3_s=options.rate * L_MIN_M3_S,
        rollover_m3=None if options.rollover is None else options.rollover * L_M3,
        line=options.line,
        m3_per_pulse=options.litres_per_pulse * L_M3,
        hole=None if options.hole is None else Hole(options.hole * L_M3),
    )


def _line(options: argparse.Namespace) -> SimulatedLine:
    if options.listen is None and os.name == "posix":
        return PtyLine(options.link)
    host, _, port = (options.listen or "127.0.0.1:0").rpartition(":")
    if not host or not port.isdecimal() or int(port) > 65535:
        raise CommandFault(f"--listen is {options.listen!r}; give HOST:PORT, such as 127.0.0.1:0")
    return SocketLine(host, int(port))


def _returns_line(options: argparse.Namespace) -> SimulatedLine | None:
    """A wire of its own for the meter in the returns, where there is a hole for them to come from."""
    if options.hole is None:
        return None
    if options.listen is None and os.name == "posix":
        return PtyLine(options.link and options.link.with_name(f"{options.link.name}-returns"))
    host = (options.listen or "127.0.0.1:0").rpartition(":")[0]
    return SocketLine(host, 0)


if __name__ == "__main__":
    sys.exit(main())
