"""Any bytes, cut anywhere: no crash, no volume that was not on the wire. A few thousand; a million with -m long.

The few are hypothesis', which makes the smallest failing input of one that fails; the million come of a seeded
generator, an input for each whole number, since nearly all of the time of a hypothesis example is its own.
"""

import random
import struct
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.meters.counter import Counter
from tally.meters.current import CurrentLoop
from tally.meters.decoder import Decoder
from tally.meters.dialect import Dialect, LineDialect, plain, pulse_count
from tally.meters.modbus import ModbusDialect, crc16
from tally.meters.reading import QUANTITIES
from tally.meters.register import Register

ML = 1e-6
LIMIT_M3 = 0.020
FEW = 1_000
PARTS, IN_A_PART = 20, 50_000
"""A million, in parts that workers share."""
DIALECTS: dict[str, Callable[[], Dialect]] = {
    "plain": plain,
    "pulses": lambda: pulse_count(1e-5, 65536),
    "bare": lambda: LineDialect(r".*?(?P<total>[0-9.,]+) ?L?.*", {"total": 1e-3}, decimal=","),
    "current": lambda: LineDialect(
        r"I\s+(?P<current>\S+)\s+mA", {"current": 1e-3}, loop=CurrentLoop("rate_m3_s", 0.0, 0.002), integrates=True
    ),
    "registers": lambda: ModbusDialect((Register("total", 0, 1e-3), Register("rate", 2, 1e-3))),
    "registers over tcp": lambda: ModbusDialect((Register("total", 0, 1e-3),), tcp=True),
}
KNOWN = (b"T 1.5 L R 2 L/min\r\n", b"P 12\n", b"I 12.0 mA\n", b"\r\n", b"T 1", b"\x01\x03", b"", b"9" * 600)
PIECES = st.one_of(
    st.binary(max_size=40),
    st.sampled_from(KNOWN),
    st.builds(lambda at, count: _rtu(struct.pack(">BBHH", 1, 3, at, count)), st.integers(0, 3), st.integers(0, 4)),
    st.builds(lambda words: _rtu(b"\x01\x03" + bytes([len(words)]) + words), st.binary(max_size=8)),
)


def _rtu(body: bytes) -> bytes:
    return body + crc16(body)


def any_bytes(pieces: list[bytes], cuts: list[int], name: str) -> None:
    """What comes out is finite, of a known kind, and a total of rates alone grows by no more than they allow."""
    decoder, counter, stream, at_s = Decoder("in", DIALECTS[name]()), Counter(), b"".join(pieces), 0.0
    while stream:
        size = cuts[int(at_s) % len(cuts)]
        chunk, stream = stream[:size], stream[size:]
        for reading in decoder.feed(at_s, chunk):
            assert reading.quantity in QUANTITIES
            assert abs(reading.value) <= 1e9
            if reading.quantity == "total_m3":
                counter, step = counter.take(reading.value, jump_limit_m3=LIMIT_M3)
                assert 0.0 <= step.increment_m3 <= LIMIT_M3
        at_s += 1.0


def _true_volume(steps_ml: list[int], noise: list[bytes], cuts: list[int]) -> None:
    """Noise between the lines of a meter that only grows: every millilitre is counted, and none besides."""
    total_ml, sent = 5_000, []
    for place, step_ml in enumerate([0, *steps_ml]):
        total_ml += step_ml
        sent.append(f"T {total_ml / 1000:.3f} L R 1.00 L/min\r\n".encode())
        if noise:
            sent.append(noise[place % len(noise)].replace(b"T", b"?") + b"\n")  # noise that is no line of its own
    decoder, counter, counted_m3, stream, at = Decoder("in", plain()), Counter(), 0.0, b"".join(sent), 0
    while stream:
        size = cuts[at % len(cuts)]
        chunk, stream, at = stream[:size], stream[size:], at + 1
        for reading in decoder.feed(float(at), chunk):
            if reading.quantity == "total_m3":
                counter, step = counter.take(reading.value, jump_limit_m3=LIMIT_M3)
                counted_m3 += step.increment_m3
    assert counted_m3 == pytest.approx(sum(steps_ml) * ML, abs=1e-9)
    assert decoder.lines == len(steps_ml) + 1


