"""Every screen that the package puts up has a row in the table, and each row is reached as it says."""

import ast
from collections.abc import Iterator
from pathlib import Path

from tally import screens
from tally.screens.places import Work
from tests.screens.support import LARGE, MIDDLE, SMALL
from tests.screens.table import ROWS

PACKAGE = Path(screens.__file__).parent


GENERAL = ("PickScreen", "ReadScreen")


def put_up(source: str, module: str) -> Iterator[str]:
    """The screens that `source` makes, by their class; a general one by module.function, for what it asks there."""
    kinds = ast.FunctionDef | ast.AsyncFunctionDef
    tree = ast.parse(source)
    inner = {
        each for function in ast.walk(tree) if isinstance(function, kinds) for each in list(ast.walk(function))[1:]
    }
    outer = [each for each in ast.walk(tree) if isinstance(each, kinds) and each not in inner]
    for function in outer:
        for node in ast.walk(function):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id.endswith("Screen"):
                yield f"{module}.{function.name}" if node.func.id in GENERAL else node.func.id


def test_a_screen_is_found_by_the_syntax_tree() -> None:
    source = "class A:\n    def f(self):\n        def g():\n            self.app.push_screen(PickScreen('?', []))\n"
    assert list(put_up(source, "some")) == ["some.f"]
    assert list(put_up("def f():\n    GoScreen()\n    screen.show()\n", "some")) == ["GoScreen"]


def test_every_screen_and_every_question_has_a_row_in_three_sizes() -> None:
    made = {site for path in PACKAGE.rglob("*.py") for site in put_up(path.read_text(encoding="utf-8"), path.stem)}
    made |= {screen.__name__ for screen in Work.SCREENS.values()}
    assert made == {row.made_in for row in ROWS if {SMALL, MIDDLE, LARGE} <= set(row.sizes)}


def test_every_row_says_what_is_loudest_on_it() -> None:
    assert [str(row) for row in ROWS if not row.loud] == []
    assert len({str(row) for row in ROWS}) == len(ROWS)
