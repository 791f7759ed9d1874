"""Key paths to lines, counted by hand and by construction."""

import tomllib

from hypothesis import given
from hypothesis import strategies as st

from tally.planfile.locator import Path, line_of, lines

TEXT = (
    '''\
# a comment with [brackets] and = signs
top = 1

[job]           # trailing
name = "a # not a comment ] }"
"quoted key" = 'x'
dotted.one.two = 3
long = """
three
lines \\""" [not.a.table]
"""
raw = \'\'\'
[neither]
\'\'\'

[[hole.section]]
from = "0 m"
[[hole.section]]
from = "6 m"
  [hole.section.notes]
  text = "x"

[casing]
rack = [
  "6.10 m",   # first
  ["nested", 2],
  { a = 1, b = { c = "}" } },
]
meter = { total = "L", rate = "L/min" }
when = 1979-05-27 07:32:00
"'''
    + "\\u00e9"
    + """" = true
"""
)

COUNTED: dict[Path, int] = {
    ("top",): 2,
    ("job",): 4,
    ("job", "name"): 5,
    ("job", "quoted key"): 6,
    ("job", "dotted"): 7,
    ("job", "dotted", "one", "two"): 7,
    ("job", "long"): 8,
    ("job", "raw"): 12,
    ("hole", "section"): 16,
    ("hole", "section", 0): 16,
    ("hole", "section", 0, "from"): 17,
    ("hole", "section", 1): 18,
    ("hole", "section", 1, "from"): 19,
    ("hole", "section", 1, "notes"): 20,
    ("hole", "section", 1, "notes", "text"): 21,
    ("casing", "rack"): 24,
    ("casing", "rack", 0): 25,
    ("casing", "rack", 1): 26,
    ("casing", "rack", 1, 1): 26,
    ("casing", "rack", 2, "b", "c"): 27,
    ("casing", "meter"): 29,
    ("casing", "meter", "rate"): 29,
    ("casing", "when"): 30,
    ("casing", "é"): 31,
}


def test_lines_counted_by_hand() -> None:
    tomllib.loads(TEXT)
    found = lines(TEXT)
    assert {path: found.get(path) for path in COUNTED} == COUNTED
    assert not any("neither" in path or "not" in path for path in found)


def test_windows_line_ends_count_the_same() -> None:
    assert lines(TEXT.replace("\n", "\r\n")) == lines(TEXT)


def test_a_missing_key_is_placed_at_the_table_around_it() -> None:
    found = lines(TEXT)
    assert line_of(found, ("hole", "section", 1, "diameter")) == 18
    assert line_of(found, ("limits", "hoist")) is None


KEYS = st.one_of(st.from_regex(r"[A-Za-z0-9_-]{1,6}", fullmatch=True), st.text(max_size=5))
STRINGS = st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=8)


def _quoted(text: str) -> str:
    return '"' + "".join(f"\\U{ord(c):08x}" if not c.isalnum() or not c.isascii() else c for c in text) + '"'


@given(st.lists(st.tuples(KEYS, STRINGS, st.integers(0, 3)), min_size=1, max_size=12, unique_by=lambda item: item[0]))
def test_every_key_of_a_built_text_is_on_its_line(items: list[tuple[str, str, int]]) -> None:
    text, wanted = "[[t]]\n[[t]]\n", {}
    for key, value, style in items:
        spelled = [
            _quoted(value),
            f"[\n{_quoted(value)},\n]",
            f"{{ a = {_quoted(value)} }}",
            f'"""\n{value.replace(chr(92), "").replace(chr(34), "")}\n"""',
        ]
        wanted["t", 1, key] = text.count("\n") + 1
        text += f"{_quoted(key)} = {spelled[style]}  # {key.isalnum()}\n"
    tomllib.loads(text)
    found = lines(text)
    assert {path: found[path] for path in wanted} == wanted


def _paths(value: object, path: Path = ()) -> set[Path]:
    inner: list[tuple[str | int, object]] = []
    if isinstance(value, dict):
        inner = list(value.items())
    elif isinstance(value, list):
        inner = list(enumerate(value))
    return {path} | {below for key, item in inner for below in _paths(item, (*path, key))}


def test_every_path_of_a_document_is_found() -> None:
    assert _paths(tomllib.loads(TEXT)) - {()} == set(lines(TEXT))
