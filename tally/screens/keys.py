"""The one table of keys: what each does and on which screen. Screens, key line and help all read it."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Key:
    """`action` is its id, for whoever remaps it; `key` as Textual names it; `label` for the key line."""

    action: str
    key: str
    label: str
    help: str
    shown: str = ""
    listed: bool = True
    """False: the screen itself names the key where it applies, so that the key line has room for the others."""

    @property
    def face(self) -> str:
        """The key as it is printed."""
        if self.shown:
            return self.shown
        return self.key.upper() if CHANGEABLE.fullmatch(self.key) and len(self.key) > 1 else self.key

    @property
    def changeable(self) -> bool:
        """Whether another key may stand for it: digits, arrows, Enter, Esc and space are the same everywhere."""
        return CHANGEABLE.fullmatch(self.key) is not None


CHANGEABLE = re.compile(r"[a-z]|f([1-9]|1[0-2])")
Face = Callable[[str], str]
"""The key that stands for an action, as it is printed."""
Keymap = Mapping[str, str]
"""Action to the key that stands for it in place of the table's."""


def mapped(table: Sequence[Key], keymap: Keymap) -> tuple[Key, ...]:
    """The table with the keys of `keymap`."""
    return tuple(replace(key, key=keymap[key.action], shown="") if key.action in keymap else key for key in table)


def remapped(wanted: Keymap) -> tuple[dict[str, str], list[str]]:
    """What of the wanted keys can be had, and why the rest cannot, in words."""
    known = {key.action: key for table in SCREENS.values() for key in table}
    taken: dict[str, str] = {}
    problems: list[str] = []
    for action, key in wanted.items():
        if action not in known:
            near = difflib.get_close_matches(action, known, n=1)
            one_of = f'"{near[0]}" (nearest)' if near else "a name that `tally settings` lists"
            problems.append(f"keys.{action}: given a name that is not known; accepted: {one_of}")
        elif not known[action].changeable:
            problems.append(f"keys.{action}: given {key}; {known[action].face} stands for it and cannot be changed")
        elif known[action] in PLACES and len(key) == 1:
            problems.append(f"keys.{action}: given {key}; accepted: f1 to f12, since a letter is typed into fields")
        else:
            taken[action] = key
    while clash := _clash(taken):
        action, other, where = clash
        stands = f"which stands for {other} {where}; accepted: a key that is free there"
        problems.append(f"keys.{action}: given {taken[action]}, {stands}")
        del taken[action]
    return taken, problems


def _clash(keymap: Keymap) -> tuple[str, str, str] | None:
    """A changed action, the other that has its key too, and where they meet."""
    for where, table in SCREENS.items():
        by_key: dict[str, str] = {}
        for key in mapped(table, keymap):
            other = by_key.setdefault(key.key, key.action)
            if other != key.action:
                action, other = (key.action, other) if key.action in keymap else (other, key.action)
                return action, other, where
    return None


def told(table: Sequence[Key]) -> list[str]:
    """A line a key, for a help."""
    return [f"{key.face:>5}  {key.label:<15}{key.help}" for key in table]


START = (
    Key("pick", "1", "pick", "a row by its number", "1-9"),
    Key("row", "up", "bar", "move the bar", "↑↓"),
    Key("take", "enter", "take", "what the bar is on; an open session is gone on with at once", "Enter"),
    Key("help", "f6", "help", "this page"),
    Key("theme", "f8", "light", "dark, sunlight, or no colour"),
    Key("leave", "f9", "leave", "leave the program; Esc too"),
)

GUIDE = (
    Key("take", "enter", "take", "what was typed, or what is offered", "Enter"),
    Key("earlier", "up", "earlier, later", "to another answer, to look at or to change", "↑↓"),
    Key("abandon", "escape", "leave", "back to the first screen; every answer is kept", "Esc"),
    Key("help", "f6", "help", "this page"),
    Key("theme", "f8", "light", "dark, sunlight, or no colour"),
)

HEAR = (
    Key("instrument", "up", "another instrument", "each of the plan's instruments in turn", "↑↓"),
    Key("back", "escape", "back", "the port is free again", "Esc"),
    Key("theme", "f8", "light", "dark, sunlight, or no colour"),
)

PLACES = (
    Key("casing", "f2", "casing", "the casing run"),
    Key("grout", "f3", "grout", "the grouting"),
    Key("log", "f4", "log", "every entry in plain words; correct or void one from here"),
    Key("alarms", "f5", "alarms", "all alarms of the session and what was done"),
    Key("help", "f6", "help", "keys, what the numbers mean, cautions"),
    Key("units", "f7", "units", "metric or US, on screen only"),
    Key("theme", "f8", "light", "dark, sunlight, or no colour"),
    Key("leave", "f9", "leave", "stop recording (asks first); taken up again later"),
)

MUTE = Key("mute", "q", "quiet", "the bell off, or on again; alarms show all the same", listed=False)

CASING = (
    Key("joint", "0", "joint length", "type a joint's measured length, Enter: it is on", "0-9"),
    Key("hook-load", "h", "hook load", "weight indicator; space: still, lowering or picking up"),
    Key("stick-up", "s", "stick-up", "what stands above ground now"),
    Key("centralizer", "c", "centralizer", "where one sits; Enter: as planned, else at the top joint's top"),
    Key("fluid", "w", "water", "measured depth to water in the hole, or inside the casing"),
    Key("reject", "x", "reject", "a joint that stays out, with its length"),
    Key("remeasure", "m", "re-measure", "a joint that is in: its place from the shoe, its new length"),
    Key("cut-off", "k", "cut off", "length cut off the top"),
    Key("landing", "p", "plan", "which joints from here, in which order: least cut off, connections kept clear"),
    Key("land", "l", "landed", "on rock, or hung at depth"),
    Key("times", "b", "times", "standby, repair, weather, travel; who records; the times so far"),
    Key("undo", "u", "undo", "void the last entry; it stays in the log, with the reason"),
    Key("note", "n", "note", "a line for the report"),
    Key("answer", "a", "answer", "answer the loudest alarm: what was done", listed=False),
    MUTE,
)

