"""From bytes to readings: cut up in any way, with noise around, across a port that was opened again."""

from hypothesis import given
from hypothesis import strategies as st

from tally.meters.decoder import Decoder
from tally.meters.dialect import Undecoded, plain
from tally.meters.framing import Framer, LineFramer
from tally.meters.reading import Reading


def line(hundredths_l: int) -> bytes:
    return f"T {hundredths_l / 100:09.2f} L R 60.00 L/min\r\n".encode()


def totals(readings: list[Reading]) -> list[int]:
    return [round(r.value * 1e5) for r in readings if r.quantity == "total_m3"]


@given(st.lists(st.integers(0, 10**8), max_size=6), st.data())
def test_cuts_change_nothing(sent: list[int], data: st.DataObject) -> None:
    stream = b"".join(map(line, sent))
    cuts = sorted(data.draw(st.lists(st.integers(0, len(stream)), max_size=6)))
    decoder, found = Decoder("in", plain()), []
    for start, end in zip([0, *cuts], [*cuts, len(stream)], strict=True):
        if start < end:
            found += decoder.feed(float(end), stream[start:end])
    assert totals(found) == sent
    assert (decoder.lines, decoder.garbage) == (len(sent), 0)


@given(
    st.lists(st.integers(0, 10**8), min_size=2, max_size=6), st.lists(st.binary(max_size=60), min_size=6, max_size=6)
)
def test_noise_between_lines_invents_nothing(sent: list[int], noise: list[bytes]) -> None:
    stream = b"".join(dirt + b"\n" + line(total) for total, dirt in zip(sent, noise, strict=False))
    assert totals(Decoder("in", plain()).feed(1.0, stream)) == sent


@given(st.integers(0, 10**8), st.integers(0, 10**8), st.integers(1, 24))
def test_a_torn_line_is_not_joined_to_what_comes_after_reopening(one: int, two: int, cut: int) -> None:
    decoder = Decoder("in", plain())
    decoder.feed(1.0, line(one)[:cut])
    decoder.feed(2.0, b"")
    assert totals(decoder.feed(3.0, line(two))) == [two]
    assert decoder.garbage == 0


def test_readings_carry_the_time_at_which_their_line_was_whole() -> None:
    decoder = Decoder("in", plain())
    assert decoder.feed(1.0, line(5)[:9]) == []
    assert {r.mono_s for r in decoder.feed(2.5, line(5)[9:])} == {2.5}


def test_trouble_is_counted_and_told() -> None:
    decoder = Decoder("in", plain())
    decoder.feed(1.0, b"Q 12\x1b[31m\r\nQ 13\r\n\r\n")
    assert (decoder.lines, decoder.garbage) == (0, 2)
    assert decoder.last_trouble == Undecoded("Q 13", "the line does not fit the pattern")


def test_a_dialect_that_raises_costs_one_line() -> None:
    class Broken:
        def framer(self) -> Framer:
            return LineFramer()

        def claims(self, frame: bytes) -> bool:
            return True

        def decode(self, frame: bytes, mono_s: float, channel: str) -> list[Reading] | Undecoded:
            return [Reading(mono_s, channel, "total_m3", 1 / int(frame))]

    decoder = Decoder("in", Broken())
    (reading,) = decoder.feed(1.0, b"0\nx\n4\n")
    assert reading.value == 0.25
    assert decoder.garbage == 2
