"""The caliper log that a plan names: which file, which columns and units, and the hole as measured by it."""

from dataclasses import dataclass
from pathlib import Path

from tally import formats
from tally.formats import Units, plain
from tally.job.hole import MOST_TIGHT
from tally.job.view.quantity import Kind, Quantity
from tally.planfile import csv, las
from tally.planfile.curve import Curves, Heading, LogFault, What, si_of
from tally.planfile.logged import Around, Write, logged
from tally.planfile.named import located, nowhere
from tally.planfile.table import Desk, Table, shown

LARGEST_BYTES = 20_000_000
KEYS = (
    "caliper_depth",
    "caliper_diameter",
    "caliper_units",
    "caliper_gap",
    "caliper_zero_height",
    "caliper_reads_over",
)
_KINDS = {".csv": csv.curves, ".txt": csv.curves, ".las": las.curves}


@dataclass(frozen=True, slots=True)
class Request:
    """What the plan says of its log."""

    path: Path
    depth: str | None = None
    diameter: str | None = None
    depth_unit: str | None = None
    diameter_unit: str | None = None
    gap_m: float | None = None
    zero_height_m: float = 0.0
    """Height above ground of the point from which the log counts its depths."""
    reads_over_m: float = 0.0
    """What the tool shows more than is there."""


def request(hole: Table) -> Request | None:
    """The keys of [hole] that tell of a log; None where there is none, or where what is said of it is wrong."""
    before = len(hole.desk.mistakes)
    name = hole.text("caliper", example="the name of a .csv or .las file")
    units = hole.table("caliper_units")
    found = Request(
        path=Path(name or ""),
        depth=hole.text("caliper_depth"),
        diameter=hole.text("caliper_diameter"),
        depth_unit=_unit(units, "depth"),
        diameter_unit=_unit(units, "diameter"),
        gap_m=hole.length("caliper_gap", above_zero=True),
        zero_height_m=hole.signed("caliper_zero_height", Kind.LENGTH) or 0.0,
        reads_over_m=hole.signed("caliper_reads_over", Kind.DIAMETER) or 0.0,
    )
    if units is not None:
        units.close()
    if not hole.has("caliper"):
        for key in filter(hole.has, KEYS):
            hole.note(key, "what to do with a log", 'it beside caliper = "…", the name of a .csv or .las file')
        return None
    if name is not None and found.path.suffix.lower() not in _KINDS:
        hole.note("caliper", shown(name), "the name of a .csv or .las file")
    return found if len(hole.desk.mistakes) == before else None


def _unit(units: Table | None, key: str) -> str | None:
    if units is None:
        return None
    text = units.text(key)
    if text is not None and si_of(text) is None:
        units.note(key, shown(text), 'a unit of length alone, such as "m", "ft", "mm" or "in"')
    return text


def measured(wanted: Request, folder: Path, around: Around, units: Units, desk: Desk) -> dict[str, object]:
    """The log as arguments of the hole's model; nothing where a mistake was noted."""
    try:
        curves = _KINDS[wanted.path.suffix.lower()](_text(wanted.path, folder), wanted.depth, wanted.diameter)
        notes: list[str] = []
        depth_si = _si(curves.depth, wanted.depth_unit, "depth", notes)
        diameter_si = _si(curves.diameter, wanted.diameter_unit, "diameter", notes)
        write = Write(
            depth=lambda si: formats.text(Quantity(si, Kind.DEPTH), units),
            diameter=lambda si: formats.text(Quantity(si, Kind.DIAMETER), units),
        )
        log = logged(_corrected(curves, wanted, depth_si, diameter_si), around, wanted.gap_m, write)
    except LogFault as fault:
        desk.note(("hole", fault.key), fault.given, fault.accepted)
        return {}
    if wanted.zero_height_m:
        notes.append(f"depths taken {write.depth(wanted.zero_height_m)} less, for the height of the log's zero")
    if wanted.reads_over_m:
        notes.append(f"diameters taken {write.diameter(wanted.reads_over_m)} less, by which the tool reads over")
    source = f"{plain(wanted.path.name)}: {len(curves.readings)} points read"
    return {
        "log": log.points,
        "log_gap_m": log.gap_m,
        "log_tight": log.tight[:MOST_TIGHT],
        "log_notes": (source, *notes, *log.notes),
    }


def _corrected(
    curves: Curves, wanted: Request, depth_si: float, diameter_si: float
) -> list[tuple[float | None, float | None]]:
    return [
        (
            None if depth is None else depth * depth_si - wanted.zero_height_m,
            None if diameter is None else diameter * diameter_si - wanted.reads_over_m,
        )
        for depth, diameter in curves.readings
    ]


def _text(name: Path, folder: Path) -> str:
    """Of a log only names of columns can be other than plain letters, so that an old encoding harms no number."""
    path, accepted = located(name, folder), "the path of a log that can be read, counted from the plan's folder first"
    if path is None:
        raise LogFault("caliper", nowhere(name, folder), accepted)
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise LogFault("caliper", "a log of more than 20 MB", "one depth and one diameter for each reading")
        data = path.read_bytes()
    except OSError as fault:
        raise LogFault("caliper", f"{plain(str(path))}: {fault.strerror or 'cannot be read'}", accepted) from fault
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _si(heading: Heading, planned: str | None, what: What, notes: list[str]) -> float:
    """Metres in one unit of a column: as the file says, else as the plan says; never guessed."""
    written = si_of(heading.unit) if heading.unit else None
    given = si_of(planned) if planned is not None else None
    if written is not None and given is not None and written != given:
        raise LogFault(
            "caliper_units",
            f"{what} in {plain(planned or '')}, where the log says {plain(heading.unit)}",
            "the log's own units, or a log that is mended",
        )
    if written is not None:
        return written
    if given is None:
        unit = f"{plain(heading.unit)}, which is not known here," if heading.unit else "no unit"
        raise LogFault(
            "caliper_units",
            f"{unit} for the {what} in the log's column {plain(heading.whole or heading.name)}",
            'caliper_units = {depth = "m", diameter = "mm"}, or units in the names of the columns',
        )
    said = f"its own {plain(heading.unit)!r} is not known here" if heading.unit else "the log names no unit"
    notes.append(f"{what} taken in {plain(planned or '')}, as the plan says: {said}")
    return given
