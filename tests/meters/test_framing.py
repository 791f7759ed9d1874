"""The line framer: however a stream is cut up, the same lines come out, and nothing that nobody sent."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.meters.framing import Frame, Garbage, LineFramer

TEXT = st.text(st.characters(min_codepoint=0x20, max_codepoint=0x7E), min_size=1, max_size=40).map(str.encode)
END = st.sampled_from([b"\r", b"\n", b"\r\n"])


def fed(framer: LineFramer, *chunks: bytes) -> list[Frame | Garbage]:
    return [found for chunk in chunks for found in framer.feed(chunk)]


@pytest.mark.parametrize("end", [b"\r", b"\n", b"\r\n", b"\n\r", b"\r\n\r\n"])
def test_every_line_end_ends_a_line(end: bytes) -> None:
    assert fed(LineFramer(), b"one" + end + b"two" + end) == [Frame(b"one"), Frame(b"two")]


def test_a_line_without_its_end_is_kept_back() -> None:
    framer = LineFramer()
    assert framer.feed(b"T 0012") == []
    assert framer.feed(b"34.5\n") == [Frame(b"T 001234.5")]


@given(st.lists(st.tuples(TEXT, END), max_size=8), st.data())
def test_whole_halved_and_byte_by_byte_are_the_same(lines: list[tuple[bytes, bytes]], data: st.DataObject) -> None:
    stream = b"".join(text + end for text, end in lines)
    expected = [Frame(text) for text, _ in lines]
    cut = data.draw(st.integers(0, len(stream)))
    assert fed(LineFramer(), stream) == expected
    assert fed(LineFramer(), stream[:cut], stream[cut:]) == expected
    assert fed(LineFramer(), *(stream[i : i + 1] for i in range(len(stream)))) == expected


@given(st.binary(max_size=80), st.binary(max_size=80), TEXT, TEXT)
def test_garbage_costs_no_line_that_stands_apart(before: bytes, after: bytes, one: bytes, two: bytes) -> None:
    found = fed(LineFramer(), before + b"\n" + one + b"\r\n" + after + b"\n" + two + b"\r\n")
    frames = [f.data for f in found if isinstance(f, Frame)]
    assert one in frames
    assert frames[-1] == two


@given(st.lists(st.binary(max_size=60), max_size=10))
def test_any_bytes_give_only_what_was_sent(chunks: list[bytes]) -> None:
    stream = b"".join(chunks)
    framer = LineFramer(16)
    for found in fed(framer, *chunks):
        assert found.data in stream
        assert len(found.data) <= 16
        assert b"\n" not in found.data
        assert b"\r" not in found.data
    assert framer.dropped_bytes <= len(stream)


@given(st.lists(st.binary(max_size=60), max_size=10))
def test_any_bytes_are_cut_up_alike(chunks: list[bytes]) -> None:
    assert fed(LineFramer(16), *chunks) == fed(LineFramer(16), b"".join(chunks))


def test_an_overlong_line_is_reported_once_and_dropped_to_the_next_end() -> None:
    framer = LineFramer(10)
    assert framer.feed(b"x" * 10) == []
    (found,) = framer.feed(b"y" * 5000)
    assert isinstance(found, Garbage)
    assert "longer than 10 bytes" in found.why
    assert framer.feed(b"z" * 5000) == []
    assert framer.dropped_bytes == 10_010
    assert framer.feed(b"tail\nT 1\n") == [Frame(b"T 1")]


def test_a_line_of_exactly_the_longest_length_passes() -> None:
    assert LineFramer(10).feed(b"0123456789\n") == [Frame(b"0123456789")]


def test_binary_is_garbage_and_brackets_are_not() -> None:
    binary, bracketed = LineFramer().feed(b"\x00\x81T 1\n\x02T 1\x03\n")
    assert isinstance(binary, Garbage)
    assert bracketed == Frame(b"\x02T 1\x03")


def test_what_may_be_the_tail_of_a_line_is_dropped() -> None:
    assert fed(LineFramer(mid_line=True), b"4.5", b"6\n1240.00\n") == [Frame(b"1240.00")]
