"""Sessions as tables: what a general reader and a general engine find in them."""

import csv
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import duckdb
import pyarrow.parquet as pq
import pytest

from tally.cli import main
from tally.job import coding, fold
from tally.job import events as ev
from tally.job.view import ledger
from tally.office import parquet
from tally.office.csv_files import CsvFiles
from tally.office.export import export
from tally.office.table import TABLES
from tests.eventful import eventful_day
from tests.office.generated import given, write
from tests.record.sessions import chained
from tests.scenario import Day, grouting_day, plan

ROOT = Path(__file__).resolve().parents[2]
NASTY = ("=1+1", "+A1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", " =1", 'a "b", c', "line\nbreak", "größer €")


def nasty_day() -> Day:
    """Every text that a person may type begins like a formula."""
    day = eventful_day()
    for place, entry in enumerate(day.entries):
        if isinstance(entry.event, ev.SessionOpened | ev.PlanAmended):
            plan_ = entry.event.plan
            job = plan_.job.model_copy(update=dict(zip(("name", "client", "place", "permit"), NASTY, strict=False)))
            crew = plan_.crew.model_copy(update=dict(zip(("driller", "helper", "rig"), NASTY[4:], strict=False)))
            event = entry.event.model_copy(update={"plan": plan_.model_copy(update={"job": job, "crew": crew})})
            day.entries[place] = entry.model_copy(update={"event": event})
    return day


def put(day: Day, sink: Any) -> None:
    export(day.entries, sink, file="day.jsonl", verdict=lambda: ("digest", 0))


def read_csv(folder: Path, table: str) -> list[dict[str, str]]:
    with (folder / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def asked(question: str) -> list[tuple[Any, ...]]:
    """What an engine answers that knows nothing of the project."""
    with duckdb.connect() as engine:
        return engine.execute(question).fetchall()


class Kept:
    def __init__(self) -> None:
        self.rows: dict[type, list[Any]] = defaultdict(list)

    def put(self, row: ledger.Row) -> None:
        self.rows[type(row)].append(row)

    def close(self) -> None:
        pass


# --- CSV -------------------------------------------------------------------------------------------------------------


def test_csv_goes_round_through_a_general_reader(tmp_path: Path) -> None:
    """Every cell of every table as the csv module reads it, against the rows that were put in."""
    kept, files = Kept(), CsvFiles(tmp_path)
    put(nasty_day(), kept)
    put(nasty_day(), files)
    files.close()
    for table in TABLES:
        found = read_csv(tmp_path, table.name)
        assert len(found) == len(kept.rows[table.row]) > 0
        for cells, row in zip(found, kept.rows[table.row], strict=True):
            assert list(cells) == [column.name for column in table.columns]
            for column in table.columns:
                value, text = getattr(row, column.name), cells[column.name]
                if value is None:
                    assert text == ""
                elif isinstance(value, bool):
                    assert text == ("yes" if value else "no")
                elif isinstance(value, float | int):
                    assert float(text) == pytest.approx(value, rel=1e-9)
                elif isinstance(value, datetime):
                    assert abs((datetime.fromisoformat(text) - value).total_seconds()) < 1e-3
                else:
                    assert text.removeprefix("'").split() == value.split()


def test_no_cell_of_text_begins_like_a_formula(tmp_path: Path) -> None:
    files = CsvFiles(tmp_path)
    put(nasty_day(), files)
    files.close()
    for table in TABLES:
        texts = [column.name for column in table.columns if column.type is str]
        for cells in read_csv(tmp_path, table.name):
            for name in texts:
                assert not cells[name].lstrip().startswith(("=", "+", "-", "@", "\t", "\r")), (table.name, name)
    [job] = read_csv(tmp_path, "jobs")
    assert (job["job"], job["client"], job["rig"]) == ("'=1+1", "'+A1", "' =1")
    # A number stays one, whatever its sign.
    sample = ledger.SampleRow(session="s", rig="r", opened_at=datetime.now(UTC), read_at=datetime.now(UTC), entry=1,
                              channel="grout", total_m3=-0.5)  # fmt: skip
    again = CsvFiles(tmp_path)
    again.put(sample)
    again.close()
    assert read_csv(tmp_path, "samples")[0]["total_m3"] == "-0.5"


def test_an_engine_reads_the_csv_with_the_types_that_it_guesses(tmp_path: Path) -> None:
    files = CsvFiles(tmp_path)
    put(eventful_day(), files)
    files.close()
    found = asked(f"SELECT sum(length_m), max(shoe_m), count(*) FROM '{tmp_path}/joints.csv'")
    # 12 joints of 5.05 m, of which 0.10 m was cut off and 0.50 m stands above ground.
    assert found == [(pytest.approx(60.6), pytest.approx(60.0), 12)]
    [[span]] = asked(f"SELECT max(read_at) - min(opened_at) FROM '{tmp_path}/samples.csv'")
    assert span.total_seconds() > 600


# --- Parquet ---------------------------------------------------------------------------------------------------------


def test_an_engine_finds_the_litres_lost_by_rig_and_month_that_were_put_in(tmp_path: Path) -> None:
    sessions, out = tmp_path / "sessions", tmp_path / "out"
    sessions.mkdir()
    wanted: dict[tuple[str, int, int], float] = defaultdict(float)
    for of in given(200):
        write(sessions, of)
        wanted[of.rig, of.at.year, of.at.month] += 1000 * of.lost_m3
    assert main(["export", str(sessions), "-o", str(out), "--format", "parquet"]) == 0
    rows = asked(
        f"""
        SELECT rig, year, month, sum(lost_m3) * 1000 AS lost_l, count(*) AS stages
        FROM read_parquet('{out}/stages/**/*.parquet', hive_partitioning = true)
        GROUP BY rig, year, month
        """
    )
    found = {(rig, int(year), int(month)): lost_l for rig, year, month, lost_l, _ in rows}
    assert sum(row[-1] for row in rows) == 200
    assert len(found) == len(wanted) > 30
    # The file keeps the meter's total to the millilitre.
    assert found == pytest.approx(wanted, abs=0.01)
    joined = asked(
        f"""
        SELECT count(*), count(DISTINCT j.session), sum(j.pumped_m3 - s.metered_m3)
        FROM read_parquet('{out}/jobs/**/*.parquet') j JOIN read_parquet('{out}/stages/**/*.parquet') s USING (session)
        """
    )
    assert joined == [(200, 200, pytest.approx(0.0, abs=1e-9))]
    [[readings]] = asked(f"SELECT count(*) FROM '{out}/samples/**/*.parquet'")
    assert readings == 200 * 11


def test_parquet_holds_what_csv_holds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parquet, "GROUP", 3)
    kept, files = Kept(), parquet.ParquetFiles(tmp_path)
    put(nasty_day(), kept)
    put(nasty_day(), files)
    files.close()
    for table in TABLES:
        [path] = (tmp_path / table.name).rglob("*.parquet")
        assert path.parent.relative_to(tmp_path / table.name).as_posix() == "year=2026/month=05"
        found = pq.ParquetFile(path).read().to_pylist()
        names = [column.name for column in table.columns]
        assert [[row[name] for name in names] for row in found] == [
            [getattr(row, name) for name in names] for row in kept.rows[table.row]
        ]


