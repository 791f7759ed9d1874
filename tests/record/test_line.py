"""The chain against the standard library's SHA-256 and JSON, and the digest itself against FIPS 180-4's example."""

import json
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.record.fault import RecordFault
from tally.record.line import MAX_LINE_BYTES, SEAL_BYTES, ZERO_CHAIN, Damage, link, seal, stated_chain, unseal
from tests.record.sessions import BODIES, chained

values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)
objects = st.dictionaries(st.text().filter(lambda key: key != "chain"), values, min_size=1, max_size=4)


def test_a_chain_is_the_published_digest() -> None:
    # FIPS 180-4 and NIST's example computations for SHA-256: the message "abc".
    assert link(b"bc", "a") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_seal_writes_what_the_format_says() -> None:
    previous, lines = ZERO_CHAIN, []
    for body in BODIES:
        line, previous = seal(body, previous)
        lines.append(line)
    assert lines == chained(BODIES)


@given(objects, st.integers(0, 2**256 - 1))
def test_a_sealed_line_is_still_json_and_unseals_to_its_body(content: dict[str, object], seed: int) -> None:
    previous = f"{seed:064x}"
    body = json.dumps(content, ensure_ascii=False).encode("utf-8", "surrogatepass")
    line, chain = seal(body, previous)
    assert unseal(line, previous) == body
    assert stated_chain(line) == chain
    assert line.endswith(b"\n") and line.count(b"\n") == 1
    if not any("\ud800" <= character <= "\udfff" for character in json.dumps(content, ensure_ascii=False)):
        assert json.loads(line) == {**content, "chain": chain}


@given(objects, st.data())
def test_any_changed_byte_shows(content: dict[str, object], data: st.DataObject) -> None:
    line, _ = seal(json.dumps(content).encode(), ZERO_CHAIN)
    at = data.draw(st.integers(0, len(line) - 1))
    other = data.draw(st.integers(0, 255).filter(lambda byte: byte != line[at]))
    assert isinstance(unseal(line[:at] + bytes([other]) + line[at + 1 :], ZERO_CHAIN), Damage)


def test_a_chain_without_a_body_is_damage() -> None:
    (line,) = chained((b"",))
    assert isinstance(unseal(line, ZERO_CHAIN), Damage)


def test_damage_says_whether_a_chain_is_stated() -> None:
    line, chain = seal(BODIES[0], ZERO_CHAIN)
    altered = unseal(line.replace(b"first", b"worst"), ZERO_CHAIN)
    assert isinstance(altered, Damage) and altered.stated == chain
    cut = unseal(line[:-5], ZERO_CHAIN)
    assert isinstance(cut, Damage) and cut.stated is None


@pytest.mark.parametrize("body", [b"", b"{}", b"{ }", b"[1]", b'{"a":1', b'{"a":\n1}', b"null"])
def test_a_body_that_is_no_object_on_one_line_is_a_bug(body: bytes) -> None:
    with pytest.raises(ValueError, match="one JSON object"):
        seal(body, ZERO_CHAIN)


def test_the_longest_line_fits_and_one_byte_more_is_refused() -> None:
    body = b'{"a":"' + b"x" * (MAX_LINE_BYTES - SEAL_BYTES - 7) + b'"}'
    line, _ = seal(body, ZERO_CHAIN)
    assert len(line) == MAX_LINE_BYTES
    with pytest.raises(RecordFault, match="shorten"):
        seal(body.replace(b"xx", b"xxx", 1), ZERO_CHAIN)


def test_the_notebook_loads_nothing_of_the_other_rooms() -> None:
    code = (
        "import sys, tally.record.line, tally.record.reader, tally.record.writer, tally.record.verify\n"
        "import tally.record.lock, tally.record.folder, tally.record.raw_log\n"
        "print(*(name for name in sys.modules if name.split('.')[0] in ('pydantic', 'pint', 'serial', 'textual')\n"
        "        or name.startswith('tally.') and not name.startswith('tally.record')))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip() == ""
