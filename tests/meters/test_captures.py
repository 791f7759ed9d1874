"""Every raw log in captures/ gives what was worked by hand from it; see captures_rebuild.py."""

import pytest

from tests.meters.captures_rebuild import FOLDER, NAMES, decoded, described, pinned, steps


@pytest.mark.parametrize("name", NAMES)
def test_a_capture_gives_what_was_worked_by_hand(name: str) -> None:
    by_hand = described(name)["by_hand"]
    readings, decoder = decoded(name)
    found = steps(name, readings)
    assert decoder.lines == by_hand["lines"]
    assert decoder.garbage == by_hand["garbage"]
    assert 1000 * sum(step.increment_m3 for step in found) == pytest.approx(by_hand["counted_l"], abs=1e-6)
    assert 1000 * sum(step.doubtful_m3 for step in found) == pytest.approx(by_hand.get("doubtful_l", 0.0), abs=1e-6)
    assert [step.kind for step in found if step.kind != "normal"] == by_hand["kinds"]


@pytest.mark.parametrize("name", NAMES)
def test_a_capture_gives_the_pinned_readings(name: str) -> None:
    assert pinned(decoded(name)[0]) == described(name)["pinned"]


@pytest.mark.parametrize("name", NAMES)
def test_a_capture_says_what_it_shows(name: str) -> None:
    assert (FOLDER / f"{name}.raw").read_bytes().startswith(b"# ")


def test_there_are_captures() -> None:
    assert len(NAMES) >= 10
