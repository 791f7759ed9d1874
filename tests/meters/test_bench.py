"""The bench: lines beside readings, and counts that are worked by hand."""

import pytest

from tally.meters.bench import Bench
from tally.meters.dialect import plain


def bench(dialect: object = None) -> Bench:
    return Bench(plain() if dialect else None, jump_limit_m3=lambda passed_s: 0.002 + 0.02 * passed_s)


def line(total_l: float) -> bytes:
    return f"T {total_l:.2f} L R 60.00 L/min\r\n".encode()


def test_each_line_stands_beside_what_it_was_read_as() -> None:
    found = bench(plain).feed(1.0, b"tail\r\n" + line(12.5) + b"T 1 L\r\n\x00\xff\x01\r\n")
    assert [heard.data for heard in found] == [line(12.5).strip(), b"T 1 L", b"\x00\xff\x01"]
    assert [[reading.value for reading in heard.readings] for heard in found] == [[0.0125, 0.001], [], []]
    assert [heard.is_text for heard in found] == [True, True, False]
    assert found[1].why == "the line does not fit the pattern"
    assert "baud" in found[2].why


def test_counts_and_what_moved() -> None:
    tried = bench(plain)
    for second, total_l in enumerate([100.0, 101.0, 102.0, 0.5, 1.5]):
        tried.feed(float(second), b"\n" + line(total_l))
    tried.feed(5.0, b"\x00\n\n")
    assert (tried.lines, tried.read, tried.garbage) == (5, 5, 1)
    assert tried.moved_m3 == pytest.approx(0.003)  # 2 L, a reset, 1 L
    assert tried.doubtful_m3 == pytest.approx(0.0005)  # what it showed after the reset
    assert tried.breaks == {"reset": 1}
    assert tried.lines_a_second == pytest.approx(1.0)  # six in five seconds, the first of them at 0


def test_a_dialect_put_on_later_reads_the_lines_before_it_too() -> None:
    tried = bench()
    for second in range(3):
        (heard,) = tried.feed(float(second), b"\n" * (second == 0) + line(100.0 + second))
        assert heard.readings == ()
    tried.read_with(plain())
    assert tried.read == 3
    assert tried.moved_m3 == pytest.approx(0.002)
    tried.feed(3.0, line(103.0))
    assert tried.moved_m3 == pytest.approx(0.003)


def test_a_line_begun_before_the_port_was_opened_anew_is_not_joined() -> None:
    tried = bench(plain)
    tried.feed(0.0, b"\n" + line(100.0) + b"T 1")
    tried.opened()
    tried.feed(1.0, b"01.00 L R 60.00 L/min\r\n" + line(100.5))
    assert tried.lines == 2
    assert tried.moved_m3 == pytest.approx(0.0005)
