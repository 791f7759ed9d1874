"""A simulated rig that follows a script, step by step: always the same bytes for the same seed, script and steps."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from tally.meters.simulated_rig import Command, Rig

_ROUNDING_S = 1e-6  # what adding up many steps may lack of a round second


@dataclass(frozen=True, slots=True)
class Sent:
    """What happens on the wires in one step: lines of the grout meter and of the returns meter, or the plug."""

    data: bytes = b""
    returns: bytes = b""
    plug: Literal["", "out", "in"] = ""


@dataclass
class Play:
    """Rig and script; commands that are typed meanwhile go through `obey` as well."""

    rig: Rig
    script: Sequence[tuple[float, Command]]
    dt_s: float
    plugged: bool = True
    ended: bool = False
    _done: int = 0
    _back_s: float | None = None
    _waiting: list[Sent] = field(default_factory=list)

    def step(self) -> list[Sent]:
        """What is sent in the next step, in its order."""
        self.rig.advance(self.dt_s)
        now_s = self.rig.now_s + _ROUNDING_S
        while self._done < len(self.script) and self.script[self._done][0] <= now_s:
            self._done += 1
            self.obey(self.script[self._done - 1][1])
        if self._back_s is not None and self._back_s <= now_s:
            self._plug(True)
        sent = self.told()
        if self.plugged and not self.rig.silent:
            sent.append(Sent(self.rig.printed(), self.rig.printed_returns()))
        return sent

    def obey(self, command: Command) -> None:
        """Follows a command of rig or wire; what that sends comes with the next step."""
        match command.verb:
            case "garbage":
                self._waiting += [Sent(self.rig.garbage())] if self.plugged else []
            case "flood":
                lines = b"".join(self.rig.printed() for _ in range(min(int(command.number), 100_000)))
                self._waiting += [Sent(lines)] if self.plugged else []
            case "quit":
                self.ended = True
            case "unplug":
                self._plug(False)
            case "dropout":
                self._plug(False)
                self._back_s = self.rig.now_s + command.number
            case "replug":
                self._plug(True)
            case _:
                self.rig.obey(command)

    def told(self) -> list[Sent]:
        """What commands since the last step send at once."""
        sent, self._waiting = self._waiting, []
        return sent

    def _plug(self, plugged: bool) -> None:
        self._back_s = None
        if plugged != self.plugged:
            self.plugged = plugged
            self._waiting.append(Sent(plug="in" if plugged else "out"))

    def through(self, seconds: float) -> Iterator[tuple[float, Sent]]:
        """So many simulated seconds at once, each step with its time."""
        for _ in range(round(seconds / self.dt_s)):
            for sent in self.step():
                yield self.rig.now_s, sent
