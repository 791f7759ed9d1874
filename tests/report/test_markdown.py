"""The report as text: everything of the day is in it, in either units, the same bytes everywhere, whatever it holds."""

import os
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tally.formats import Units
from tally.job import events as ev
from tally.job.view.report import ReportView, report
from tally.report.day import INVENTED, PROOF
from tally.report.markdown import markdown
from tests.eventful import eventful_day
from tests.report.reading import cells, plain_text
from tests.report.test_layout import HOSTILE, ISOLATES, shown
from tests.scenario import Day, grouting_day, plan

ROOT = Path(__file__).resolve().parents[2]
DIGEST = "0123456789abcdef" * 4


@cache
def view() -> ReportView:
    return report(eventful_day().state, digest=DIGEST, program="9.9")


@cache
def page(units: Units = "metric") -> str:
    return markdown(view(), units)


@cache
def rows(units: Units = "metric") -> list[list[str]]:
    return [row for table in cells(page(units)) for row in table]


def has_row(*wanted: str, units: Units = "metric") -> bool:
    return any(set(wanted) <= set(row) for row in rows(units))


def entry_numbers(text: str) -> set[int]:
    found: set[int] = set()
    for names, *body in cells(text):
        if "Entry" in names:
            found |= {int(row[names.index("Entry")]) for row in body}
    return found


class TestEverythingIsInIt:
    def test_every_entry(self) -> None:
        """Each entry stands under its number, but for those that are told by their times or within an alarm."""
        elsewhere = (
            ev.Heartbeat, ev.StageStarted, ev.StageEnded, ev.CasingLanded,
            ev.AlarmRaised, ev.AlarmCleared, ev.AlarmAcknowledged,
        )  # fmt: skip
        day = eventful_day()
        wanted = {
            entry.number
            for entry in day.entries
            if not isinstance(entry.event, elsewhere) and entry.number not in day.state.voided
        }
        assert wanted - entry_numbers(page()) == set()
        for number in day.state.voided:
            assert f"entry {number} voided" in page()

    def test_joints(self) -> None:
        # by hand: 5.05 m each, 0.50 m above ground, the last one cut by 0.10 m; 14:01 in Oslo is 12:01 UTC
        assert has_row("1", "5.05 m", "4.55 m", "14:01", "2")
        assert has_row("11", "5.05 m", "55.05 m")
        assert has_row("12", "5.05 m", "60.00 m", "14:13")
        assert has_row("4.80 m", "bent pin")

    def test_stages_and_batches(self) -> None:
        assert "### Stage 1: foot" in page()
        assert "### Stage 2: rest" in page()
        assert has_row("Interval", "60.00 m up to 20.00 m")
        assert has_row("Pumped", "990 L (920 L by meter, 70 L typed)")
        assert has_row("1", "30", "591 L", "1,002 L", "1.88 kg/L", "as wanted")
        assert has_row("35", "1.95 kg/L", "high")
        assert has_row("Outcome", "left to set")
        assert has_row("full", "grout", "1.86 kg/L", "990 L")
        assert has_row("40.00 m", "600 L", "grout lost below")
        assert has_row("1 min 40 s", "key", "hose burst")
        assert has_row("Set until", "2026-05-12 14:17 (waiting time 24 h 00 min)")

    def test_alarms(self) -> None:
        words = "600 L pumped, returns were due by 550 L"
        assert has_row(
            "stop-and-look", "Returns overdue", words, "tagged the top and left it to set (Driller A, 14:17)"
        )

    def test_corrections(self) -> None:
        assert has_row("Driller A", "typed twice", "entry 6 voided: joint of 5.50 m on")
        assert has_row("hole was deeper", "plan amended (hole sections 1 bottom: 60.00 m to 66.00 m)")
        assert has_row("Driller D", "not so", "14:05, Driller A") is False
        assert has_row("Joints entered and voided", "1")

    def test_notes_meter_and_record(self) -> None:
        assert has_row("Driller D", "wind from the west")
        assert has_row("grout meter reset: from 650 L to 0 L; 0 L counted, 30 L left to the operator's word")
        assert has_row("session signed off: all hands safe")
        assert has_row("delivered, 20 bags and 500 L of water")

    def test_materials(self) -> None:
        _, texts = plain_text(page())
        assert "Bags: 80 aboard + 20 delivered = 65 mixed + 35 left" in texts
        assert "Joints: 13 on the list = 12 in the hole + 1 rejected + 0 left" in texts

    def test_empty_facts_stay_empty(self) -> None:
        assert ["Well and owner", "Latitude and longitude", ""] in rows()
        assert ["Well and owner", "Owner", "Client C"] in rows()

    def test_the_end_says_what_the_digest_proves(self) -> None:
        _, texts = plain_text(page())
        assert f"Digest: {DIGEST}" in texts
        assert next(text for text in texts if text.startswith("Entries: ")).startswith(f"Entries: {view().entries},")
        assert PROOF in texts
        assert any("licensed contractor decide" in text for text in texts)
        assert "- Driller: ____" in page()

    def test_in_us_units(self) -> None:
        # NIST SP 811: 5.05 / 0.3048 = 16.568; 4.55 / 0.3048 = 14.928; 591 / 3.785412 = 156.12;
        # 1002 / 3.785412 = 264.70; 1880 / 119.8264 = 15.689; 0.990 m3 is 261.53 US gal
        assert has_row("1", "16.57 ft", "14.93 ft", units="us")
        assert has_row("30", "156.1 US gal", "264.7 US gal", "15.7 lb/gal", units="us")
        assert has_row("full", "grout", "261.5 US gal", units="us")
        assert " L " not in page("us")
        assert " kg/L" not in page("us")


