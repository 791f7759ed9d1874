"""A whole job by keys alone, and how many it takes. The count stands in DEVELOPERS.md; a test holds it there."""

from pathlib import Path

from tally.job import events as ev
from tests.scenario import JOINTS, Day, plan
from tests.screens.support import Bench, bench

STAGES = [
    {"name": "foot", "bottom_m": 60.0, "top_m": 20.0, "mix": "neat", "method": "tremie"},
    {"name": "rest", "bottom_m": 20.0, "top_m": 0.0, "mix": "neat", "method": "tremie"},
]
DEVELOPERS = Path(__file__).parents[2] / "DEVELOPERS.md"


class Counted:
    """A bench whose keys are counted."""

    def __init__(self, screen: Bench) -> None:
        self.screen, self.count = screen, 0

    async def press(self, *keys: str) -> None:
        self.count += len(keys)
        await self.screen.keys(*keys)

    async def asked(self, key: str, question: str, *answer: str) -> None:
        """A key, and what answers its question once that is on the screen."""
        await self.press(key)
        await self.screen.shows(question)
        await self.press(*answer)


async def casing(job: Counted) -> None:
    """Twelve joints to the centimetre, two centralizers, two hook loads, landed, stick-up and both water levels."""
    screen = job.screen
    for place in range(1, JOINTS + 1):
        screen.day.tick(240.0)
        await job.press(*"5.05", "enter")
        await screen.recorded(ev.JointAdded, place)
        if place in (1, 7):
            await job.asked("c", "centralizer, above the shoe", "enter")
            await screen.recorded(ev.CentralizerFitted, 1 if place == 1 else 2)
        if place in (4, 8):
            await job.asked("h", "hook load, still", *("space", *"0.9", "enter"))
            await screen.recorded(ev.HookLoadRead, place // 4)
    await job.asked("s", "stick-up (m) ▸", *"0.6", "enter")
    await screen.recorded(ev.StickUpRead)
    await job.asked("l", "Casing landed", "1")
    await screen.recorded(ev.CasingLanded)
    await job.asked("w", "depth to water, hole", *"20", "enter")
    await screen.recorded(ev.FluidLevelRead)


async def stage(job: Counted, number: int, *, tip: str, litres: float, outcome: str) -> None:
    """The tremie set, two batches, both weighed, begun, returns seen twice, ended."""
    screen = job.screen
    await job.asked("e", "depth of the tremie's end", *tip, "enter")
    await screen.recorded(ev.TremieSet, number)
    for batch in (1, 2):
        await job.press(*"20", "enter")
        if number == 1 and batch == 1:
            await screen.shows("Before the first batch")
            await job.press(*["enter"] * 6)
        await screen.recorded(ev.BatchMixed, 2 * (number - 1) + batch)
        await screen.shows("batch mixed")
        await job.asked("d", "density of the last batch", *"1.87", "enter")
        await screen.recorded(ev.BatchWeighed, 2 * (number - 1) + batch)
        if batch == 1:
            await job.press("g")
            await screen.recorded(ev.StageStarted, number)
        screen.day.pump(litres / 2_000.0, seconds=20)
    await job.asked("r", "Returns at surface", "3")
    await screen.recorded(ev.ReturnsSeen, 2 * number - 1)
    await job.asked("r", "Returns at surface", "7")
    await screen.recorded(ev.ReturnsSeen, 2 * number)
    await job.asked("f", "End the stage", outcome)
    await screen.recorded(ev.StageEnded, number)


async def test_a_whole_job_takes_as_many_keys_as_the_notes_say() -> None:
    day = Day(plan(stages=STAGES, hole={"drinks_water": False}))
    async with bench(day) as screen:
        job = Counted(screen)
        await casing(job)
        run = job.count
        day.metered()
        await job.press("f3")
        await screen.shows("no stage begun")
        await stage(job, 1, tip="58", litres=1_200.0, outcome="2")
        await screen.shows("ended: as planned", "next: rest")
        await stage(job, 2, tip="19", litres=700.0, outcome="1")
        await job.asked("t", "top tagged at", *"0.3", "enter")
        await screen.recorded(ev.TopTagged)
        await job.asked("w", "poured in from the top", *"10", "enter")
        await screen.recorded(ev.ToppedUp)
        await screen.shows("ended: good grout at surface", "level: look at")
        grouting = job.count - run
    said = f"a casing run of twelve joints takes {run} keys, two stages of grout {grouting}"
    assert said in DEVELOPERS.read_text(encoding="utf-8").replace("\n", " "), said
