"""Sessions of every version there ever was are read, and come to what they came to; nothing may change unnoticed."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from tally.job import upcast
from tally.job.alarms.replay import disagreements
from tally.live.loading import load, open_session
from tally.record.verify import verify
from tests.sessions.build import FOLDER, SCHEMA, schema, summary
from tests.sessions.compatible import breaks

KEPT = sorted(FOLDER.glob("*.jsonl"))


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.stem)
def test_a_kept_session_comes_to_what_it_came_to(path: Path) -> None:
    """The figures are pinned: they were worked out by the program that wrote the file."""
    assert verify(path).whole
    pinned = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
    assert summary(path) == pinned
    assert open_session(path).state == load(path).state
    disagreements(load(path).entries)  # an old session's alarms may differ from today's; they can be worked out


def test_the_oldest_version_is_kept() -> None:
    assert [path.stem for path in KEPT][:1] == ["v1"]
    kinds = json.loads((FOLDER / "v1.json").read_text(encoding="utf-8"))["kinds"]
    assert len(kinds) >= 49


def test_what_a_line_may_hold_has_not_changed_unnoticed() -> None:
    found = breaks(json.loads(SCHEMA.read_text(encoding="utf-8")), schema())
    assert found == [], "give the field a default, or the event a new version and an upcast (DEVELOPERS.md, Goldens)"


def changed(kind: str, **properties: Any) -> dict[str, Any]:
    now = copy.deepcopy(schema())
    for name, what in properties.items():
        if what is None:
            del now[kind]["properties"][name]
        else:
            now[kind]["properties"][name] = what
    return now


def test_a_change_that_old_sessions_would_not_survive_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    pinned = schema()
    assert breaks(pinned, pinned) == []
    joint = pinned["JointAdded"]["properties"]
    assert breaks(pinned, changed("JointAdded", typed=None)) == ["JointAdded: typed is gone, and an old line has it"]
    narrower = {**joint["length_m"], "maximum": 10.0}
    assert breaks(pinned, changed("JointAdded", length_m=narrower)) == ["JointAdded: length_m is described otherwise"]
    assert breaks(pinned, changed("JointAdded", length_m={"type": "string"}))
    needed = changed("JointAdded", weld={"type": "string"})
    needed["JointAdded"]["required"].append("weld")
    assert breaks(pinned, needed) == ["JointAdded: weld needs a default: old lines lack it"]
    newer = changed("JointAdded", version={**joint["version"], "const": 2})
    assert "no upcast from version 1" in breaks(pinned, newer)[0]
    monkeypatch.setitem(upcast.UPCASTS, ("JointAdded", 1), lambda old: old)
    assert breaks(pinned, newer) == []


def test_a_change_that_old_sessions_survive_is_let_pass() -> None:
    pinned = schema()
    wider = {**pinned["JointAdded"]["properties"]["length_m"], "maximum": 1e5}
    assert breaks(pinned, changed("JointAdded", length_m=wider)) == []
    assert breaks(pinned, changed("JointAdded", weld={"type": "string", "default": ""})) == []
    strength = copy.deepcopy(pinned["ReturnsSeen"]["properties"]["strength"])
    strength["enum"].append("strong")
    assert breaks(pinned, changed("ReturnsSeen", strength=strength)) == []
    single = {"const": "full", "title": "Strength", "type": "string"}
    assert breaks(changed("ReturnsSeen", strength=single), pinned) == []
    assert breaks(pinned, changed("ReturnsSeen", strength=single))
    assert breaks(pinned, changed("ReturnsSeen", strength={"type": "string", "maxLength": 40})) == []
    assert breaks(pinned, changed("ReturnsSeen", strength={"type": "string", "maxLength": 3}))
    assert breaks({name: part for name, part in pinned.items() if name != "ZoneNoted"}, pinned) == []
