"""Sessions kept for ever, one for each version of the format, and the description of what a line may hold.

    python -m tests.sessions.build --schema     after an event has gained a field with a default, or a new kind
    python -m tests.sessions.build v2           a new file, when some event has a new version; v1 is never built again

A kept file is never changed: it stands for those on people's disks.
"""

import json
import sys
from collections import Counter
from pathlib import Path
from typing import Any, get_args

from pydantic import TypeAdapter

from tally.job import events as ev
from tally.job import lengths
from tally.job.coding import encoded
from tally.job.events import Entry
from tally.job.state import State
from tally.live.loading import load
from tally.record.line import ZERO_CHAIN, seal
from tests.eventful import eventful_day
from tests.scenario import Day
from tests.sessions.compatible import breaks

FOLDER = Path(__file__).parent
SCHEMA = FOLDER / "schema.json"


def schema() -> dict[str, Any]:
    """What a line may hold, as JSON Schema: every event, and the plan within."""
    whole = TypeAdapter(Entry).json_schema()
    parts = whole.pop("$defs")
    return dict(sorted({**parts, "Entry": whole}.items()))


def day_of_every_kind() -> Day:
    """The eventful day, and after it one of each kind that did not happen on it."""
    day = eventful_day()
    joint = next(entry for entry in day.entries if isinstance(entry.event, ev.JointAdded))
    more: dict[type[ev.Event], ev.AnyEvent] = {
        type(event): event
        for event in (
            ev.JointRemeasured(joint=joint.number, length_m=5.06, typed="5.06 m"),
            ev.LandingChosen(order_m=(5.05, 4.8)),
            ev.ToppedUp(volume_m3=0.02, typed="20 L"),
            ev.ZoneNoted(top_m=12.0, bottom_m=14.0, of="fracture", typed="12 m to 14 m"),
            ev.EntryCorrected(
                entry=joint.number, event=ev.JointAdded(length_m=5.04, typed="5.04 m"), reason="tape misread"
            ),
            ev.EntryInserted(
                after=joint.number, event=ev.NoteWritten(text="rain set in"), reason="not written down then"
            ),
            ev.RecordDisturbed(what="not written", seconds=31.5, why="the disk was full"),
            ev.CheckConfirmed(check="flushed"),
            ev.CheckOverridden(check="tremie", reason="seen to hang free"),
            ev.ActivityBegan(activity="standby", note="waiting for cement"),
            ev.WeatherNoted(text="rain, 8 °C", air_c=8.0),
            ev.TankDipped(dip_m=0.4, volume_m3=0.6, typed="40 cm"),
        )
    }
    wanted = set(get_args(ev.AnyEvent)) - {type(entry.event) for entry in day.entries}
    lost = {ev.EntriesLost, ev.SessionMended}
    missing = wanted - set(more) - lost
    if missing:
        sys.exit(f"give an example in tests/sessions/build.py of {sorted(kind.__name__ for kind in missing)}")
    for kind in sorted(wanted - lost, key=lambda kind: kind.__name__):
        day.record(more[kind])
    day.record(ev.EntriesLost(through=len(day.entries) + 1))
    day.record(
        ev.SessionMended(
            program="0.1", damaged="a.jsonl", digest="0" * 64, lines="9", aside="a-mended.jsonl.damaged", lost=1, by="E"
        )
    )
    return day


def summary(path: Path) -> dict[str, Any]:
    """What a session comes to, in figures that a reader can judge."""
    day = load(path)
    assert not day.problems, day.problems
    kinds = Counter(entry.event.kind for entry in day.entries)
    return {"digest": day.extent.chain, "lines": day.extent.count, "kinds": dict(sorted(kinds.items())),
            **_figures(day.state)}  # fmt: skip


def _figures(state: State) -> dict[str, Any]:
    return {
        "number": state.number,
        "elapsed_s": round(state.elapsed_s, 3),
        "runs": state.runs,
        "who": state.who,
        "joints": len(state.string.joints),
        "shoe_m": round(lengths.shoe_depth_m(state.plan, state.string), 6),
        "landed_on": state.string.landed_on,
        "metered_m3": round(state.flow.metered_m3, 9),
        "answered_m3": round(state.flow.answered_m3, 9),
        "stages": [[stage.outcome, len(stage.returns), len(stage.tags)] for stage in state.grout.stages],
        "bags": sum(batch.bags for batch in state.grout.batches),
        "alarms": [[alarm.alarm, alarm.number, alarm.done] for alarm in state.alarms],
        "voided": sorted(state.voided),
    }


def build(name: str) -> None:
    path = FOLDER / f"{name}.jsonl"
    if path.exists():
        sys.exit(f"{path.name} is kept as it is; give the next version's name")
    chain = ZERO_CHAIN
    with path.open("wb") as file:
        for entry in day_of_every_kind().entries:
            line, chain = seal(encoded(entry), chain)
            file.write(line)
    _put(path.with_suffix(".json"), summary(path))


def pin_schema() -> None:
    if SCHEMA.exists() and (found := breaks(json.loads(SCHEMA.read_text(encoding="utf-8")), schema())):
        sys.exit("\n".join(["old sessions could no longer be read:", *found]))
    _put(SCHEMA, schema())


def _put(path: Path, value: object) -> None:
    path.write_text(json.dumps(value, indent=1, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    if sys.argv[1:] == ["--schema"]:
        pin_schema()
    elif len(sys.argv) == 2:
        build(sys.argv[1])
    else:
        sys.exit(__doc__)
