"""Patterns that could hang on a garbage line are refused with words; those that meters need are not."""

import re

import pytest

from tally.meters.dialect import PLAIN_PATTERN, DialectFault, LineDialect
from tally.meters.pattern import LONG_LINE, SHORT_LINE, longest_line, trouble


@pytest.mark.parametrize(
    "pattern",
    [
        PLAIN_PATTERN,
        r"P\s+(?P<pulses>\S+)",
        r"(?P<total>[0-9.]+) L",
        r"(?P<total>\d{1,3}(?:,\d{3})*)",
        r"(?i)total:? *(?P<total>[\d.]+) *(?:L|litres?)",
        r"(?:\d\d:){2}\d\d (?P<total>\d+\.\d+)",
    ],
)
def test_a_pattern_of_a_meter_searches_a_whole_line(pattern: str) -> None:
    assert trouble(pattern) is None
    assert longest_line(pattern) == LONG_LINE


@pytest.mark.parametrize(
    ("pattern", "words"),
    [
        (r"(?P<total>([0-9]+)+)x", "a repeat inside a repeat"),
        (r"(?P<total>(?:[0-9]*[.]?)*)x", "a repeat inside a repeat"),
        (r"(?:ab|abc)*(?P<total>\d+)", "an alternative inside a repeat"),
        (r"(\w+) (?P<total>\d+) \1", "a reference back to another group"),
        (r"(?P<total>\d*)\d*\d*\d*x", "more than 3 repeats in a row"),
        (r".*.*.*.*(?P<total>\d)", "more than 3 repeats in a row"),
        (r"(?=(a+)+b)(?P<total>\d+)", "a repeat inside a repeat"),
    ],
)
def test_a_pattern_that_could_hang_is_refused(pattern: str, words: str) -> None:
    assert words in (trouble(pattern) or "")
    with pytest.raises(DialectFault, match=re.escape(words)):
        LineDialect(pattern, {"total": 1e-3})


def test_three_repeats_in_a_row_are_put_to_short_lines_alone() -> None:
    pattern = r".*(?P<total>[\d.]+).*L"
    assert longest_line(pattern) == SHORT_LINE
    dialect = LineDialect(pattern, {"total": 1e-3})
    assert isinstance(dialect.decode(b"x 12.5 L", 0.0, "in"), list)
    refused = dialect.decode(b"1" * (SHORT_LINE + 1), 0.0, "in")
    assert not isinstance(refused, list)
    assert refused.why == f"a line longer than {SHORT_LINE} bytes"


def test_fixed_text_between_repeats_ends_the_row() -> None:
    assert trouble(r"\d+,\d+,\d+,\d+,(?P<total>\d+)") is None
