"""The pictures in README, exported by the app itself from the demo sessions: `python -m tests.pictures`."""

import asyncio
import re
from concurrent.futures import Future
from pathlib import Path

from tally.job import fold
from tally.job.decide.refusal import Refusal
from tally.job.intents import Intent
from tally.job.state import State
from tally.live.loading import load
from tally.live.session import Outcome, Snapshot
from tally.screens.app import TallyApp
from tests.demo_sessions.build import FOLDER

HERE = Path(__file__).parent
SIZE = (100, 30)
PICTURES = {
    "casing": ("through-the-shoe", "2026-09-08 05:47", "f2"),
    "grout": ("lost-returns", "returns-overdue", "f3"),
    "log": ("lost-returns", "no-rise", "f4"),
}
"""Name -> demo session, moment (a time in UTC, or the alarm that was just raised), key of the screen."""


class Still:
    """One moment of a session."""

    def __init__(self, state: State, chain: str) -> None:
        self.snapshot = Snapshot(state, chain)

    def submit(self, intent: Intent) -> "Future[Outcome]":
        refused: Future[Outcome] = Future()
        refused.set_result(Refusal("picture", "a picture records nothing"))
        return refused


def at(name: str, moment: str) -> Still:
    entries = load(FOLDER / name / "session.jsonl").entries
    state = fold.opened(entries[0])
    for entry in entries[1:]:
        state = fold.apply(state, entry)
        if f"{state.at:%Y-%m-%d %H:%M}" == moment or any(alarm.alarm == moment for alarm in state.alarms):
            return Still(state, "")
    raise LookupError(f"{name} has no moment {moment}")


async def drawn(feed: Still, key: str) -> str:
    app = TallyApp(feed, units=feed.snapshot.state.plan.job.units)
    async with app.run_test(size=SIZE) as pilot:
        await pilot.press(key)
        for _ in range(5):
            app.tick()
            await pilot.pause()
        return plain(app.export_screenshot())


def plain(svg: str) -> str:
    """Without fonts to fetch from elsewhere, without a window's buttons, without an id that differs each time."""
    svg = re.sub(r"@font-face\s*\{.*?\}\s*", "", svg, flags=re.DOTALL)
    svg = re.sub(r"<!--.*?-->\s*", "", svg, flags=re.DOTALL)
    svg = re.sub(r'<g transform="translate\(26,22\)">.*?</g>\s*', "", svg, flags=re.DOTALL)
    svg = re.sub(r"font-family:\s*Fira Code,?\s*", "font-family: ", svg)
    return re.sub(r"terminal-\d+", "terminal", svg.replace("rich-terminal", "terminal"))


def main() -> None:
    for name, (session, moment, key) in PICTURES.items():
        text = asyncio.run(drawn(at(session, moment), key))
        (HERE / f"{name}.svg").write_text(text, encoding="utf-8", newline="\n")
        print(f"{name}.svg: {len(text):,} bytes")


if __name__ == "__main__":
    main()
