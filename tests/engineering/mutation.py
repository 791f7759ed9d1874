"""Small wrongs put into the handbook one at a time, to see that a test notices each: a check of the tests, by hand.

python -m tests.engineering.mutation pipe [collapse slurry hole …], or no name for every room

Each wrong is made in a private copy of the project, and the tests of the room run there. A survivor is a wrong that no
test noticed. Those in EQUIVALENT change nothing that a caller could see; each says why.
"""

import ast
import copy
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import count
from pathlib import Path

ROOT = Path(__file__).parents[2]
ENGINEERING = ROOT / "tally" / "engineering"
WORKERS = 2
# Of processor time, so that a busy machine ends no test: a loop without an end is noticed.
LIMITED = """import resource, sys, pytest
resource.setrlimit(resource.RLIMIT_CPU, (40, 40))
sys.exit(pytest.main(sys.argv[1:]))
"""
# A failure is all that is asked for: no shrinking, and the same examples each time.
QUICK = """from hypothesis import Phase, settings
settings.register_profile("quick", phases=(Phase.explicit, Phase.generate), deadline=None, derandomize=True)
settings.load_profile("quick")
"""
# How a test file belongs to a room. The files of printed values and of refusals look at every room.
TESTS = ("test_{0}.py", "test_published_{0}.py")
# Rooms that another room's tests look into.
TESTS_ALSO = {
    "factor": ("test_placement.py", "test_zone.py"),
    "fluid": ("test_hook_load.py", "test_published_hook_load.py", "test_collapse.py"),
    "hook_load": ("test_hook_load_edges.py",),
    "placement": ("test_zone.py",),
    "tag": ("test_placement.py", "test_zone.py"),
    "tremie": ("test_placement.py",),
}
TESTS_OF_ALL = ("test_refusals.py", "test_against_libraries.py", "test_published_errors.py")
SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip
CALLS = {"positive": "not_negative", "not_negative": "finite", "min": "max", "max": "min", "floor": "ceil"}