def _noisy_volume(steps_ml: list[int], noise: list[bytes], at: list[int]) -> None:
    """Noise anywhere, also within a line: what is counted may fall short of what flowed, and never passes it."""
    total_ml, stream = 5_000, bytearray()
    for step_ml in [0, *steps_ml]:
        total_ml += step_ml
        stream += f"T {total_ml / 1000:.3f} L R 1.00 L/min\r\n".encode()
    for place, piece in zip(at, noise, strict=False):
        where = place % (len(stream) + 1)
        stream[where:where] = piece
    decoder, counter, counted_m3 = Decoder("in", plain()), Counter(), 0.0
    for reading in decoder.feed(0.0, bytes(stream)):
        if reading.quantity == "total_m3":
            counter, step = counter.take(reading.value, jump_limit_m3=LIMIT_M3)
            counted_m3 += step.increment_m3
    assert counted_m3 <= sum(steps_ml) * ML + 1e-9


_NO_DIGITS = bytes(code if not 0x30 <= code <= 0x39 and code not in b"eE+-." else 0x3F for code in range(256))
"""A digit that slips into a line makes another true-looking line of it; that is a meter's own check to find."""
CUTS = st.lists(st.integers(1, 60), min_size=1, max_size=8)
STEPS = st.lists(st.integers(0, 19_000), max_size=20)
NOISE = st.lists(st.binary(max_size=30), max_size=5)
LETTERS = st.lists(st.binary(min_size=1, max_size=6).map(lambda data: data.translate(_NO_DIGITS)), max_size=5)
few = settings(max_examples=FEW, suppress_health_check=[HealthCheck.too_slow])


@few
@given(st.lists(PIECES, max_size=12), CUTS, st.sampled_from(sorted(DIALECTS)))
def test_any_bytes(pieces: list[bytes], cuts: list[int], name: str) -> None:
    any_bytes(pieces, cuts, name)


@few
@given(STEPS, NOISE, CUTS)
def test_noise_between_lines_costs_and_adds_nothing(steps_ml: list[int], noise: list[bytes], cuts: list[int]) -> None:
    _true_volume(steps_ml, noise, cuts)


@few
@given(STEPS, LETTERS, st.lists(st.integers(0, 10_000), min_size=5, max_size=5))
def test_noise_within_lines_adds_nothing(steps_ml: list[int], noise: list[bytes], at: list[int]) -> None:
    _noisy_volume(steps_ml, noise, at)


# --- a million -------------------------------------------------------------------------------------------------------


def _piece(chance: random.Random) -> bytes:
    kind = chance.randrange(4)
    if kind == 0:
        return chance.randbytes(chance.randrange(41))
    if kind == 1:
        return chance.choice(KNOWN)
    if kind == 2:
        return _rtu(struct.pack(">BBHH", 1, 3, chance.randrange(4), chance.randrange(5)))
    words = chance.randbytes(chance.randrange(9))
    return _rtu(b"\x01\x03" + bytes([len(words)]) + words)


def _bytes_of(chance: random.Random, most: int, longest: int, least: int = 0) -> list[bytes]:
    return [chance.randbytes(chance.randint(least, longest)) for _ in range(chance.randint(0, most))]


def seeded_input(seed: int) -> None:
    """Input number `seed`: of ten, eight are any bytes, one noise between lines and one noise within them."""
    chance = random.Random(seed)
    cuts = [chance.randint(1, 60) for _ in range(chance.randint(1, 8))]
    if seed % 10 < 8:
        pieces = [_piece(chance) for _ in range(chance.randint(0, 12))]
        any_bytes(pieces, cuts, sorted(DIALECTS)[chance.randrange(len(DIALECTS))])
        return
    steps_ml = [chance.randrange(19_001) for _ in range(chance.randint(0, 20))]
    if seed % 10 == 8:
        _true_volume(steps_ml, _bytes_of(chance, 5, 30), cuts)
        return
    letters = [data.translate(_NO_DIGITS) for data in _bytes_of(chance, 5, 6, least=1)]
    _noisy_volume(steps_ml, letters, [chance.randrange(10_001) for _ in range(5)])


@pytest.mark.parametrize("seed", range(200))
def test_some_of_the_million(seed: int) -> None:
    seeded_input(seed)


@pytest.mark.long
@pytest.mark.parametrize("part", range(PARTS))
def test_a_million_inputs(part: int) -> None:
    for seed in range(part * IN_A_PART, (part + 1) * IN_A_PART):
        try:
            seeded_input(seed)
        except Exception as error:
            raise AssertionError(f"input {seed}: tests.meters.test_fuzz.seeded_input({seed})") from error