def test_few_files_are_open_at_once_and_a_month_taken_up_again_gets_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(parquet, "MOST_OPEN", 2)
    files = parquet.ParquetFiles(tmp_path)
    for month in (1, 2, 3, 1, 2, 3):
        at = datetime(2026, month, 1, tzinfo=UTC)
        files.put(ledger.SampleRow(session="s", rig="r", opened_at=at, read_at=at, entry=month, channel="grout"))
        assert len(files._open) <= 2
    files.close()
    parts = sorted((tmp_path / "samples").rglob("*.parquet"))
    assert [path.parent.name for path in parts] == ["month=01"] * 2 + ["month=02"] * 2 + ["month=03"] * 2
    [[count]] = asked(f"SELECT count(*) FROM '{tmp_path}/samples/**/*.parquet'")
    assert count == 6
    # A table without rows can be asked all the same.
    assert asked(f"SELECT sum(length_m) FROM '{tmp_path}/joints/**/*.parquet'") == [(None,)]


# --- columns ---------------------------------------------------------------------------------------------------------


def test_names_and_order_of_columns_are_kept() -> None:
    """`pinned`: questions that an office keeps rest on them. A new column goes to the end of its table."""
    heads = {table.name: " ".join(column.name for column in table.columns) for table in TABLES}
    assert heads["joints"] == "session rig opened_at place entry added_at length_m first_length_m shoe_m"
    assert heads["samples"] == (
        "session rig opened_at read_at entry channel total_m3 rate_m3_s density_kg_m3 force_n pressure_pa"
    )
    assert heads["alarms"] == (
        "session rig opened_at entry alarm severity words reached allowed measure raised_at cleared_at answered_at"
        " answer who voided"
    )
    assert heads["stages"] == (
        "session rig opened_at stage planned_stage name method mix bottom_m top_m started_at ended_at outcome"
        " allowance_share theory_m3 planned_m3 pumped_m3 metered_m3 typed_m3 out_m3 found_top_m found_out_m3 held_m3"
        " lost_m3 topped_up_m3 bags mixed_m3 first_returns_m3 good_grout_m3 tags interrupted_s"
    )
    assert heads["jobs"].startswith("session rig opened_at file job client place permit driller helper invented")
    assert heads["jobs"].endswith("lost_m3 bags alarms corrections damaged_lines digest program calculation")


def test_no_column_has_a_name_that_an_engine_keeps_for_itself(tmp_path: Path) -> None:
    CsvFiles(tmp_path).close()
    for table in TABLES:
        for column in table.columns:
            assert (
                asked(f"SELECT {column.name}, count(*) AS n FROM '{tmp_path}/{table.name}.csv' GROUP BY {column.name}")
                == []
            )


