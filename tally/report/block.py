"""What a document is made of, before it is a page: plain text in its places. No text here is ever markup."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Heading:
    level: int
    text: str


@dataclass(frozen=True, slots=True)
class Strong:
    text: str


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True)
class Items:
    """A list of labelled lines; a line without a label stands alone and begins with our own words."""

    rows: Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Pairs:
    """What each thing is: label and value."""

    rows: Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Table:
    """A column whose name begins with ">" holds numbers and is set to the right."""

    columns: Sequence[str]
    rows: Sequence[Sequence[str]]


@dataclass(frozen=True, slots=True)
class Form:
    """Group, label and value; an empty value is a field to be filled in by hand."""

    columns: Sequence[str]
    rows: Sequence[tuple[str, str, str]]


@dataclass(frozen=True, slots=True)
class Signatures:
    """Lines to write on, each with what belongs on them."""

    rows: Sequence[tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a page with drawings has them."""


Block = Heading | Strong | Words | Items | Pairs | Table | Form | Signatures | Place
