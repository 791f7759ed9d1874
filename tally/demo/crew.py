"""The crew of the demonstration: enters an invented job by itself, until somebody else enters something."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future

from tally.job import intents as want
from tally.job.checklist import CHECKS
from tally.job.intents import Intent
from tally.job.state import State
from tally.live.recorder import Recorder
from tally.live.session import Outcome, Snapshot
from tally.meters.simulator_process import SimulatorFault, SimulatorProcess

PUMP_L_MIN = 60.0
BATCH_BAGS = 5
LOOK_WALL_S = 0.1
BENTONITE_FREE_KG_M3 = (1880.0, 1870.0, 1890.0, 1875.0, 1865.0)
"""Mud balance readings of the invented batches."""

Wait = float | Callable[[State], bool]
Step = tuple[Wait, Intent]


class DemoFeed:
    """The recorder, with a crew that enters the job and a pump that follows it. The first entry by hand takes over."""

    def __init__(self, recorder: Recorder, simulator: SimulatorProcess, speed: float) -> None:
        self._recorder = recorder
        self._simulator = simulator
        self._speed = speed
        self._ended = threading.Event()
        self._taken_over = threading.Event()
        self._threads = [
            threading.Thread(target=self._enter, name="demo crew", daemon=True),
            threading.Thread(target=self._pump, name="demo pump", daemon=True),
        ]

    @property
    def snapshot(self) -> Snapshot:
        return self._recorder.snapshot

    def submit(self, intent: Intent) -> Future[Outcome]:
        self._taken_over.set()
        return self._recorder.submit(intent)

    def start(self) -> None:
        for thread in self._threads:
            thread.start()

    def stop(self) -> None:
        self._ended.set()
        self._taken_over.set()  # wakes the crew from its wait
        for thread in self._threads:
            thread.join(1.0)

    # --- the crew ----------------------------------------------------------------------------------------------------

    def _enter(self) -> None:
        for wait, intent in steps(self._recorder.snapshot.state):
            if not self._waited(wait):
                return
            self._recorder.submit(intent).result(timeout=10.0)

    def _waited(self, wait: Wait) -> bool:
        """True once it is time; False when the demonstration ended or was taken over."""
        if isinstance(wait, (int, float)):
            self._taken_over.wait(wait / self._speed)
        else:
            while not wait(self.snapshot.state) and not self._gone:
                self._taken_over.wait(LOOK_WALL_S)
        return not self._gone

    @property
    def _gone(self) -> bool:
        return self._ended.is_set() or self._taken_over.is_set()

    # --- the pump ----------------------------------------------------------------------------------------------------

    def _pump(self) -> None:
        """Pumps whatever was mixed, for as long as a stage is under way and the pump was not stopped."""
        running = False
        while not self._ended.wait(LOOK_WALL_S):
            wanted = _should_pump(self.snapshot.state)
            if wanted != running:
                running = wanted
                try:
                    self._simulator.command(f"rate {PUMP_L_MIN:g}" if wanted else "stop")
                except SimulatorFault:
                    return


def pumped_m3(state: State) -> float:
    """Pumped in the stage under way [m3]; 0 without one."""
    from tally.job import grouting

    stage = state.grout.stage
    return grouting.pumped_m3(stage, state.flow) if stage is not None else 0.0


def _mixed_m3(state: State) -> float:
    mine = len(state.grout.stages) - 1
    return sum(batch.volume_m3 for batch in state.grout.batches if batch.stage == mine)


def _should_pump(state: State) -> bool:
    stage = state.grout.stage
    return stage is not None and state.grout.pump_stop is None and pumped_m3(state) < _mixed_m3(state)


def _past(litres: float) -> Callable[[State], bool]:
    return lambda state: pumped_m3(state) * 1000.0 >= litres


def _overdue(state: State) -> bool:
    return any(alarm.alarm == "returns-overdue" for alarm in state.alarms)


def steps(state: State) -> Iterator[Step]:
    """What the crew enters, and when: after so many seconds of the job, or once the state shows something."""
    yield from _casing_steps(state)
    yield from _grout_steps()


def _casing_steps(state: State) -> Iterator[Step]:
    plan = state.plan
    weight_n = plan.casing.mass_kg_m * 9.80665
    run_m = plan.casing.shoe_length_m
    for place, length_m in enumerate(plan.casing.rack_m):
        yield 100.0, want.AddJoint(length_m, f"{length_m:.2f} m")
        run_m += length_m
        if place in (0, 3, 6):
            yield 10.0, want.FitCentralizer()
        if place in (2, 5):
            # What an indicator would show: air weight less the lift on a closed end below water.
            lift_n = max(run_m - 0.5 - plan.hole.water_level_m, 0.0) * 0.02224 * 999.1 * 9.80665
            load_n = weight_n * run_m - lift_n + plan.casing.shoe_mass_kg * 9.80665 + plan.limits.hook_n + 300.0
            yield 20.0, want.ReadHookLoad(load_n, f"{load_n / 9806.65:.2f} t", "lowering")
    yield 60.0, want.ReadStickUp(0.50, "0.50 m")
    yield 20.0, want.LandCasing("rock")
    yield 40.0, want.ReadFluidLevel("inside casing", 0.0, "0 m")
    yield 10.0, want.WriteNote("casing filled with water to the top before grouting")


def _grout_steps() -> Iterator[Step]:
    yield 60.0, want.SetTremie(40.5, "40.5 m")
    for check in CHECKS:
        yield 5.0, want.ConfirmCheck(check)
    yield 5.0, want.MixBatch(BATCH_BAGS, str(BATCH_BAGS))
    yield 20.0, want.WeighBatch(BENTONITE_FREE_KG_M3[0], "1.88 kg/L")
    yield 20.0, want.StartStage()
    for place in range(1, 3):
        yield _past(150.0 * place - 40.0), want.MixBatch(BATCH_BAGS, str(BATCH_BAGS))
        density = BENTONITE_FREE_KG_M3[place]
        yield 15.0, want.WeighBatch(density, f"{density / 1000:.2f} kg/L")
        if place == 1:
            yield 5.0, want.SeeReturns("none")
    yield _overdue, want.StopPump("loss of returns")
    yield 60.0, want.TagTop(24.5, "24.5 m", lost=True)
    yield 60.0, want.AcknowledgeAlarm("returns-overdue", "stopped the pump, tagged the top, let it stiffen a little")
    yield 240.0, want.StartPump()
    yield 40.0, want.SeeReturns("weak", "water")
    for place in range(3, 7):
        yield _past(150.0 * place - 60.0), want.MixBatch(BATCH_BAGS, str(BATCH_BAGS))
        if place == 4:
            yield 10.0, want.SeeReturns("full", "water")
            yield 10.0, want.PullTremie(3)
        if place == 5:
            yield 20.0, want.SeeReturns("full", "mixed")
    yield _past(868.0), want.SeeReturns("full", "grout", 1870.0)
    yield 60.0, want.EndStage("good grout at surface")
    yield 120.0, want.SetTremie(0.0, "0 m")
    yield 30.0, want.WriteNote("hose bled, tremie washed out")