def test_the_manual_names_every_column() -> None:
    manual = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for table in TABLES:
        for column in table.columns:
            assert f"`{column.name}`" in manual, (table.name, column.name)


# --- the command -----------------------------------------------------------------------------------------------------


def bodies(day: Day) -> bytes:
    return b"".join(chained(tuple(coding.encoded(entry) for entry in day.entries)))


def test_what_cannot_be_read_is_left_out_and_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    whole = bodies(Day())
    (tmp_path / "2026-05-11-a.jsonl").write_bytes(whole)
    lines = bodies(grouting_day(plan(meter=None))).splitlines(keepends=True)
    lines[3] = lines[3].replace(b"5.05", b"5.06")
    (tmp_path / "2026-05-12-b.jsonl").write_bytes(b"".join(lines))
    (tmp_path / "2026-05-13-c.jsonl").write_bytes(b'{"shopping": 1}\n')
    assert main(["export", str(tmp_path), "-o", str(tmp_path / "out")]) == 1
    said = capsys.readouterr()
    assert said.out == f"2 sessions written to {tmp_path / 'out'}, 1 damaged, 1 left out\n"
    assert "2026-05-13-c.jsonl is left out" in said.err and "2026-05-12-b.jsonl: line 4" in said.err
    jobs = read_csv(tmp_path / "out", "jobs")
    assert [(row["file"], row["damaged_lines"]) for row in jobs] == [
        ("2026-05-11-a.jsonl", "0"),
        ("2026-05-12-b.jsonl", "2"),  # the line, and the number that is missing for it
    ]


def test_nothing_is_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, out = tmp_path / "a.jsonl", tmp_path / "out"
    path.write_bytes(bodies(Day()))
    out.mkdir()
    assert main(["export", str(path), "-o", str(out)]) == 0
    before = {each: each.read_bytes() for each in out.iterdir()}
    assert main(["export", str(path), "-o", str(out)]) == 2
    assert main(["export", str(path), "-o", str(path)]) == 2
    assert {each: each.read_bytes() for each in out.iterdir()} == before
    assert path.read_bytes() == bodies(Day())
    assert "name a new one" in capsys.readouterr().err
    assert main(["export", str(tmp_path / "out"), "-o", str(tmp_path / "more")]) == 2
    assert "no session in" in capsys.readouterr().err


def test_without_the_library_it_says_what_brings_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    monkeypatch.delitem(sys.modules, "tally.office.parquet", raising=False)
    (tmp_path / "a.jsonl").write_bytes(bodies(Day()))
    assert main(["export", str(tmp_path / "a.jsonl"), "-o", str(tmp_path / "out"), "--format", "parquet"]) == 2
    assert "tally[export]" in capsys.readouterr().err
    assert not (tmp_path / "out").exists() and not (tmp_path / "out.partial").exists()


@pytest.mark.parametrize("command", ["list", "export"])
def test_both_commands_explain_themselves(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main([command, "--help"])
    assert ended.value.code == 0
    assert f"usage: tally {command}" in capsys.readouterr().out


def test_an_empty_session_is_no_opening() -> None:
    with pytest.raises(fold.NotAnOpening):
        export(iter(()), Kept(), file="", verdict=lambda: ("", 0))


# --- memory ----------------------------------------------------------------------------------------------------------

PEAK = """
import resource, sys
from tally.cli import main
assert main(["export", *sys.argv[1:]]) == 0
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def peak_mb(sessions: Path, out: Path) -> float:
    command = [sys.executable, "-c", PEAK, str(sessions), "-o", str(out), "--format", "parquet"]
    done = subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT, timeout=500)
    return int(done.stdout.split()[-1]) / 1024


def folders(tmp_path: Path, few: int, many: int, beats: int) -> Iterator[Path]:
    for count in (few, many):
        folder = tmp_path / str(count)
        folder.mkdir()
        for of in given(count):
            write(folder, of, beats=beats)
        yield folder


@pytest.mark.skipif(sys.platform != "linux", reason="peaks are counted in kilobytes there")
def test_many_sessions_take_no_more_room_than_few(tmp_path: Path) -> None:
    """Held all at once, 45 sessions of 400 readings more would take some 60 MB more."""
    few, many = folders(tmp_path, 5, 50, 400)
    assert peak_mb(many, tmp_path / "many") - peak_mb(few, tmp_path / "few") < 30


@pytest.mark.long
@pytest.mark.skipif(sys.platform != "linux", reason="peaks are counted in kilobytes there")
def test_a_thousand_sessions_take_no_more_room_than_fifty(tmp_path: Path) -> None:
    few, many = folders(tmp_path, 50, 1_000, 300)
    assert peak_mb(many, tmp_path / "many") - peak_mb(few, tmp_path / "few") < 50
