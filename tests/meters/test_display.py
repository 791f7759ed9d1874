"""Registers against a display: every way that reads it, and no other; by hand, and against the standard library."""

import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.meters.display import Way, readings, shown, still, ways
from tally.meters.register import ORDERS, TYPES, Order, Type
from tests.published.tables import Row, rows


def as_words(value: float, kind: Type, order: Order) -> list[int]:
    """What a device of that order sends, worked out the other way round: by the standard library's packing."""
    data = struct.pack(TYPES[kind], value)
    pairs = [data[at : at + 2] for at in range(0, len(data), 2)]
    if order in ("CDAB", "DCBA"):
        pairs.reverse()
    if order in ("BADC", "DCBA"):
        pairs = [pair[::-1] for pair in pairs]
    return [int.from_bytes(pair, "big") for pair in pairs]


@pytest.mark.parametrize("row", rows("float-order"), ids=repr)
def test_a_published_float_is_read_in_its_order_alone(row: Row) -> None:
    found = ways(row["words"], 100, shown(f"{row['value']:g}"))
    assert found == [Way(100, "float32", row["order"], 1.0)]


@pytest.mark.parametrize(
    ("text", "value", "digit"),
    [("1234.5", 1234.5, 0.1), ("0012.340", 12.34, 0.001), (" 7 ", 7.0, 1.0), ("-3.", -3.0, 1.0)],
)
def test_the_number_of_a_display_and_its_last_digit(text: str, value: float, digit: float) -> None:
    found = shown(text)
    assert [found.value, found.digit] == pytest.approx([value, digit])


@pytest.mark.parametrize(
    ("text", "words"), [("", "nothing"), ("12,5", "with a point"), ("1e3", "with a point"), ("0.00", "zero")]
)
def test_what_is_no_display_is_refused_in_words(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        shown(text)


def test_whole_numbers_by_hand() -> None:
    # 12 345 tenths of a litre are 0x0000 3039; low word first it is 0x3039 0x0000, where one word alone reads it too
    assert ways([0x0000, 0x3039], 0, shown("1234.5")) == [
        Way(0, "uint32", "ABCD", 0.1, "int32"),
        Way(1, "uint16", "ABCD", 0.1, "int16"),
    ]
    low_first = ways([0x3039, 0x0000], 0, shown("1234.5"))
    assert [(way.type, way.order) for way in low_first] == [("uint16", "ABCD"), ("uint32", "CDAB")]
    # once 100 000 tenths are past, only two words can tell: 0x0001 86A0
    assert [(way.type, way.order) for way in still(low_first, [0x86A0, 0x0001], 0, shown("10000.0"))] == [
        ("uint32", "CDAB")
    ]


def test_a_sign_that_shows_and_one_that_does_not() -> None:
    minus_seven = [0xFFF9]
    assert ways(minus_seven, 0, shown("-7"), signed=True) == [Way(0, "int16", "ABCD", 1.0)]
    assert ways([0x0007], 0, shown("7"), signed=True)[0] == Way(0, "int16", "ABCD", 1.0, "uint16")
    assert ways([0x0007], 0, shown("7"))[0] == Way(0, "uint16", "ABCD", 1.0, "int16")


def test_pulses_have_no_scale_and_a_last_digit_is_all_that_may_differ() -> None:
    assert ways([1234], 0, shown("123.4"), counts=True) == []
    assert ways([1234], 0, shown("1235"), counts=True) != []
    assert ways([1234], 0, shown("1236"), counts=True) == []


def test_what_they_would_read_where_none_does() -> None:
    # 0x449A5000 is 1234.5 (IEEE 754: exponent 137 - 127 = 10, 1.2055664 x 1024)
    assert ways([0x449A, 0x5000], 0, shown("42.0")) == []
    table = {kind: dict(each) for kind, each in readings([0x449A, 0x5000])}
    assert table["float32"]["ABCD"] == 1234.5
    assert table["uint16"] == {"ABCD": 0x449A, "BADC": 0x9A44}
    assert "uint64" not in table


@given(
    st.integers(1_000_000, 99_999_999), st.integers(0, 3), st.sampled_from(["uint32", "int32", "float64"]),
    st.sampled_from(ORDERS), st.lists(st.integers(0, 0xFFFF), max_size=2),
)  # fmt: skip
def test_the_true_way_is_always_among_them(count: int, digits: int, kind: Type, order: Order, after: list[int]) -> None:
    display = f"{count / 10**digits:.{digits}f}"
    held = count / 10**digits if kind == "float64" else count
    found = ways([*as_words(held, kind, order), *after], 40, shown(display), signed=kind == "int32")
    scale = 1.0 if kind == "float64" else 10.0**-digits
    assert any(
        way.address == 40 and kind in (way.type, way.twin) and way.order == order and way.scale == pytest.approx(scale)
        for way in found
    )


@given(st.lists(st.integers(0, 0xFFFF), min_size=1, max_size=4), st.decimals(1, 99_999, places=2))
def test_no_way_is_told_that_does_not_read_the_display(words: list[int], number: object) -> None:
    display = shown(str(number))
    for way in ways(words, 7, display):
        assert abs(way.value(words, 7) - display.value) <= display.digit * 1.001
