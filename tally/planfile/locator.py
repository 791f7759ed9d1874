"""Key path to line number, for a TOML text that tomllib has already accepted: tomllib itself keeps no places.

A path is made of keys and, for arrays and arrays of tables, positions from 0: ("hole", "section", 1, "diameter").
"""

import re
from bisect import bisect_right

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE = re.compile(r"[^,\]}\n#]*")
_STRING = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}(?!")' r"|'''.*?'{3,5}(?!')" r'|"(?:\\.|[^"\\\n])*"' r"|'[^'\n]*'",
    re.DOTALL,
)
_ESCAPE = re.compile(r'\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|([btnfr"\\]))')
_ESCAPED = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}


def lines(text: str) -> dict[Path, int]:
    """The line, from 1, on which each key, table and array item begins. Raises nothing on text that is valid TOML."""
    return _Scanner(text).found()


def line_of(found: dict[Path, int], path: Path) -> int | None:
    """The line of `path`, or of the nearest thing around it where it is missing itself."""
    for length in range(len(path), 0, -1):
        if path[:length] in found:
            return found[path[:length]]
    return None


class _Scanner:
    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._starts = [0, *(match.end() for match in re.finditer("\n", text))]
        self._lines: dict[Path, int] = {}
        self._count: dict[Path, int] = {}

    def found(self) -> dict[Path, int]:
        table: Path = ()
        self._skip(_BLANK)
        while self._at < len(self._text):
            if self._text[self._at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_BLANK)
        return self._lines

    def _header(self) -> Path:
        start = self._at
        double = self._text.startswith("[[", start)
        self._at += 2 if double else 1
        keys = self._keys()
        self._skip(_SPACE)
        self._at += 2 if double else 1
        path: Path = ()
        for key in keys[:-1]:
            self._mark((*path, key), start)
            path = self._latest((*path, key))
        path = (*path, keys[-1])
        self._mark(path, start)
        if not double:
            return self._latest(path)
        self._count[path] = self._count.get(path, 0) + 1
        path = self._latest(path)
        self._mark(path, start)
        return path

    def _latest(self, path: Path) -> Path:
        """A table named inside an array of tables belongs to the last one so far."""
        return (*path, self._count[path] - 1) if path in self._count else path

    def _pair(self, table: Path) -> None:
        start = self._at
        path = table
        for key in self._keys():
            path = (*path, key)
            self._mark(path, start)
        self._skip(_SPACE)
        self._at += 1  # the equals sign
        self._skip(_SPACE)
        self._value(path)

    def _keys(self) -> list[str]:
        keys: list[str] = []
        while True:
            self._skip(_SPACE)
            quoted = self._text[self._at : self._at + 1] in ("'", '"')
            written = self._take(_STRING if quoted else _BARE_KEY)
            keys.append(_unquoted(written) if quoted else written)
            self._skip(_SPACE)
            if self._text[self._at : self._at + 1] != ".":
                return keys
            self._at += 1

    def _value(self, path: Path) -> None:
        first = self._text[self._at : self._at + 1]
        if first == "[":
            self._array(path)
        elif first == "{":
            self._inline_table(path)
        else:
            self._take(_STRING if first in ("'", '"') else _BARE_VALUE)

    def _array(self, path: Path) -> None:
        self._at += 1
        for number in range(len(self._text)):
            self._skip(_BLANK)
            if self._closes("]"):
                return
            self._mark((*path, number), self._at)
            self._value((*path, number))
            self._skip(_BLANK)
            self._closes(",")

    def _inline_table(self, path: Path) -> None:
        self._at += 1
        while True:
            self._skip(_BLANK)
            if self._closes("}"):
                return
            self._pair(path)
            self._skip(_BLANK)
            self._closes(",")

    def _closes(self, mark: str) -> bool:
        here = self._text[self._at : self._at + 1] == mark
        self._at += here
        return here

    def _skip(self, pattern: re.Pattern[str]) -> None:
        self._take(pattern)

    def _take(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self._text, self._at)
        if match is None:
            raise ValueError(f"not TOML at character {self._at}")
        self._at = match.end()
        return match.group()

    def _mark(self, path: Path, at: int) -> None:
        self._lines.setdefault(path, bisect_right(self._starts, at))


def _unquoted(written: str) -> str:
    if written.startswith("'"):
        return written[1:-1]
    return _ESCAPE.sub(
        lambda match: _ESCAPED[match[3]] if match[3] else chr(int(match[1] or match[2], 16)), written[1:-1]
    )