LIMIT = "both sides of the limit give the same there, or only one float lies on it"
ASKED = "the check that is asked then lets the limits pass"
SEARCH = "the search takes other steps to the same root"
OVER = (
    "loss_pa {} pipe_loss_pa(flow_m3_s=flow_m3_s, bore_m=bore_m, length_m=length_m, density_kg_m3=density_kg_m3, "
    "viscosity_pa_s=viscosity_pa_s, yield_stress_pa=yield_stress_pa)"
)
CIRCUIT = (
    "spare_pa {} circuit_loss_pa(passages, flow_m3_s=flow_m3_s, density_kg_m3=density_kg_m3, "
    "viscosity_pa_s=viscosity_pa_s, yield_stress_pa=yield_stress_pa)"
)
YIELD = "n {} (((a - 2.0) ** 2 + 8.0 * (b + c / y)) ** 0.5 + (a - 2.0)) / (2.0 * (b + c / y))"
EQUIVALENT: dict[str, dict[str, str]] = {
    "pipe": {
        "not_negative('shoe_length_m', shoe_length_m)  ->  dropped": "connections, called below it, says the same",
        "not_negative('shoe_length_m', shoe_length_m)  ->  finite(…)": "connections, called below it, says the same",
        "outer_diameter_m < 9 * inch_m  ->  outer_diameter_m <= 9 * inch_m": "no casing is 9 in outside",
        "outer_diameter_m < 15 * inch_m  ->  outer_diameter_m <= 15 * inch_m": "no casing is 15 in outside",
        "15  ->  16": "casing goes from 13-3/8 to 16 in, and 16 in is not under 16 in",
    },
    "bucket": {
        "80  ->  81": "the interval is below a float's last digit long before",
        "_central(angle, freedom) < 2.0 * probability - 1.0  ->  _central(angle, freedom) <= 2.0 * probability - 1.0": (
            "it then closes in on the same angle from the other side"
        ),
    },
    "slurry": {
        "not_negative('hedstrom_number', hedstrom_number) < 1e-06  ->  "
        "not_negative('hedstrom_number', hedstrom_number) <= 1e-06": LIMIT,
        "1e-06  ->  1.0299999999999999e-06": "so near to no yield stress the limit is 2100 either way",
        "1.0  ->  1.03": "the bracket is wider, its root the same: past 1 the cube is negative",
        "200  ->  201": SEARCH,
        "x >= high  ->  x > high": SEARCH,
        "x <= low  ->  x < low": SEARCH,
        "x <= low or x >= high  ->  x <= low and x >= high": SEARCH,
        "x > hedstrom_number / _HANKS * (1.0 - x) ** 3  ->  x >= hedstrom_number / _HANKS * (1.0 - x) ** 3": LIMIT,
        "positive('bore_m', bore_m)  ->  not_negative(…)": "a pipe without bore has no area, which is refused next",
        "number <= critical_reynolds(he)  ->  number < critical_reynolds(he)": LIMIT,
        OVER.format("<") + "  ->  " + OVER.format("<="): LIMIT,
        "2.0  ->  2.06": SEARCH,
        "high - low  ->  high + low": "the search ends where two floats are neighbours, a little later",
        "1e-12  ->  1.03e-12": SEARCH,
        "high - low > 1e-12 * high  ->  high - low >= 1e-12 * high": SEARCH,
    },
    "collapse": {
        YIELD.format("<=") + "  ->  " + YIELD.format("<"): LIMIT,
        "n <= y * (a - f) / (c + y * (b - g))  ->  n < y * (a - f) / (c + y * (b - g))": LIMIT,
        "n <= (2.0 + r) / (3.0 * r)  ->  n < (2.0 + r) / (3.0 * r)": LIMIT,
        "thinness < 0.023  ->  thinness <= 0.023": LIMIT,
        "0.0 < depth < bottom_m  ->  0.0 <= depth < bottom_m": "0 is among the depths in any case",
        "0.0 < depth < bottom_m  ->  0.0 < depth <= bottom_m": "the bottom is among the depths in any case",
    },
    "circuit": {
        "1e-15  ->  1.0300000000000002e-15": "nothing moves at the one or the other",
        CIRCUIT.format("<") + "  ->  " + CIRCUIT.format("<="): LIMIT,
        "min((passage.area_m2 for passage in passages))  ->  max(…)": SEARCH,
        "2.0  ->  2.06": SEARCH,
        "high - low > max(1e-12 * high, NOTHING_M3_S)  ->  high - low >= max(1e-12 * high, NOTHING_M3_S)": SEARCH,
        "1e-12  ->  1.03e-12": SEARCH,
    },
    "fluid": {
        "1e-09  ->  1.0300000000000002e-09": "a billionth of a metre, or a little more, is rounding",
        "below.top_m < above.bottom_m - 1e-09  ->  below.top_m <= above.bottom_m - 1e-09": LIMIT,
    },
    "hole": {
        "wanted_m3 <= 0.0  ->  wanted_m3 < 0.0": "filled to the last litre it ends at its top edge all the same",
        "1e-06  ->  1.0299999999999999e-06": "a micrometre, or a little more, is rounding",
        "abs(below.top_m - above.bottom_m) > _JOIN_M  ->  abs(below.top_m - above.bottom_m) >= _JOIN_M": LIMIT,
        "below.top_m > above.bottom_m  ->  below.top_m >= above.bottom_m": "asked only where the two differ",
        "a refusal  ->  dropped": "never reached: what does not fit in a range does not fit in a part of it",
        "self.top_m <= bottom_m <= self.bottom_m  ->  self.top_m <= bottom_m < self.bottom_m": ASKED,
        "self.top_m <= bottom_m <= self.bottom_m  ->  self.top_m < bottom_m <= self.bottom_m": ASKED,
        "0  ->  1": "the first edge is never past a depth within the profile",
        "0.0  ->  0.03": "the search finds the same where nothing tapers",
        "100  ->  101": SEARCH,
        "1e-09 * length_m  ->  1e-09 / length_m": SEARCH,
        "1e-09  ->  1.0300000000000002e-09": SEARCH,
        "abs(step_m) <= 1e-09 * length_m  ->  abs(step_m) < 1e-09 * length_m": SEARCH,
    },
    "zone": {
        "64  ->  65": SEARCH,
        "upper_m < lower_m  ->  upper_m <= lower_m": "a stretch without length holds nothing",
        "between('bottom_m', bottom_m, profile.top_m, profile.bottom_m)  ->  dropped": "volume_m3 says the same",
        "self._taken_m3(high_m3, deviate) <= out_m3  ->  self._taken_m3(high_m3, deviate) < out_m3": LIMIT,
        "self._taken_m3(middle_m3, deviate) > out_m3  ->  self._taken_m3(middle_m3, deviate) >= out_m3": LIMIT,
        "taken(low) > supply  ->  taken(low) >= supply": LIMIT,
        "taken(middle) > supply  ->  taken(middle) >= supply": LIMIT,
    },
    "hook_load": {
        "depth_m >= 0.0  ->  depth_m > 0.0": LIMIT,
        "0.0  ->  0.03": "an open end, as of a float that fails, takes no inside pressure",
    },
    "heat": {"20.0  ->  20.6": "plastic holds its whole rating up to 22.8 °C"},
    "tremie": {
        "1e-09  ->  1.0300000000000002e-09": "a billionth of a metre, or a little more, is rounding",
        "spare_m < -1e-09  ->  spare_m <= -1e-09": LIMIT,
    },
    "grout": {
        "positive('bentonite_kg', bentonite_kg)  ->  not_negative(…)": "slurry_of, called below it, refuses it",
        "1e-09  ->  1.0300000000000002e-09": "a billionth of a bag, or a little more, is rounding",
        "positive('mixer_m3', mixer_m3)  ->  not_negative(…)": "a mixer that holds no bag is refused next",
    },
}
"""Room -> mutation as printed, without its number -> why nobody can see it."""


