"""Text from outside at its worst, and days in which every name, note and meter line is such a text."""

from typing import Any

from tally.job import events as ev
from tally.job.fold import apply, opened
from tests.scenario import Day, plan

HOSTILE = {
    "markup": '[/] [red] [@click=app.quit]x[/] 8 5/8" [b]bold',
    "controls": "a\x1b[2J\x1b]0;owned\x07b\tc\nd\re\x00f\x9bg\u2028h",
    "long": "long " * 2_000,
    "unbroken": "x" * 10_000,
    "right to left": "\u202eאבגד עברית العربية\u202c \u2066mixed\u2069",
    "wide": "漢字かな混じり文を書く人の名前はとても長い 深い井戸 🪣🪣🪣",
    "combining": "e\u0301" * 40 + "\u200d\u200b",
    "braces": "{0} {1} {value} {{}} %s %(x)s $x",
}
WORST = "[/] [red] [@click=app.quit]x[/] \x1b[2J\x07\u202eאב\u202c漢🪣e\u0301{0}%s\tb\nc" + "漢x" * 4_990
"""All of it in one text, for what is tried on every screen."""


def hostile_plan(text: str) -> Any:
    """Every name in it is `text`; a session written by another program may hold longer ones than a plan file may."""
    whole = plan()
    part: dict[str, Any] = {
        "job": whole.job.model_copy(update=dict.fromkeys(("name", "client", "place", "permit"), text)),
        "crew": whole.crew.model_copy(update=dict.fromkeys(("driller", "helper", "rig"), text)),
        "mixes": tuple(mix.model_copy(update={"name": text}) for mix in whole.mixes),
        "stages": tuple(stage.model_copy(update={"name": text, "mix": text}) for stage in whole.stages),
    }
    return whole.model_copy(update=part)


def unchecked(kind: type[ev.Event], /, **values: Any) -> Any:
    """An event past its own checks."""
    return kind.model_construct(**values)


def tampered(day: Day, text: str) -> Day:
    """`day` with `text` as job, place, crew, mix and stage, as who entered, as a note and as what the meter said."""
    first, *rest = day.entries
    opening = unchecked(ev.SessionOpened, **(dict(first.event) | {"plan": hostile_plan(text)}))
    first = first.model_copy(update={"event": opening, "who": text[:2_000]})
    day.entries, day.state, day.who, day.alarms = [first], opened(first), text[:2_000], False
    for entry in rest:
        entry = entry.model_copy(update={"who": text[:2_000]})
        day.entries.append(entry)
        day.state = apply(day.state, entry)
    day.record(unchecked(ev.NoteWritten, text=text))
    day.record(unchecked(ev.MeterChanged, channel="grout", condition="FAULT", why=text))
    return day