GROUT = (
    Key("batch", "0", "bags", "type the bags of a batch, Enter: it is mixed", "0-9"),
    Key("checks", "k", "checks", "the list before the first batch"),
    Key("weigh", "d", "density", "mud balance reading of the last batch"),
    Key("stage", "g", "begin", "begin the next stage"),
    Key("returns", "r", "returns", "at surface: none, weak or full; water, mixed or grout"),
    Key("surface-density", "y", "weigh them", "mud balance reading of the returns"),
    Key("pump", "p", "pump", "pump stopped, with the reason; again: pump started"),
    Key("volume", "v", "volume", "grout pumped that no meter counted"),
    Key("dip", "x", "tank dip", "dip of the tank: what was drawn since the last one", listed=False),
    Key("gap", "o", "gap", "how much of an unseen meter movement counts", listed=False),
    Key("tag", "t", "tag", "measured depth to the top of the grout"),
    Key("tremie-tip", "e", "tremie", "depth of the tremie's end"),
    Key("pull", "m", "pull", "tremie sections pulled"),
    Key("finish", "f", "finish", "end the stage, with its outcome"),
    Key("undo", "u", "undo", "void the last entry; it stays in the log, with the reason"),
    Key("note", "n", "note", "a line for the report"),
    Key("zone", "z", "zone", "a fracture, void, washout or loss that was found: from and to"),
    Key("top-up", "w", "top up", "grout poured in from the top after a stage, once it has settled"),
    Key("loss", "l", "losing grout", "what usually helps where grout is lost", listed=False),
    Key("curve", "h", "curve", "the curve of pumped against planned, or the hole again"),
    Key("times", "b", "times", "standby, repair, weather, travel; who records; the times so far"),
    Key("delivery", "j", "bags in", "bags that came aboard meanwhile"),
    Key("drinks", "i", "ground", "whether the ground takes the displaced water"),
    Key("answer", "a", "answer", "answer the loudest alarm: what was done", listed=False),
    MUTE,
)
GROUT_BEFORE = frozenset(
    ("returns", "surface-density", "pump", "volume", "tag", "pull", "finish", "top-up", "zone", "curve")
)
"""What says nothing before a stage is begun: it works, and the key line leaves room for what does."""
GROUT_UNDER_WAY = frozenset(("checks", "stage", "top-up"))
GROUT_AFTER = frozenset(("checks", "returns", "surface-density", "pump", "volume", "drinks", "finish"))

LOG = (
    Key("row", "up", "row", "move the bar; the line below says the entry in full", "↑↓"),
    Key("correct", "e", "correct", "enter the entry under the bar again, in its place, with a reason"),
    Key("insert", "i", "missed joint", "a joint that went on before the entry under the bar"),
    Key("void", "v", "void", "void the entry under the bar, with a reason; of a correction: take it back"),
    Key("note", "n", "note", "a line for the report"),
    Key("answer", "a", "answer", "answer the loudest alarm: what was done", listed=False),
    MUTE,
)

ALARMS = (
    Key("report", "w", "report", "the day's report: look at it here, or write it beside the session"),
    Key("note", "n", "note", "a line for the report"),
    Key("answer", "a", "answer", "answer the loudest alarm: what was done", listed=False),
    MUTE,
    Key("row", "up", "scroll", "the list up and down", "↑↓"),
)

HELP = (
    Key("answer", "a", "answer", "answer the loudest alarm: what was done", listed=False),
    MUTE,
    Key("row", "up", "scroll", "the page up and down", "↑↓"),
)

WATCH = (
    Key("row", "up", "scroll", "the list up and down", "↑↓"),
    replace(MUTE, listed=True),
)

REPLAY = (
    Key("play", "space", "play/pause", "run or hold"),
    Key("step", "right", "step", "to the next entry", "→"),
    Key("back", "left", "back", "to the entry before", "←"),
    Key("next-alarm", "n", "next alarm", "to the next alarm, and hold"),
    Key("alarm-before", "b", "alarm before", "to the alarm before, and hold"),
    Key("faster", "plus", "faster", "up to as fast as it goes", "+"),
    Key("slower", "minus", "slower", "down to a tenth of its pace", "-"),
    Key("start", "s", "start", "to the beginning of the session"),
    Key("end", "e", "end", "to the end of the session"),
    Key("go", "0", "go to", "a time of day, a share of the session, or an entry: 14:03, 35 %, 120", "0-9"),
    Key("difference", "d", "differs", "to the next place where alarms differ from those recorded", listed=False),
)

SCREENS = {
    "on the casing screen": (*PLACES, *CASING),
    "on the grout screen": (*PLACES, *GROUT),
    "in the log": (*PLACES, *LOG),
    "among the alarms": (*PLACES, *ALARMS),
    "in the help": (*PLACES, *HELP),
    "while watching": (*PLACES, *WATCH),
    "in a replay": (*PLACES, *REPLAY),
    "on the first screen": START,
    "in the guided plan": GUIDE,
    "while a plan's instruments are tried": HEAR,
}
"""Keys that are in force together, each with the words for where that is."""
