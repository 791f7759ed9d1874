"""Text from anywhere stays in its cell. What a page shows is read back by a general-purpose CommonMark parser with GFM
tables and strikethrough."""

import unicodedata

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tally import formats
from tally.report.layout import PADDED_TO, escaped, heading, items, strong, table
from tests.report.reading import cells, plain_text

HOSTILE = (
    "[/] [red] | \n # <b> ` `` ~~x~~ **y** _z_ ![a](http://b) &lt; &#124; \\| \\ $x$",
    "| --- | --- |\n| a | b |",
    "<script>alert(1)</script><!-- ",
    "a\r\n\r\n# heading\n- item\n```\ncode",
    "\u202egnorw\u202c \u2066x\u2069 \u200b\ufeff",
    "\x1b[31mred\x07\x00",
    "מלט 12 | 34",
    "x" * 10_000,
    "|" * 10_000,
    "\\" * 101,
    "`",
    "",
)
ISOLATES = "\u2068\u2069"


def shown(text: str) -> str:
    return " ".join(formats.plain(text).split())


@given(st.text(max_size=60))
@pytest.mark.parametrize("wrap", [lambda text: text, lambda text: f"{text}|", lambda text: f"\\{text}"])
def test_any_text_stays_in_its_cell(wrap, text: str) -> None:  # type: ignore[no-untyped-def]
    given_text = wrap(text)
    (rows,) = cells(table(("A", ">B", "C"), [("first", given_text, "third")]))
    assert [cell.strip(ISOLATES) for cell in rows[1]] == ["first", shown(given_text), "third"]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_shown_and_does_nothing(text: str) -> None:
    block = table(("A", "B", ">C"), [(text, text, "7"), ("next", text, "8")])
    (rows,) = cells(block)
    assert [[cell.strip(ISOLATES) for cell in row] for row in rows] == [
        ["A", "B", "C"],
        [shown(text), shown(text), "7"],
        ["next", shown(text), "8"],
    ]
    assert len(block.splitlines()) == 4
    assert {unicodedata.category(character) for character in block} & {"Cc", "Cs", "Co"} <= {"Cc"}
    assert not set(block) & set("\u202a\u202b\u202d\u202e\u2066\u2067\u200b\x1b\x00\r")


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_stays_in_heading_and_item(text: str) -> None:
    page = "\n\n".join((heading(2, f"Stage {text}"), items([("Label", text), ("", f"Words {text}")]), strong("end")))
    kinds, texts = plain_text(page)
    assert kinds == ["h2", "li", "li", "p"]
    wanted = (f"Stage {text}", f"Label: {text}", f"Words {text}", "end")
    assert [words.replace("\u2068", "").replace("\u2069", "") for words in texts] == [shown(words) for words in wanted]


@given(st.text(max_size=40))
@example("שלום")
def test_right_to_left_writing_is_set_apart(text: str) -> None:
    """UAX 9: text of unknown direction goes between FIRST STRONG ISOLATE and POP DIRECTIONAL ISOLATE."""
    line = escaped(text)
    reorders = any(unicodedata.bidirectional(character) in ("R", "AL", "AN") for character in formats.plain(text))
    assert (line[:1] == "\u2068", line[-1:] == "\u2069") == (reorders, reorders)
    assert line.count("\u2068") == line.count("\u2069") == int(reorders)


def test_ordinary_words_stay_as_they_are() -> None:
    for text in ('8 5/8" casing, 12.5 m', "R&D (north)", "a_b_c", "Ø 219.1 mm ± 1 %", "don't; 14:03 - 15:00"):
        assert escaped(text) == text


def test_columns_line_up_in_a_terminal() -> None:
    lines = table(("Name", ">Volume", "Remark"), [("a", "1 L", "x"), ("漢字", "1,000 L", "much longer")]).splitlines()
    assert lines == [
        "| Name | " + " Volume | Remark |",
        "| ---- | ------: | --- |",
        "| a    |     1 L | x |",
        "| 漢字 | 1,000 L | much longer |",
    ]


def test_a_long_cell_does_not_widen_its_column() -> None:
    lines = table(("A", "B"), [("x" * 500, "1"), ("y", "2")]).splitlines()
    assert lines[3] == f"| y{' ' * (PADDED_TO - 1)} | 2 |"
