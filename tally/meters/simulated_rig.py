"""A rig's pump and flow meters, in simulated seconds: what was pumped, what a meter counted, what it prints."""

import random
from dataclasses import dataclass, field
from typing import Literal

from tally.meters.simulated_hole import Hole

L_M3 = 1e-3
L_MIN_M3_S = 1e-3 / 60

# verb -> how many numbers follow it
_VERBS = {
    "rate": 1, "stop": 0, "stall": 1, "silent": 1, "freeze": 0, "thaw": 0, "reset": 0, "jump": 1, "reverse": 0,
    "forward": 0, "noise": 1, "spoil": 1, "garbage": 0, "flood": 1, "loss": 1, "washout": 1, "early": 1,
    "unplug": 0, "replug": 0, "dropout": 1, "tell": 0, "quit": 0,
}  # fmt: skip

Line = Literal["plain", "pulse", "modbus"]


class CommandFault(Exception):
    """A command or script that cannot be followed; the text says what was given and what is accepted."""


@dataclass(frozen=True, slots=True)
class Command:
    verb: str
    number: float = 0.0


def parsed_command(text: str) -> Command:
    """`rate 60` as a Command; the numbers are L/min, seconds or litres as the verb has it."""
    verb, *rest = text.split() or [""]
    if _VERBS.get(verb) != len(rest):
        wanted = ", ".join(name + " NUMBER" * count for name, count in _VERBS.items())
        raise CommandFault(f"{text.strip()!r} is no command; accepted are {wanted}")
    return Command(verb, _number(rest[0], text) if rest else 0.0)


def parsed_script(text: str) -> list[tuple[float, Command]]:
    """Lines `at SECONDS COMMAND` in order of time; empty lines and lines from # on are comments."""
    steps = []
    for number, line in enumerate(text.splitlines(), start=1):
        words = line.partition("#")[0].split()
        if not words:
            continue
        try:
            if words[0] != "at" or len(words) < 3:
                raise CommandFault(f"{line.strip()!r} is no step; write: at SECONDS COMMAND")
            steps.append((_number(words[1], line), parsed_command(" ".join(words[2:]))))
        except CommandFault as fault:
            raise CommandFault(f"line {number}: {fault}") from fault
    return sorted(steps, key=lambda step: step[0])


def _number(word: str, text: str) -> float:
    try:
        value = float(word)
    except ValueError:
        value = float("nan")
    if not abs(value) < 1e9:
        raise CommandFault(f"{word!r} in {text.strip()!r} is not a number")
    return value


@dataclass
class Rig:
    """The pump and its meter. The same seed, commands and steps print the same lines."""

    seed: int = 1
    rate_noise: float = 0.01
    total_m3: float = 0.0
    rate_m3_s: float = 0.0
    rollover_m3: float | None = None
    line: Line = "plain"
    m3_per_pulse: float = 1e-5
    now_s: float = 0.0
    pumped_m3: float = 0.0
    frozen: bool = False
    silent_until_s: float = 0.0
    stalled_until_s: float = 0.0
    backward: bool = False
    """Wired the wrong way round: the count falls."""
    spoiled_share: float = 0.0
    """Of the lines, those with one wrong byte."""
    hole: Hole | None = None
    """Where the grout goes; without one nobody asks."""
    _shown_rate_m3_s: float = 0.0
    _returns_m3_s: float = 0.0
    _random: random.Random = field(init=False, repr=False)
    _spoiling: random.Random = field(init=False, repr=False)

    def __post_init__(self) -> None:
        self._random = random.Random(self.seed)
        self._spoiling = random.Random(f"spoiling {self.seed}")  # of its own, so that spoiled lines move no rate

    def advance(self, dt_s: float) -> None:
        """Pumps for `dt_s`. A frozen meter misses what flows and goes on saying what it said last."""
        self.now_s += dt_s
        rate_m3_s = self.rate_m3_s * (1 + self._random.gauss(0.0, self.rate_noise))
        if self.now_s < self.stalled_until_s:
            rate_m3_s = 0.0
        self.pumped_m3 += rate_m3_s * dt_s
        if self.hole is not None:
            self._returns_m3_s = self.hole.take(rate_m3_s * dt_s) / dt_s
        if self.frozen:
            return
        self._shown_rate_m3_s = -rate_m3_s if self.backward else rate_m3_s
        self.total_m3 += self._shown_rate_m3_s * dt_s
        if self.backward and self.rollover_m3 is None:
            self.total_m3 = max(self.total_m3, 0.0)
        if self.rollover_m3 is not None:
            self.total_m3 %= self.rollover_m3

    def obey(self, command: Command) -> None:
        """Follows the commands that concern pump and meter; those that concern the wire are not for here."""
        match command.verb:
            case "rate":
                self.rate_m3_s = command.number * L_MIN_M3_S
            case "stop":
                self.rate_m3_s = 0.0
            case "silent":
                self.silent_until_s = self.now_s + command.number
            case "freeze" | "thaw":
                self.frozen = command.verb == "freeze"
            case "reset":
                self.total_m3 = 0.0
            case "jump":
                self.total_m3 += command.number * L_M3
            case "stall":
                self.stalled_until_s = self.now_s + command.number
            case "reverse" | "forward":
                self.backward = command.verb == "reverse"
            case "noise":
                self.rate_noise = max(command.number, 0.0) / 100
            case "spoil":
                self.spoiled_share = min(max(command.number, 0.0), 100.0) / 100
            case "loss" | "washout" | "early":
                self._ground(command)

    def _ground(self, command: Command) -> None:
        if self.hole is None:
            raise CommandFault(f"{command.verb!r} needs a hole: say how much it takes with --hole, or hole_l in [rig]")
        share = min(max(command.number, 0.0), 100.0) / 100
        match command.verb:
            case "loss":
                self.hole.loss_share = share
            case "early":
                self.hole.early_share = share
            case _:
                self.hole.wash_out(max(command.number, 0.0) * L_M3)

    @property
    def shown_rate_m3_s(self) -> float:
        """What the meter takes the rate to be."""
        return self._shown_rate_m3_s

    @property
    def silent(self) -> bool:
        return self.now_s < self.silent_until_s

    def printed(self) -> bytes:
        """The line that the grout meter sends now."""
        return self._spoiled(self._line(self.total_m3, self._shown_rate_m3_s))

    def printed_returns(self) -> bytes:
        """The line of a meter in the returns; nothing without a hole."""
        return b"" if self.hole is None else self._line(self.hole.returned_m3, self._returns_m3_s)

    def _line(self, total_m3: float, rate_m3_s: float) -> bytes:
        if self.line == "modbus":
            return b""  # it speaks when it is asked
        if self.line == "pulse":
            return f"P {int(total_m3 / self.m3_per_pulse + 1e-9):07d}\r\n".encode("ascii")
        return f"T {total_m3 / L_M3:09.2f} L R {rate_m3_s / L_MIN_M3_S:.2f} L/min\r\n".encode("ascii")

    def _spoiled(self, line: bytes) -> bytes:
        if not line or not self.spoiled_share or self._spoiling.random() >= self.spoiled_share:
            return line
        place = self._spoiling.randrange(len(line) - 2)
        return line[:place] + bytes([self._spoiling.randrange(256)]) + line[place + 1 :]

    def garbage(self) -> bytes:
        """A burst such as a wrong baud rate or a loose plug gives."""
        return self._random.randbytes(60) + b"\n" + self._random.randbytes(20) + b"\r\n"
