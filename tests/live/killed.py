"""A recorder to be killed: `python -m tests.live.killed FOLDER PORT`.

Each line on its input starts a recorder in a process of its own (what it loads is loaded once), which takes up the
session in FOLDER or begins one, and enters notes as fast as they are answered. It prints `<number> <text>` for each
that was answered as saved. Its clock runs twenty times as fast, so that the meter is heard many times before the kill.
"""

import os
import sys
import time
from pathlib import Path

from tally.job.intents import WriteNote
from tally.live.clock import FastClock
from tally.live.instruments import grout_meter
from tally.live.recorder import Recorder
from tally.live.session import Saved
from tests.scenario import plan


def say(words: str) -> None:
    """One write, so that no kill parts it."""
    os.write(sys.stdout.fileno(), words.encode() + b"\n")


def record(folder: Path, port: str, words: str) -> None:
    clock, there = FastClock(20.0), list(folder.glob("*.jsonl"))
    if there:
        recorder = Recorder.resumed(there[0], clock, grout_meter)
    else:
        meter = {"port": port, "pattern": r"T (?P<total>[\d.]+) L R .*", "factors": {"total": 0.001}}
        recorder = Recorder.opened(plan(meter=meter), folder, clock, grout_meter)
    recorder.start()
    count, heard = 0, False
    while True:
        time.sleep(0.005)  # a person is slower yet; the heartbeats shall have their turn
        if not heard and (heard := recorder.snapshot.state.flow.condition == "LIVE"):
            say("heard")
        count += 1
        text = f"{words}-{count} {'x' * (count * 37 % 500)}"
        outcome = recorder.submit(WriteNote(text)).result(60.0)
        if isinstance(outcome, Saved):
            say(f"{outcome.numbers[0]} {text}")


def main() -> None:
    folder, port = Path(sys.argv[1]), sys.argv[2]
    for line in sys.stdin:
        child = os.fork()
        if not child:
            try:
                record(folder, port, line.strip())
            finally:
                os._exit(1)
        say(f"pid {child}")
        os.waitpid(child, 0)
        say("ended")


if __name__ == "__main__":
    main()
