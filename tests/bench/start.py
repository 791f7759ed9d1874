"""From nothing to the first painted screen, each in a process of its own."""

import subprocess
import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from tests.bench import paper
from tests.bench.row import Bench, Row, in_turn_s

ROOT = Path(__file__).resolve().parents[2]
BARE = """
import pydantic
from textual.app import App
from textual.widgets import Static
class Bare(App):
    def compose(self):
        yield Static("a")
    def on_mount(self):
        self.call_after_refresh(self.exit)
Bare().run(headless=True, size=(80, 24))
"""
OURS = """
import tempfile
from pathlib import Path
from tally.demo.demo import plan
from tally.live.clock import SystemClock
from tally.live.recorder import Recorder
from tally.screens.app import TallyApp
with tempfile.TemporaryDirectory() as folder:
    recorder = Recorder.opened(plan().model_copy(update={"meter": None}), Path(folder), SystemClock(), lambda *_: None)
    recorder.start()
    app = TallyApp(recorder)
    tick = app.tick
    def once():
        tick()
        app.call_after_refresh(app.exit)
    app.tick = once
    app.run(headless=True, size=(80, 24))
    recorder.stop()
"""
WHICH_JOB = """
from pathlib import Path
from tally.screens.start import StartApp, StartScreen
app, draw = StartApp((), Path.cwd()), StartScreen._draw
def once(screen):
    draw(screen)
    screen.call_after_refresh(screen.app.exit)
StartScreen._draw = once
app.run(headless=True, size=(80, 24))
"""


def _run(script: str) -> None:
    subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)


def painting() -> Iterator[Row]:
    ours_s, baseline_s = in_turn_s(partial(_run, OURS), partial(_run, BARE), 7)
    yield Row("start to first screen / bare Textual app with pydantic", ours_s, baseline_s, 1.5)
    ours_s, baseline_s = in_turn_s(partial(_run, WHICH_JOB), partial(_run, BARE), 7)
    yield Row("start to asking which job / the same", ours_s, baseline_s, 1.5)


BENCHES: dict[str, Bench] = {"start": painting, **paper.BENCHES}