class TestOnTop:
    def top(self, day: Day, **more: Any) -> str:
        text = markdown(report(day.state, digest=DIGEST, program="9.9", **more), "metric")
        return text.partition("## Job and crew")[0]

    def test_an_invented_day_says_so_first(self) -> None:
        assert page().startswith(f"**{INVENTED}**\n")
        real = Day(plan(job={"invented": False}))
        assert INVENTED not in markdown(report(real.state, digest="", program="1"), "metric")

    def test_an_imbalance(self) -> None:
        day = Day()
        day.joint(6.40)
        assert "**Does not add up:** joints do not reconcile: no joint on the list matches 6.40 m" in self.top(day)
        assert "DOES NOT ADD UP" in markdown(report(day.state, digest="", program="1"), "metric")

    def test_what_is_missing(self) -> None:
        day = grouting_day()
        day.pump(0.1)
        top = self.top(day)
        assert "Stage 1 is still under way." in top
        assert "Stage 1: no returns were seen." in top
        assert "not signed off" in top

    def test_problems_and_disagreements(self) -> None:
        top = self.top(Day(), problems=["line 7: its digest does not fit"], disagreements=["entry 9: not called for"])
        assert "**Problem in the file:** line 7: its digest does not fit" in top
        assert "entry 9: not called for" in top

    def test_a_sound_day_has_only_what_is_open(self) -> None:
        assert "Does not add up" not in self.top(eventful_day())


class TestTimes:
    def test_another_day_carries_its_date(self) -> None:
        day = Day()
        day.tick(86_400)
        day.record(ev.NoteWritten(text="the morning after"))
        text = markdown(report(day.state, digest="", program="1"), "metric")
        assert "Work of 2026-05-11 to 2026-05-12." in text
        assert any("2026-05-12 12:00" in row and "the morning after" in row for rows in cells(text) for row in rows)

    def test_a_zone_that_is_not_known(self) -> None:
        day = Day(plan(job={"time_zone": "../etc/passwd"}))
        text = markdown(report(day.state, digest="", program="1"), "metric")
        assert "Times are UTC: the time zone ../etc/passwd is not known here." in text
        assert "12:00 UTC" in text


def hostile_day(text: str) -> Day:
    text = text[:2_000]
    day = Day(plan(job={"name": text, "client": text, "place": text, "permit": text}, crew={"driller": text}))
    day.who = text
    day.joints()
    day.void(day.joint(), text)
    day.record(ev.JointRejected(length_m=5.0, typed=text, reason=text))
    day.landed()
    day.stage()
    day.record(ev.PumpStopped(reason=text))
    day.record(ev.StageEnded(outcome="given up", remark=text))
    day.record(ev.NoteWritten(text=text))
    day.record(ev.PlanAmended(plan=plan(job={"name": "new", "place": text}), reason=text))
    day.record(
        ev.AlarmRaised(alarm=text, severity="note", words=text, value=1.0, limit=2.0, measure=text),
    )
    day.record(ev.AlarmAcknowledged(alarm=text, done=text))
    day.record(ev.SessionClosed(remark=text))
    return day


@pytest.mark.parametrize("text", [text for text in HOSTILE if text])
def test_hostile_text_changes_nothing_but_its_cells(text: str) -> None:
    def read(written: str) -> tuple[list[list[list[str]]], list[str], list[str]]:
        day = hostile_day(written)
        told = markdown(report(day.state, digest=DIGEST, program="1", problems=[written or "-"]), "metric")
        return cells(told), *plain_text(told)

    tables, kinds, _ = read(text)
    tame_tables, tame_kinds, _ = read("tame")
    assert kinds == tame_kinds
    assert [[len(row) for row in table] for table in tables] == [[len(row) for row in table] for table in tame_tables]
    note = next(row for table in tables if table[0][-1] == "Note" for row in table[1:])
    assert note[-1].strip(ISOLATES) == shown(text[:2_000])


def test_a_digest_from_anywhere_is_only_text() -> None:
    told = markdown(replace(view(), digest="`<b>|", program="[x](y)"), "metric")
    _, texts = plain_text(told)
    assert "Digest: `<b>|" in texts
    assert "Written by: tally [x](y)" in texts


BYTES = """
import sys
from tally.job.view.report import report
from tally.report.markdown import markdown
from tests.eventful import eventful_day
sys.stdout.buffer.write(markdown(report(eventful_day().state, digest="d", program="1"), sys.argv[1]).encode())
"""


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_same_bytes_on_every_machine(units: str) -> None:
    told = {
        subprocess.run(
            [sys.executable, "-c", BYTES, units],
            cwd=ROOT,
            env=os.environ | {"PYTHONHASHSEED": seed, "TZ": zone, "LANG": language, "LC_ALL": language},
            capture_output=True,
            check=True,
            timeout=60,
        ).stdout
        for seed, zone, language in (("1", "Asia/Tokyo", "de_DE.UTF-8"), ("2", "America/Denver", "C"))
    }
    assert len(told) == 1
    assert len(told.pop()) > 5_000
