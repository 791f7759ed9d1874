"""The arrows of the house: which room may import which, and which libraries each may know."""

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
TALLY = ROOT / "tally"

ROOMS: dict[str, set[str]] = {
    "engineering": set(),
    "job": {"engineering"},
    "record": set(),
    "meters": {"child"},
    "catalogue": {"engineering"},
    "formats": {"job"},
    "units": {"job"},
    "settings": set(),
    "child": set(),
    "planfile": {"units", "formats", "job", "engineering", "catalogue", "meters"},
    "live": {"job", "record", "meters"},
    "report": {"job", "formats", "child"},
    "office": {"job", "formats", "report"},
    "screens": {"live", "job", "formats", "units", "planfile"},
    "demo": {"live", "job", "meters", "planfile"},
    "cli": {
        "catalogue",
        "demo",
        "engineering",
        "formats",
        "job",
        "live",
        "meters",
        "office",
        "planfile",
        "record",
        "report",
        "screens",
        "units",
        "settings",
    },
    "__main__": {"cli"},
    "__init__": set(),
}
"""Room -> rooms that it may import. Every room may read the version from `tally` itself."""

LIBRARIES: dict[str, set[str]] = {
    "pint": {"units.py"},
    "serial": {"meters/transport.py"},
    "pymodbus": {"meters/modbus_port.py"},
    "textual": {"screens"},
    "rich": set(),
    "pydantic": {
        *(f"job/{model}.py" for model in ("model", "hole", "wired", "grout_tank", "rule", "plan", "events", "coding")),
        "planfile/reader.py",
    },
    "platformdirs": {"record/folder.py", "settings.py"},
    "filelock": {"record/lock.py"},
    "argcomplete": {"cli/completion.py"},
    "lasio": {"planfile/las.py"},
    "numpy": set(),
    "typst": {"report/pdf.py"},
    "matplotlib": {"report/charts.py", "report/drawn.py", "report/hole_drawn.py"},
    "pyarrow": {"office/parquet.py"},
    "duckdb": set(),
    "textual_plot": {"screens/curve.py"},
}
"""Library -> the only files or rooms that may import it."""

PURE = ("engineering", "job")
IMPURE_MODULES = {"threading", "socket", "subprocess", "random", "os", "pathlib", "time", "logging", "asyncio", "io"}


def modules() -> list[Path]:
    return sorted(TALLY.rglob("*.py"))


def room_of(path: Path) -> str:
    first = path.relative_to(TALLY).parts[0]
    return first.removesuffix(".py")


def imported(path: Path) -> Iterator[tuple[str, int]]:
    """Every module that `path` names in an import, wherever it stands, with its line."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: imports are absolute here"
            yield node.module or "", node.lineno
            if node.module == "tally":
                yield from ((f"tally.{alias.name}", node.lineno) for alias in node.names)


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(TALLY)))
def test_a_module_imports_only_rooms_it_may(path: Path) -> None:
    room = room_of(path)
    allowed = ROOMS[room] | {room, "__version__"}
    for name, line in imported(path):
        if name.startswith("tally."):
            other = name.split(".")[1]
            assert other in allowed, f"{path}:{line}: {room} may not import {other}"


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(TALLY)))
def test_a_library_stays_in_its_room(path: Path) -> None:
    place = path.relative_to(TALLY).as_posix()
    for name, line in imported(path):
        library = name.split(".")[0]
        if library in LIBRARIES:
            homes = LIBRARIES[library]
            assert any(place == home or place.startswith(f"{home}/") for home in homes), f"{path}:{line}: {library}"


@pytest.mark.parametrize("path", [path for path in modules() if room_of(path) in PURE], ids=str)
def test_pure_rooms_name_no_module_that_touches_the_world(path: Path) -> None:
    for name, line in imported(path):
        assert name.split(".")[0] not in IMPURE_MODULES, f"{path}:{line}: {name}"


def loaded_by(module: str) -> set[str]:
    """What is in `sys.modules` after importing `module` in a process of its own."""
    script = f"import sys, json, {module}; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    return set(json.loads(done.stdout))


def rooms_loaded(names: set[str]) -> set[str]:
    return {name.split(".")[1] for name in names if name.startswith("tally.")}


@pytest.mark.parametrize("room", ["placement", "hook_load", "collapse", "slurry", "grout", "hole", "pipe"])
def test_engineering_loads_the_standard_library_alone(room: str) -> None:
    names = loaded_by(f"tally.engineering.{room}")
    assert rooms_loaded(names) == {"engineering"}
    foreign = {name.split(".")[0] for name in names} - set(sys.stdlib_module_names) - {"tally", "__main__"}
    assert not {name for name in foreign if not name.startswith(("_", "sitecustomize"))}


@pytest.mark.parametrize(
    "module", ["tally.job.fold", "tally.job.decide.decide", "tally.job.alarms.due", "tally.job.view.grout"]
)
def test_the_job_loads_no_screen_file_meter_or_units_library(module: str) -> None:
    names = loaded_by(module)
    assert rooms_loaded(names) <= {"job", "engineering"}
    assert not {"textual", "pint", "serial", "rich", "filelock", "platformdirs"} & {
        name.split(".")[0] for name in names
    }


@pytest.mark.parametrize(
    ("module", "never"),
    [
        ("tally.record.writer", {"pydantic", "textual", "pint", "serial"}),
        ("tally.meters.meter", {"pydantic", "textual", "pint", "serial", "pymodbus"}),
        ("tally.live.recorder", {"textual", "pint", "serial", "pymodbus"}),
        ("tally.units", {"pint", "textual"}),
        ("tally.planfile.reader", {"lasio", "numpy", "textual", "serial", "pymodbus"}),
        ("tally.screens.app", {"pydantic", "pint", "serial", "tomllib"}),
        ("tally.screens.opening", {"pydantic", "pint", "serial", "tomllib", "numpy", "textual_plot"}),
        ("tally.screens.places", {"pint", "serial", "numpy", "textual_plot", "matplotlib"}),
        ("tally.office.listing", {"pyarrow", "textual", "pint"}),
        ("tally.office.csv_files", {"pyarrow", "textual", "pint"}),
        ("tally.screens.start", {"pydantic", "pint", "serial", "tomllib"}),
        ("tally.cli", {"pydantic", "textual", "pint", "serial"}),
        ("tally.report.document", {"typst", "matplotlib", "numpy", "textual", "pint"}),
        ("tally.report.charts", {"matplotlib", "numpy"}),
        ("tally.report.pdf", {"typst", "matplotlib", "numpy"}),
    ],
)
def test_what_a_module_does_not_load_at_its_start(module: str, never: set[str]) -> None:
    assert not never & {name.split(".")[0] for name in loaded_by(module)}


def test_a_command_that_is_named_is_loaded_alone() -> None:
    ran = (
        "import contextlib, sys\nfrom tally.cli import main\nwith contextlib.suppress(SystemExit): main(['run', '-h'])"
    )
    ran += "\nprint(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", ran], capture_output=True, text=True, check=True, cwd=ROOT)
    loaded = {name for name in done.stdout.split() if name.startswith("tally.cli.")}
    assert loaded == {f"tally.cli.{name}" for name in ("run", "common", "fault", "opening")}


def test_every_room_is_in_the_table() -> None:
    assert {room_of(path) for path in modules()} == set(ROOMS)
