"""Plays an invented job through the real session, second by second, on a clock of its own: always the same bytes."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from pathlib import Path

from tally.job import checklist, grouting
from tally.job import intents as want
from tally.job.intents import Intent
from tally.job.plan import Plan
from tally.job.state import State
from tally.live.clock import Clock
from tally.live.instruments import dialect
from tally.live.session import Saved, Session
from tally.meters.decoder import Decoder
from tally.meters.reading import Reading
from tally.meters.simulated_rig import Rig, parsed_command
from tally.meters.source import MeterState, MeterStatus

BEAT_S = 1.0
STALE_AFTER_S = 3.0


class StepClock:
    """Moves only when it is told to."""

    speed = 1.0

    def __init__(self, at: datetime) -> None:
        self._at, self._mono_s = at, 500.0

    def utc(self) -> datetime:
        return self._at

    def monotonic(self) -> float:
        return self._mono_s

    def step(self, seconds: float) -> None:
        self._at += timedelta(seconds=seconds)
        self._mono_s += seconds


class ScriptedMeter:
    """A meter whose bytes come from the simulated rig and go through the real decoder, one line a second."""

    channel = "grout"

    def __init__(self, rig: Rig, decoder: Decoder, clock: Clock, on_raw: Callable[[str, float, bytes], None]) -> None:
        self.rig = rig
        self.plugged = True
        self._decoder, self._clock, self._on_raw = decoder, clock, on_raw
        self._readings: list[Reading] = []
        self._heard_s: float | None = None
        self._started = False

    def start(self) -> None:
        self._started = True
        self._on_raw(self.channel, self._clock.monotonic(), b"")

    def stop(self, timeout_s: float = 1.0) -> None:
        self._started = False

    def second(self) -> None:
        """One second of the rig; its line, if the plug is in."""
        self.rig.advance(BEAT_S)
        if self._started and self.plugged and not self.rig.silent:
            now_s, line = self._clock.monotonic(), self.rig.printed()
            self._on_raw(self.channel, now_s, line)
            self._readings += self._decoder.feed(now_s, line)
            self._heard_s = now_s

    def drain(self) -> list[Reading]:
        taken, self._readings = self._readings, []
        return taken

    @property
    def status(self) -> MeterStatus:
        now_s = self._clock.monotonic()
        if self._heard_s is None:
            return MeterStatus(MeterState.OPENING, "waiting for the first line", now_s)
        if now_s - self._heard_s > STALE_AFTER_S:
            return MeterStatus(MeterState.STALE, "no reading from the meter", now_s)
        return MeterStatus(MeterState.LIVE, "reading the meter", now_s)


class StageHand:
    """The crew, the rig and the time of an invented job."""

    def __init__(self, plan: Plan, folder: Path, starts: datetime, *, seed: int, total_l: float) -> None:
        self.clock = StepClock(starts)
        self.rig = Rig(seed=seed, rate_noise=0.02, total_m3=total_l / 1000.0)
        self._meter: ScriptedMeter | None = None
        self._folder = folder
        self._runs = 1
        self.session = Session.opened(plan, folder, self.clock, self._make_meter, boot="run-1")
        self.session.plug_in()

    def _make_meter(
        self, plan: Plan, clock: Clock, on_raw: Callable[[str, float, bytes], None]
    ) -> ScriptedMeter | None:
        if plan.meter is None:
            return None
        self._meter = ScriptedMeter(self.rig, Decoder("grout", dialect(plan.meter)), clock, on_raw)
        return self._meter

    @property
    def state(self) -> State:
        return self.session.snapshot.state

    @property
    def meter(self) -> ScriptedMeter:
        assert self._meter is not None
        return self._meter

    def enter(self, intent: Intent) -> int:
        """Has `intent` recorded, and its entry's number; a scenario whose entry is refused is wrong."""
        outcome = self.session.enter(intent)
        assert isinstance(outcome, Saved), (intent, outcome)
        return outcome.numbers[0]

    def checked(self) -> None:
        """The list before the first batch, looked at one by one and found right."""
        for check in checklist.to_check(self.state):
            self.wait(20)
            self.enter(want.ConfirmCheck(check))

    def wait(self, seconds: float) -> None:
        for _ in range(round(seconds)):
            self.clock.step(BEAT_S)
            if self._meter is not None:
                self._meter.second()
            self.session.beat()

    def until(self, seen: Callable[[State], bool], most_s: float = 7_200.0) -> None:
        for _ in range(round(most_s)):
            if seen(self.state):
                return
            self.wait(BEAT_S)
        raise AssertionError("what the scenario waits for never came")

    def pump(self, litres_a_minute: float) -> None:
        self.rig.obey(parsed_command(f"rate {litres_a_minute:g}" if litres_a_minute else "stop"))

    def pump_to(self, litres: float) -> None:
        """Until so much was pumped in the stage under way."""
        self.until(lambda state: self.pumped_l(state) >= litres)

    @staticmethod
    def pumped_l(state: State) -> float:
        stage = state.grout.stage
        return 0.0 if stage is None else grouting.pumped_m3(stage, state.flow) * 1000.0

    def batch(self, bags: int, density_kg_l: float, *, weigh_after_s: float = 40.0) -> None:
        # A play that wants the list gone through before its first batch enters that itself.
        self.enter(want.MixBatch(bags, str(bags), sure=True))
        self.wait(weigh_after_s)
        self.enter(want.WeighBatch(density_kg_l * 1000.0, f"{density_kg_l:.2f} kg/L"))

    def answer(self, done: str, *alarms: str) -> None:
        """Answers `alarms`, each of which must be waiting for it."""
        for alarm in alarms:
            self.enter(want.AcknowledgeAlarm(alarm, done))

    def until_alarm(self, name: str) -> None:
        self.until(lambda state: any(alarm.alarm == name and alarm.acknowledged_at is None for alarm in state.alarms))

    def away(self, hours: float) -> None:
        """The recorder is ended; the session is taken up again hours later."""
        path = self.session.path
        self.session.close()
        self.clock.step(hours * 3600.0)
        self._runs += 1
        self.session = Session.resumed(path, self.clock, self._make_meter, boot=f"run-{self._runs}")
        self.session.plug_in()


@contextmanager
def stage(plan: Plan, folder: Path, starts: datetime, *, seed: int, total_l: float) -> Iterator[StageHand]:
    hand = StageHand(plan, folder, starts, seed=seed, total_l=total_l)
    try:
        yield hand
    finally:
        hand.session.close()


def gathered(session: Path, raw: Path, into: Path) -> None:
    """Moves what was recorded to the folder that ships it, under the names that all demo folders share."""
    shutil.copyfile(session, into / "session.jsonl")
    shutil.copyfile(raw, into / "session.raw")
