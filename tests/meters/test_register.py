"""Words of registers to numbers, held against IEEE 754 as published and against the standard library."""

import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.meters.register import ORDERS, TYPES, Register, RegisterFault, Type, number, orders_that_read
from tests.published.tables import Row, rows


@pytest.mark.parametrize("row", rows("float-order"), ids=repr)
def test_each_order_of_a_published_float(row: Row) -> None:
    assert number(row["words"], "float32", row["order"]) == row["value"]
    assert orders_that_read(row["words"], "float32", 123_450.0) == [row["order"]]


def test_the_standard_order_is_the_order_of_the_standard_library() -> None:
    for kind, layout in TYPES.items():
        value = 1234.5 if layout.endswith(("f", "d")) else 1234
        data = struct.pack(layout, value)
        assert number(struct.unpack(f">{len(data) // 2}H", data), kind, "ABCD") == value


def test_an_integer_in_two_words_by_hand() -> None:
    # 0x0001 0x86A0 = 65 536 + 34 464 = 100 000; low word first it is 0x86A0 0x0001
    assert number([0x0001, 0x86A0], "uint32", "ABCD") == 100_000
    assert number([0x86A0, 0x0001], "uint32", "CDAB") == 100_000
    assert number([0xFFFF], "int16", "ABCD") == -1
    assert number([0x3412], "uint16", "BADC") == 0x1234


@given(words=st.lists(st.integers(0, 0xFFFF), min_size=4, max_size=4), kind=st.sampled_from(sorted(TYPES)))
def test_every_order_reads_the_same_words_and_none_fails(words: list[int], kind: Type) -> None:
    count = struct.calcsize(TYPES[kind]) // 2
    for order in ORDERS:
        number(words[:count], kind, order)


def test_a_known_reading_that_no_order_gives() -> None:
    assert orders_that_read([0x47F1, 0x2000], "float32", 42.0) == []
    assert orders_that_read([0x04D2], "uint16", 12.34, scale=0.01) == ["ABCD", "CDAB"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"address": 65535}, "accepted is 0 to 65534"),
        ({"unit": 0}, "accepted is 1 to 247"),
        ({"factor": 0.0}, "above zero"),
        ({"type": "float16"}, "accepted are holding, input, uint16"),
    ],
)
def test_a_register_that_cannot_be_is_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(RegisterFault, match=words):
        Register(**({"name": "total", "address": 0, "factor": 1e-3} | change))  # type: ignore[arg-type]
