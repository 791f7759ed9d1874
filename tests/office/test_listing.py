"""A folder of sessions as a list."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tally import formats
from tally.cli import main
from tally.job.coding import encoded
from tests.eventful import eventful_day
from tests.office.generated import given, write
from tests.record.sessions import chained
from tests.scenario import Day, grouting_day, plan

ROOT = Path(__file__).resolve().parents[2]
LONG = "a name as long as a well's in a valley with many, with 井戸井戸井戸井戸井戸 in it, and [/] and \x1b[31m"


def put(path: Path, day: Day) -> Path:
    path.write_bytes(b"".join(chained(tuple(map(encoded, day.entries)))))
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    open_day = Day(plan(job={"name": LONG, "units": "us"}))
    open_day.joints([5.05] * 4)
    put(tmp_path / "2026-05-11-open.jsonl", open_day)
    landed = grouting_day(plan(meter=None))
    landed.volume(0.3)
    landed.tick(86_400)
    landed.tag(50.0)
    put(tmp_path / "2026-05-12-landed.jsonl", landed)
    path = put(tmp_path / "2026-05-13-signed.jsonl", eventful_day())
    lines = path.read_bytes().splitlines(keepends=True)
    lines[5] = lines[5].replace(b"5.5", b"5.6")
    path.write_bytes(b"".join(lines))
    (tmp_path / "2026-05-14-no.jsonl").write_bytes(b'{"shopping": 1}\n')
    (tmp_path / "plan.toml").write_text("", encoding="utf-8")
    return tmp_path


def test_newest_first_with_dates_state_depth_volume_and_damage(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["list", "--folder", str(folder)]) == 1
    said = capsys.readouterr().out
    lines = said.splitlines()
    assert lines[0].split() == ["CANNOT", "BE", "READ", "2026-05-14-no.jsonl"]
    heads = [" ".join(line.split()) for line in lines if "casing" in line and "grout" in line]
    assert heads == [
        "2026-05-11 signed off casing 60.00 m grout 1,590 L DAMAGED",
        # 300 L typed; tagged a day later.
        "2026-05-11 to 05-12 landed casing 60.00 m grout 300 L",
        # 4 x 5.05 m in, no more than 0.6 m of it above ground: 19.6 m.
        "2026-05-11 open casing 64.30 ft grout –",
    ]
    assert all(formats.cells(line) <= 80 for line in lines[:-1])
    assert "line 6: its chain does not hold" in said
    assert "2026-05-13-signed.jsonl" in said and "Test hole 1, Nowhere" in said
    assert "\x1b" not in said
    assert lines[-1].startswith("4 sessions, 2 not signed off, 2 damaged or unreadable, in ")


def test_as_json_in_si_one_object_a_line(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["list", "--folder", str(folder), "--json"]) == 1
    found = {row["file"]: row for row in map(json.loads, capsys.readouterr().out.splitlines())}
    assert len(found) == 4
    landed = found["2026-05-12-landed.jsonl"]
    assert (landed["state"], landed["pumped_m3"], landed["joints"]) == ("landed", pytest.approx(0.3), 12)
    assert landed["shoe_m"] == pytest.approx(60.0)
    # 260 L out of the line (40 L stay in it); 10 m of annulus and 15 % hold 308.7 L: nothing is lost.
    assert landed["lost_m3"] == 0.0
    assert found["2026-05-11-open.jsonl"]["job"] == LONG
    assert found["2026-05-11-open.jsonl"]["lost_m3"] is None
    assert len(found["2026-05-13-signed.jsonl"]["problems"]) > 0
    assert set(found["2026-05-14-no.jsonl"]) == {"file", "problems"}


def test_an_empty_folder_is_no_fault(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["list", "--folder", str(tmp_path)]) == 0
    assert capsys.readouterr().out.startswith("0 sessions")


def test_a_mistyped_folder_is_refused_and_not_made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["list", "--folder", str(tmp_path / "typo")]) == 2
    assert "there is no folder" in capsys.readouterr().err
    assert not (tmp_path / "typo").exists()


PEAK = """
import resource, sys
from tally.cli import main
assert main(["list", "--json", "--folder", sys.argv[1]]) == 0
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.long
@pytest.mark.skipif(sys.platform != "linux", reason="peaks are counted in kilobytes there")
def test_thousands_take_no_more_room_than_a_few(tmp_path: Path) -> None:
    peaks = []
    for count in (20, 2_000):
        folder = tmp_path / str(count)
        folder.mkdir()
        for of in given(count):
            write(folder, of, beats=30)
        done = subprocess.run([sys.executable, "-c", PEAK, str(folder)], capture_output=True, text=True, check=True,
                              cwd=ROOT, timeout=500)  # fmt: skip
        assert len(done.stdout.splitlines()) == count + 1
        peaks.append(int(done.stdout.split()[-1]) / 1024)
    assert peaks[1] - peaks[0] < 10