@dataclass(frozen=True)
class Mutation:
    line: int
    words: str
    source: str


def mutations(source: str) -> Iterator[Mutation]:
    """Every single wrong: an operator swapped, a number moved, a check weakened, a refusal dropped."""
    for place in count():
        tree = ast.parse(source)
        changer = _Changer(place)
        changed = changer.visit(tree)
        if changer.words is None:
            return
        yield Mutation(changer.line, changer.words, ast.unparse(ast.fix_missing_locations(changed)))


class _Changer(ast.NodeTransformer):
    """Makes the one change that stands at `place` among all that could be made."""

    def __init__(self, place: int) -> None:
        self.left, self.line = place, 0
        self.words: str | None = None

    def _now(self, node: ast.AST, words: str) -> bool:
        self.left -= 1
        if self.left != -1:
            return False
        self.words, self.line = words, getattr(node, "lineno", 0)
        return True

    def visit_BinOp(self, node: ast.BinOp) -> ast.AST:
        self.generic_visit(node)
        swapped = SWAPPED.get(type(node.op))
        if swapped is not None:
            was = ast.unparse(node)
            changed = copy.copy(node)
            changed.op = swapped()  # type: ignore[assignment]
            if self._now(node, f"{was}  ->  {ast.unparse(changed)}"):
                return changed
        return node

    def visit_Compare(self, node: ast.Compare) -> ast.AST:
        self.generic_visit(node)
        for index, operator in enumerate(node.ops):
            swapped = SWAPPED.get(type(operator))
            if swapped is None:
                continue
            changed = copy.copy(node)
            changed.ops = [*node.ops[:index], swapped(), *node.ops[index + 1 :]]  # type: ignore[list-item]
            if self._now(node, f"{ast.unparse(node)}  ->  {ast.unparse(changed)}"):
                return changed
        return node

    def visit_BoolOp(self, node: ast.BoolOp) -> ast.AST:
        self.generic_visit(node)
        changed = copy.copy(node)
        changed.op = SWAPPED[type(node.op)]()  # type: ignore[assignment]
        return changed if self._now(node, f"{ast.unparse(node)}  ->  {ast.unparse(changed)}") else node

    def visit_Constant(self, node: ast.Constant) -> ast.AST:
        value = node.value
        if isinstance(value, bool) or not isinstance(value, int | float):
            return node
        changed = ast.Constant(value + 1 if isinstance(value, int) else value * 1.03 if value else 0.03)
        return changed if self._now(node, f"{value!r}  ->  {changed.value!r}") else node

    def visit_Call(self, node: ast.Call) -> ast.AST:
        self.generic_visit(node)
        name = node.func.id if isinstance(node.func, ast.Name) else ""
        name = node.func.attr if isinstance(node.func, ast.Attribute) else name
        if name in CALLS:
            changed = copy.deepcopy(node)
            if isinstance(changed.func, ast.Name):
                changed.func.id = CALLS[name]
            elif isinstance(changed.func, ast.Attribute):
                changed.func.attr = CALLS[name]
            if self._now(node, f"{ast.unparse(node)}  ->  {CALLS[name]}(…)"):
                return changed
        return node

    def visit_Expr(self, node: ast.Expr) -> ast.AST:
        """A check that stands alone is dropped whole."""
        self.generic_visit(node)
        if isinstance(node.value, ast.Call) and self._now(node, f"{ast.unparse(node)}  ->  dropped"):
            return ast.Pass()
        return node

    def visit_Raise(self, node: ast.Raise) -> ast.AST:
        return ast.Pass() if self._now(node, "a refusal  ->  dropped") else node

    def visit_UnaryOp(self, node: ast.UnaryOp) -> ast.AST:
        self.generic_visit(node)
        if isinstance(node.op, ast.USub) and self._now(node, f"{ast.unparse(node)}  ->  without its sign"):
            return node.operand
        return node


