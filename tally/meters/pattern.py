"""How long a pattern can take over one line: what could hang on a garbage line is refused before any line comes.

A regular expression that backtracks tries every way to share a line out among its repeats. Repeats inside repeats have
more ways than a job has hours; a few repeats of the same characters in a row have as many as the line's length to the
power of their number.
"""

import importlib
import re
from collections.abc import Callable, Iterable, Iterator
from typing import Any

MOST_IN_A_ROW = 3
FEW = 8
"""A repeat of no more than this is a fixed width rather than a search."""
LONG_LINE, SHORT_LINE = 512, 160
"""Bytes of a line that are looked at, by how hard the pattern has to search: 160 cubed is a fraction of a second."""

_ASCII = frozenset(range(128))
_CLASSES: dict[str, Callable[[str], bool]] = {
    "DIGIT": str.isdigit,
    "SPACE": str.isspace,
    "WORD": lambda character: character.isalnum() or character == "_",
}

Node = tuple[Any, Any]


def trouble(pattern: str) -> str | None:
    """Why `pattern` could hang, in plain words; None where it cannot. The pattern is one that compiles."""
    nodes = list(_parsed(pattern))
    if words := _nested(nodes, inside=False):
        return words
    if _in_a_row(pattern) > MOST_IN_A_ROW:
        return f"more than {MOST_IN_A_ROW} repeats in a row that take the same characters; put fixed text between them"
    return None


def longest_line(pattern: str) -> int:
    """How many bytes of a line the pattern may be put to."""
    return SHORT_LINE if _in_a_row(pattern) >= MOST_IN_A_ROW else LONG_LINE


def _parsed(pattern: str) -> Iterable[Node]:
    """The pattern as the standard library reads it: a list of (name of the kind, content)."""
    reader = importlib.import_module("re._parser")  # private, and the only place where a pattern's structure is known
    found: Iterable[Node] = reader.parse(pattern)
    return found


def _nested(nodes: Iterable[Node], *, inside: bool) -> str | None:
    for kind, content in nodes:
        name = str(kind)
        if name.startswith("GROUPREF") or (inside and name == "BRANCH"):
            return "an alternative inside a repeat" if name == "BRANCH" else "a reference back to another group"
        if name in ("MAX_REPEAT", "MIN_REPEAT"):
            low, high, body = content
            if inside and low != high:
                return "a repeat inside a repeat"
            words = _nested(body, inside=inside or _many(high))
        else:
            words = next((found for part in _parts(name, content) if (found := _nested(part, inside=inside))), None)
        if words:
            return words
    return None


def _many(high: Any) -> bool:
    return int(high) > 1


def _parts(name: str, content: Any) -> Iterator[Iterable[Node]]:
    """What stands inside a group or an alternative."""
    if name == "SUBPATTERN":
        yield content[3]
    elif name == "BRANCH":
        yield from content[1]
    elif name in ("ASSERT", "ASSERT_NOT"):
        yield content[1]
    elif name == "ATOMIC_GROUP":
        yield content


def _in_a_row(pattern: str) -> int:
    """The largest number of repeats, one after another, that a line of one and the same character could go to."""
    flat = list(_flat(_parsed(pattern), folded=bool(re.compile(pattern).flags & re.IGNORECASE)))
    most = 0
    for code in _ASCII:
        run = 0
        for characters, repeats, needed in flat:
            if repeats and code in characters:
                run += 1
                most = max(most, run)
            elif needed and code not in characters:
                run = 0
    return most


def _flat(nodes: Iterable[Node], *, folded: bool) -> Iterator[tuple[frozenset[int], bool, bool]]:
    """(characters, whether it repeats without an end in sight, whether one must be there) of each piece in turn."""
    for kind, content in nodes:
        name = str(kind)
        if name in ("MAX_REPEAT", "MIN_REPEAT", "POSSESSIVE_REPEAT"):
            low, high, body = content
            within = list(_flat(body, folded=folded))
            characters = frozenset().union(*(piece[0] for piece in within))
            yield characters, int(high) > FEW and name != "POSSESSIVE_REPEAT", int(low) > 0
        elif name == "BRANCH":  # each way may be taken: all of their repeats count, none of their fixed text is sure
            for way in content[1]:
                yield from ((characters, repeats, False) for characters, repeats, _ in _flat(way, folded=folded))
        elif name in ("SUBPATTERN", "ATOMIC_GROUP"):
            yield from _flat(content[3] if name == "SUBPATTERN" else content, folded=folded)
        elif name in ("LITERAL", "NOT_LITERAL", "ANY", "IN"):
            yield _characters(name, content, folded), False, True


def _characters(name: str, content: Any, folded: bool) -> frozenset[int]:
    """The ASCII characters that one piece takes."""
    if name == "LITERAL":
        both = {content, ord(chr(content).swapcase())} if folded and chr(content).isalpha() else {content}
        return frozenset(both) & _ASCII
    if name == "NOT_LITERAL":
        return _ASCII - {content}
    if name == "ANY":
        return _ASCII
    found: set[int] = set()
    negated = False
    for kind, value in content:
        word = str(kind)
        if word == "NEGATE":
            negated = True
        elif word == "RANGE":
            found |= set(range(value[0], min(value[1], 127) + 1))
        elif word == "CATEGORY":
            found |= _category(str(value))
        else:
            found |= _characters(word, value, folded)
    if folded:
        found |= {ord(chr(code).swapcase()) for code in found if code < 128}
    return _ASCII - found if negated else frozenset(found) & _ASCII


def _category(name: str) -> frozenset[int]:
    """CATEGORY_NOT_SPACE and the like."""
    belongs = next(test for word, test in _CLASSES.items() if name.endswith(word))
    members = frozenset(code for code in _ASCII if belongs(chr(code)))
    return _ASCII - members if "_NOT_" in name else members
