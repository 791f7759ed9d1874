"""Patterns proposed from lines: each is tried with the dialect itself on the very lines it came from."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.meters.dialect import LineDialect
from tally.meters.proposal import Proposal, decimal_comma, is_plain, proposals
from tally.meters.reading import Reading

# what a meter prints (t grows, r wanders, n is whole, c is a checksum) -> the values and units that it names
MEANT = {
    "T {t:09.2f} L R {r:.2f} L/min": {"total": "L", "rate": "L/min"},
    "TOT={t:.1f}gal;FLOW={r:.1f}gpm": {"total": "gal", "rate": "gal/min"},
    "12:30:{s:02d} Total: {t:.2f} US gal  Rate: {r:.2f} US gal/min": {"total": "US gal", "rate": "US gal/min"},
    "V {t:.3f} imp gal": {"total": "imp gal"},
    "#01,{t:.2f},L,{r:.2f},L/min*{c:02X}": {"total": "L", "rate": "L/min"},
    "Q {r:.1f} m3/h V {t:.2f} m3 D 1.85 kg/L P 3.2 bar": {
        "rate": "m3/h", "total": "m3", "density": "kg/L", "pressure": "bar",
    },
    "{t:.1f} L ({r:.0f} L/min)": {"total": "L", "rate": "L/min"},
    "R {r:.2f} T {t:.1f}": {"rate": "?", "total": "?"},  # T is a name here, no tonne
    "{t:.3f}": {"total": "?"},
    "P {n:07d}": {"pulses": "?"},
    "W 3.21 t": {"force": "t"},
    "A 7 B {t:.1f} C 9": {"total": "?"},  # only one number grows
}  # fmt: skip


def printed(form: str, count: int = 8) -> list[str]:
    return [
        form.format(t=99 + i * 1.37, r=60 + i % 3, n=998 + 7 * i, s=i, c=i * 37 % 256)
        for i in range(1, count + 1)
    ]  # fmt: skip


@pytest.mark.parametrize("form", MEANT)
def test_a_proposal_names_what_the_line_says_and_takes_every_line(form: str) -> None:
    best = proposals(printed(form))[0]
    assert (best.units, best.takes, best.of) == (MEANT[form], 8, 8)
    assert best.complete == ("?" not in best.units.values() and "gal" not in best.units.values())


def test_it_reads_the_value_that_stands_beside_the_name() -> None:
    lines = printed("R {r:.2f} l/s T {t:.1f} m3")
    best = proposals(lines)[0]
    dialect = LineDialect(best.pattern, {"rate": 1e-3, "total": 1.0})
    assert dialect.decode(lines[0].encode(), 1.0, "x") == [
        Reading(1.0, "x", "rate_m3_s", 0.061),
        Reading(1.0, "x", "total_m3", pytest.approx(100.4)),  # type: ignore[arg-type]
    ]


def test_lines_of_two_kinds_give_a_proposal_each_and_say_how_many_it_takes() -> None:
    lines = printed("TOTAL {t:.1f} L", 6) + printed("BATTERY 12.{s} V", 3)
    found = proposals(lines)
    assert (found[0].units, found[0].takes, found[0].of) == ({"total": "L"}, 6, 9)


@pytest.mark.parametrize("lines", [[], ["hello"] * 9, ["T 1.0 L"] * 2, ["(((", "\\d+", "?P<"] * 5])
def test_too_little_gives_none(lines: list[str]) -> None:
    assert proposals(lines) == []


def test_a_decimal_comma_is_told_and_never_read_as_two_numbers() -> None:
    lines = [f"T {100 + i},25 L" for i in range(6)]
    assert decimal_comma(lines)
    assert proposals(lines) == []
    assert not decimal_comma(["1,2,3", "T 1,000.5"])


def test_the_plain_dialect_is_recognised() -> None:
    assert is_plain(printed("T {t:09.2f} L R {r:.2f} L/min"))
    assert not is_plain([*printed("T {t:09.2f} L R {r:.2f} L/min"), "ERR"])
    assert not is_plain([])


@given(st.lists(st.text(alphabet="T 0123456789.,:;=*()[]+?\\|L/minR-", max_size=40), max_size=12))
def test_whatever_comes_a_proposal_is_a_pattern_that_the_dialect_takes(lines: list[str]) -> None:
    for found in proposals(lines * 3):
        assert isinstance(found, Proposal)
        re.compile(found.pattern)
        LineDialect(found.pattern, dict.fromkeys(found.units, 1e-3))
        assert 0 <= found.takes <= found.of