def survives(room: str, source: str, folder: Path) -> bool:
    """True when every test of the room passes in a copy of the project that holds this source."""
    (folder / "tally" / "engineering" / f"{room}.py").write_text(source, encoding="utf-8")
    own = (*(name.format(room) for name in TESTS), *TESTS_ALSO.get(room, ()))
    return all(_passes(names, folder) for names in (own, TESTS_OF_ALL))  # most wrongs are noticed by the first


def _passes(names: Sequence[str], folder: Path) -> bool:
    files = [str(path) for name in names if (path := folder / "tests" / "engineering" / name).exists()]
    command = [sys.executable, "-c", LIMITED, "-q", "-x", "--no-header", "-p", "no:cacheprovider", *files]
    return subprocess.run(command, cwd=folder, capture_output=True, check=False).returncode == 0


def copied(folder: Path) -> Path:
    for name in ("tally", "tests"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__", "goldens", "*.raw"))
    shutil.copy(ROOT / "pyproject.toml", folder)
    (folder / "tests" / "conftest.py").write_text(QUICK, encoding="utf-8")
    return folder


def survivors(room: str) -> tuple[int, list[Mutation]]:
    """How many wrongs were tried, and those that no test noticed."""
    source = (ENGINEERING / f"{room}.py").read_text(encoding="utf-8")
    tried = list(mutations(source))
    with tempfile.TemporaryDirectory() as private:
        folders = [copied(Path(private) / str(number)) for number in range(WORKERS)]
        if not survives(room, source, folders[0]):
            raise SystemExit(f"{room}: its tests fail as it is; nothing can be learned from a wrong")

        def share(number: int) -> list[Mutation]:
            return [wrong for wrong in tried[number::WORKERS] if survives(room, wrong.source, folders[number])]

        with ThreadPoolExecutor(WORKERS) as pool:
            found = [wrong for part in pool.map(share, range(WORKERS)) for wrong in part]
    return len(tried), sorted(found, key=lambda wrong: wrong.line)


def main(rooms: list[str]) -> int:
    unexplained = 0
    for room in rooms:
        tried, found = survivors(room)
        known = EQUIVALENT.get(room, {})
        print(f"{room}: {tried} wrongs, {tried - len(found)} noticed, {len(found)} not", flush=True)
        for wrong in found:
            why = known.get(wrong.words, "")
            unexplained += not why
            print(f"  line {wrong.line}: {wrong.words}" + (f"\n      {why}" if why else "   UNEXPLAINED"))
    return min(unexplained, 1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:] or [path.stem for path in sorted(ENGINEERING.glob("[a-z]*.py"))]))
