"""A simulated rig meter in a process of its own: `python -m tally.meters.simulator --pty --speed 20`.

The first line on standard output is `port URL`. Commands come on standard input, one a line:

    rate 60     pump at 60 L/min            stop        stop the pump
    silent 5    send nothing for 5 s        freeze      the meter sticks; thaw frees it
    reset       the total starts from zero  jump 500    the total leaps by 500 L
    garbage     a burst of noise            unplug      pull the plug; replug puts it back
    tell        print time, total and what was truly pumped     quit

A script holds lines `at SECONDS COMMAND`. Seconds are simulated: the wall's times the speed. It ends when standard
input closes or its parent dies.
"""

import argparse
import os
import queue
import sys
import threading
import time
from pathlib import Path

from tally.meters.simulated_line import PtyLine, SimulatedLine, SocketLine
from tally.meters.simulated_rig import L_M3, L_MIN_M3_S, Command, CommandFault, Rig, parsed_command, parsed_script

_LOOK_S = 0.25  # how often a dead parent is looked for
_ROUNDING_S = 1e-6  # what adding up many steps may lack of a round second
_BATCH = 500  # lines at most between two looks at the commands


def main(arguments: list[str] | None = None) -> int:
    options = _parser().parse_args(arguments)
    try:
        script = parsed_script(options.script.read_text(encoding="utf-8")) if options.script else []
        simulator = Simulator(_rig(options), _line(options), script, speed=options.speed, hz=options.hz)
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
        simulator.line.close()
    return 0


class Simulator:
    """Drives rig and line by the clock, and obeys commands and script."""

    def __init__(
        self, rig: Rig, line: SimulatedLine, script: list[tuple[float, Command]], *, speed: float, hz: float
    ) -> None:
        self.rig = rig
        self.line = line
        self._script = script
        self._speed = speed
        self._dt_s = 1 / hz
        self._plugged = False
        self._ended = False

    def run(self, commands: "queue.SimpleQueue[str | None]") -> None:
        parent = os.getppid()
        self._plug()
        wall_per_line_s = self._dt_s / self._speed
        next_s = time.monotonic() + wall_per_line_s
        while not self._ended and os.getppid() == parent:
            self._obey_waiting(commands, min(max(0.0, next_s - time.monotonic()), _LOOK_S))
            sent = bytearray()
            for _ in range(_BATCH):
                if self._ended or time.monotonic() < next_s:
                    break
                sent += self._one_line()
                next_s += wall_per_line_s
            if sent:
                self.line.send(bytes(sent))

    def _one_line(self) -> bytes:
        self.rig.advance(self._dt_s)
        while self._script and self._script[0][0] <= self.rig.now_s + _ROUNDING_S:
            self._obey(self._script.pop(0)[1])
        return self.rig.printed() if self._plugged and not self.rig.silent else b""

    def _obey_waiting(self, commands: "queue.SimpleQueue[str | None]", wait_s: float) -> None:
        """Obeys what has been typed, waiting for it no longer than `wait_s`."""
        while not self._ended:
            try:
                text = commands.get(timeout=wait_s)
            except queue.Empty:
                return
            wait_s = 0.0
            if text is None:
                self._ended = True
            elif text.strip():
                try:
                    self._obey(parsed_command(text))
                except CommandFault as fault:
                    _say(f"fault {fault}")

    def _obey(self, command: Command) -> None:
        match command.verb:
            case "quit":
                self._ended = True
            case "tell":
                rig = self.rig
                _say(
                    f"told time_s={rig.now_s:.3f} total_l={rig.total_m3 / L_M3:.4f} "
                    f"pumped_l={rig.pumped_m3 / L_M3:.4f} rate_l_min={rig.rate_m3_s / L_MIN_M3_S:.3f}"
                )
            case "garbage":
                self.line.send(self.rig.garbage())
            case "unplug":
                self._plugged = False
                self.line.close()
            case "replug":
                if not self._plugged:
                    self._plug()
            case _:
                self.rig.obey(command)

    def _plug(self) -> None:
        address = self.line.open()
        self._plugged = True
        _say(f"port {address}")


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
    parser.add_argument("--line", choices=("plain", "pulse"), default="plain")
    parser.add_argument("--litres-per-pulse", type=_above_zero, default=0.01)
    parser.add_argument("--script", type=Path)
    return parser


def _above_zero(text: str) -> float:
    value = float(text)
    if not 0 < value < 1e9:
        raise argparse.ArgumentTypeError(f"{text} must be above zero")
    return value


def _rig(options: argparse.Namespace) -> Rig:
    return Rig(
        seed=options.seed,
        rate_noise=options.rate_noise,
        total_m3=options.start_total * L_M3,
        rate_m3_s=options.rate * L_MIN_M3_S,
        rollover_m3=None if options.rollover is None else options.rollover * L_M3,
        line=options.line,
        m3_per_pulse=options.litres_per_pulse * L_M3,
    )


def _line(options: argparse.Namespace) -> SimulatedLine:
    if options.listen is None and os.name == "posix":
        return PtyLine(options.link)
    host, _, port = (options.listen or "127.0.0.1:0").rpartition(":")
    if not host or not port.isdecimal() or int(port) > 65535:
        raise CommandFault(f"--listen is {options.listen!r}; give HOST:PORT, such as 127.0.0.1:0")
    return SocketLine(host, int(port))


if __name__ == "__main__":
    sys.exit(main())
