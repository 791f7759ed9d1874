"""A plan file to the plan: every mistake of one pass, or the model."""

import re
import tomllib
from collections.abc import Callable
from math import inf
from pathlib import Path as FilePath
from typing import cast

from pydantic import ValidationError

from tally.job.hole import Hole, HoleSection, Zone
from tally.job.plan import Casing, Mix, Plan, Stage
from tally.job.rule import RuleSet
from tally.job.wired import Instrument, MeterPlan
from tally.planfile import caliper, instruments, mixing, parts, pipework, rules
from tally.planfile.locator import Path, lines
from tally.planfile.logged import Around
from tally.planfile.mistake import Mistake
from tally.planfile.parts import Values
from tally.planfile.table import Desk, Table, shown
from tally.units import Gallon

LARGEST_BYTES = 1_000_000
HERE = FilePath()
GONE_S = 0.5
"""A port that goes while grout is pumped is told this soon, where the plan says nothing else."""
_SINGULAR = {
    "sections": "section", "zones": "zone", "stages": "stage", "mixes": "mix", "instruments": "instrument",
    "registers": "register",
}  # fmt: skip
_WHAT_AGREES = {
    "target_shoe_depth": "a depth no deeper than the hole",
    "diameter": "a hole wider than the casing in every section down to the shoe",
    "caliper": "a hole that was measured wider than the casing down to the shoe",
    "mix": "the name of a [[mix]], each mix under a name of its own",
    "to": "a zone inside the hole",
    "from": "a bottom inside the hole, and at or above the top of the stage before",
    "name": "a name of its own for each instrument",
    "port": "a port of its own, or one that it shares: of the same kind, baud and bits",
    "method": '"through casing", or a [tremie] table',
}


def read(path: FilePath | str) -> Plan | list[Mistake]:
    """The plan in a file, or everything that is wrong with it."""
    file = FilePath(path)
    try:
        if file.stat().st_size > LARGEST_BYTES:
            return [Mistake("", None, "a file of more than 1 MB", "a plan written by a person", file.name)]
        text = file.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        line = file.read_bytes()[: fault.start].count(b"\n") + 1
        return [Mistake("", line, "bytes that are not UTF-8 text", "a text file saved as UTF-8", file.name)]
    except OSError as fault:
        return [Mistake("", None, _unread(file, fault), "a plan file that can be read; check the path", file.name)]
    return read_text(text, file.name, file.parent)


def _unread(file: FilePath, fault: OSError) -> str:
    return "a folder" if file.is_dir() else (fault.strerror or "a file that cannot be read").lower()


def read_text(text: str, name: str = "plan.toml", folder: FilePath = HERE) -> Plan | list[Mistake]:
    """The plan in a text, or everything that is wrong with it. `name` is only for the words, `folder` for a log."""
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        where = re.search(r"\(at line (\d+), column \d+\)|\(at end of document\)", str(fault))
        line = int(where[1]) if where and where[1] else text.count("\n") + 1 if where else None
        words = str(fault).partition(" (at ")[0]
        return [
            Mistake(
                "", line, f"text that is not TOML: {words}", 'lines such as key = "value", under [table] headers', name
            )
        ]
    except RecursionError:
        return [Mistake("", None, "lists nested without end", "a plan written by a person", name)]
    desk = Desk(name, lines(text))
    plan = _plan(Table(document, (), desk), folder)
    if desk.mistakes or plan is None:
        return sorted(desk.mistakes, key=lambda mistake: mistake.line or 0)
    return plan


def _plan(root: Table, folder: FilePath) -> Plan | None:
    root.desk.gallon = _gallon(root)
    values: Values = {
        "job": _one(root, "job", parts.job),
        "crew": _one(root, "crew", parts.crew),
        "hole": _one(root, "hole", parts.hole),
        "casing": _one(root, "casing", pipework.casing),
        "limits": _one(root, "limits", parts.limits),
        "line": _one(root, "line", parts.line),
        "tremie": _one(root, "tremie", parts.tremie, required=False),
        "pump": _one(root, "pump", parts.pump, required=False),
        "mixes": _many(root, "mix", mixing.mix),
        "stages": _many(root, "stage", parts.stage),
        "aboard": _one(root, "aboard", parts.aboard),
        **_instruments(root),
        "tank": _one(root, "tank", parts.tank, required=False),
        "alarms": {"gone_s": GONE_S} | (_one(root, "alarms", parts.alarms, required=False) or {}),
    }
    root.close()
    values["hole"] = _measured(root, values, folder)
    values["rules"] = _ruled(root, values, folder)
    for path, words in _disagreements(root, values):
        root.desk.note(path, words, _WHAT_AGREES.get(str(path[-1]), "parts of the plan that agree"))
    if not root.sound:
        return None
    try:
        return Plan.model_validate({name: value for name, value in values.items() if value is not None}, strict=False)
    except ValidationError as fault:
        # the tables check what a person can get wrong; what the model refuses beyond that must reach the reader too
        for error in fault.errors():
            root.desk.note(_file_path(error["loc"]), shown(error["input"]), error["msg"])
        return None


def _gallon(root: Table) -> Gallon | None:
    """Needed before any volume is read; [job] itself complains of a wrong one."""
    job = root.peek("job")
    gallon = job.get("gallons") if isinstance(job, dict) else None
    return cast(Gallon, gallon) if gallon in ("US", "imperial") else None


def _measured(root: Table, values: Values, folder: FilePath) -> Values | None:
    """The hole with its caliper log, which is read once it is known in what hole and for what casing."""
    hole: Values | None = values["hole"]
    wanted: caliper.Request | None = hole.pop("caliper", None) if hole else None
    if hole is None or wanted is None:
        return hole
    try:
        sections = tuple(HoleSection.model_validate(section, strict=False) for section in hole["sections"])
    except ValidationError:
        return hole  # already noted
    casing = _or(values["casing"] or {}, _NO_CASING)
    around = Around(sections, casing["outer_diameter_m"], casing["target_shoe_depth_m"])
    job = values["job"] or {}
    if not sections:
        return hole
    return hole | caliper.measured(wanted, folder, around, job.get("units", "metric"), root.desk)


def _ruled(root: Table, values: Values, folder: FilePath) -> list[RuleSet]:
    """The rule files that the job names, whole; what is wrong in one is noted beside what is wrong in the plan."""
    sets: list[RuleSet] = []
    for name in (values["job"] or {}).pop("rules", []):
        found = rules.named(name, folder)
        if isinstance(found, list):
            root.desk.mistakes += found
        else:
            sets.append(found)
    return sets


def _one(root: Table, key: str, reader: Callable[[Table], Values], required: bool = True) -> Values | None:
    table = root.table(key, required=required)
    return None if table is None else reader(table)


def _many(root: Table, key: str, reader: Callable[[Table], Values]) -> list[Values]:
    return [reader(table) for table in root.tables(key) or []]


def _instruments(root: Table) -> Values:
    """The meter that counts the grout, under whichever heading it stands, and every other instrument."""
    meter = _one(root, "meter", instruments.meter, required=False)
    others: list[Values] = []
    ports = {meter["port"]: meter} if meter and "port" in meter else {}
    for part in (root.tables("instrument") or []) if root.has("instrument") else []:
        values, counts = instruments.instrument(part, ports)
        ports.setdefault(values.get("port", ""), values)
        if counts and meter is not None:
            part.note("counts", "true for a second one", "one source that counts: [meter], or one [[instrument]]")
        elif counts:
            meter = values
        else:
            others.append(values)
    return {"meter": meter, "instruments": others}


def _disagreements(root: Table, values: Values) -> list[tuple[Path, str]]:
    """Cross-checks over what could be read; a part that could not is replaced by one that contradicts nothing."""
    mixes = [mix for mix in values["mixes"] if "name" in mix]
    stages = values["stages"]
    sections = (values["hole"] or {}).get("sections") or [_EVERYWHERE]
    logged = {key: value for key, value in (values["hole"] or {}).items() if key in ("log", "log_gap_m", "rock_m")}
    hole: Values = logged | {
        "sections": [HoleSection.model_construct(**_or(section, _EVERYWHERE)) for section in sections],
        "zones": [
            Zone.model_construct(**({"bottom_m": 0.0} | zone)) for zone in (values["hole"] or {}).get("zones", [])
        ],
    }
    read: Values = {
        "hole": Hole.model_construct(**hole),
        "casing": Casing.model_construct(**_or(values["casing"] or {}, _NO_CASING)),
        "mixes": [Mix.model_construct(**mix) for mix in mixes],
        "stages": [Stage.model_construct(**(_UNSAID | _or(stage, _NOWHERE))) for stage in stages],
        "tremie": root.peek("tremie"),
        "meter": MeterPlan.model_construct(**({"port": ""} | values["meter"])) if values["meter"] else None,
        "instruments": [
            Instrument.model_construct(**({"name": f"{place}", "port": f"{place}"} | one))
            for place, one in enumerate(values["instruments"])
        ],
    }
    found: list[tuple[Path, str]] = []
    for key, words in Plan.model_construct(**read).disagreements():
        path = _file_path(tuple(int(part) if part.isdigit() else part for part in key.split(".")))
        named = path[-1] != "mix" or (len(mixes) == len(values["mixes"]) > 0 and _names_a_mix(path, stages))
        if named:
            found.append((path, words))
    return found


_EVERYWHERE: Values = {"top_m": 0.0, "bottom_m": inf, "diameter_m": inf}
_NO_CASING: Values = {"target_shoe_depth_m": 0.0, "outer_diameter_m": 0.0}
_NOWHERE: Values = {"bottom_m": -inf, "top_m": inf}
_UNSAID: Values = {"method": "through casing", "mix": ""}


def _or(part: Values, neutral: Values) -> Values:
    """The part, with neutral values in place of all of these if one is missing."""
    return neutral | part if neutral.keys() <= part.keys() else part | neutral


def _names_a_mix(path: Path, stages: list[Values]) -> bool:
    number = path[1] if len(path) == 3 else None
    return not isinstance(number, int) or "mix" in stages[number]


def _file_path(loc: tuple[str | int, ...]) -> Path:
    """A path in the model as the path in the file."""
    names = tuple(_SINGULAR.get(part, part) if isinstance(part, str) else part for part in loc)
    if names and isinstance(names[-1], str):
        last = re.sub(r"_(m|m2|m3|n|pa|s|kg|kg_m|kg_m3|share)$", "", names[-1])
        ends = {"bottom": "from", "top": "to"} if names[0] == "stage" else {"bottom": "to", "top": "from"}
        names = (*names[:-1], ends.get(last, last))
    return names
