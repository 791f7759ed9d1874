"""The printed report, read back: everything of the view is on it, nothing is beyond its edges, no text breaks it."""

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import typst

from tally.formats import Units
from tally.job import events as ev
from tally.job.view.charted import charts
from tally.job.view.report import ReportView, report
from tally.job.view.reported_book import NoteRow
from tally.live.loading import load
from tally.report import day as sections
from tally.report.block import Form, Heading, Items, Pairs, Strong, Table, Words
from tally.report.charts import drawings
from tally.report.pdf import ESTIMATE, _set, pdf
from tally.report.sheet import Setting
from tests.eventful import eventful_day
from tests.report.printed import apart, outside, pages, sizes, squeezed
from tests.scenario import BASE, Day, grouting_day, plan

DEMOS = Path(__file__).resolve().parents[2] / "demo_sessions"
DIGEST = "0123456789abcdef" * 4
HOSTILE = (
    '#import "x": *',
    "#panic(1) #{ $ * _ ` ] [ \\ <label> @ref // /* */ ~ -- --- ' \" = - + /",
    "$ sum_(i=0)^n x $",
    "]]]}}}))) [#[{{{(((",
    "\\u{202e}\u202egnorw\u202c",
    "מלט 12 | 34 اسمنت",
    "x" * 10_000,
    "Gerüst Ære Łódź Ωμέγα Цемент ½ × ± → ≥",
    "\x1b[31mred\x00",
)


def printed(view: ReportView, units: Units = "metric") -> bytes:
    return pdf(view, units, [])


@cache
def view() -> ReportView:
    return report(eventful_day().state, digest=DIGEST, program="9.9")


@cache
def document(units: Units = "metric") -> bytes:
    return printed(view(), units)


@cache
def text(units: Units = "metric") -> str:
    return body(document(units))


def body(document: bytes) -> str:
    """The text without what stands on top and foot of every page, so that what runs on over a break is in one piece."""
    return squeezed("".join(page.partition("\n")[2].partition(ESTIMATE)[0] for page in pages(document)))


def words_of(block: Any) -> list[str]:
    match block:
        case Heading(_, words) | Strong(words) | Words(words):
            return [words]
        case Items(rows):
            return [f"{label}: {words}" if label else words for label, words in rows]
        case Pairs(rows):
            return [f"{label}: {value or '–'}" for label, value in rows]
        case Table(columns, rows):
            names = [column.removeprefix(">") for column in columns]
            return ["".join(names), *("".join(row) for row in rows)]
        case Form(_, rows):
            # what labels begin with in common is said once
            return [f"{label.rpartition(', ')[2]}: {value}" for _, label, value in rows]
    return []


def by_one(table: Table) -> Table:
    """The table without the name of whoever made all its entries, which stands beside the heading."""
    at = table.columns.index("By")
    assert len({row[at] for row in table.rows}) == 1
    columns, *rows = ([cell for place, cell in enumerate(row) if place != at] for row in (table.columns, *table.rows))
    return Table(columns, rows)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_word_of_the_report_is_on_paper(units: Units) -> None:
    """Rows are read cell by cell, so that each row of each table is one run of text; between cells of running text
    stand dots."""
    found = text(units).replace("\u00b7", "")
    missing: list[str] = []
    heading = ""
    for block in sections.blocks(view(), units):
        if isinstance(block, Heading):
            heading = block.text
        said = words_of(block)
        if isinstance(block, Table) and squeezed(f"{heading} by ") in found:
            assert squeezed(f"{heading} by {block.rows[0][block.columns.index('By')]}") in found
            said = words_of(by_one(block))
        missing += [words for words in said if squeezed(words).replace("\u00b7", "") not in found]
    # beside running text in one paragraph no names of columns are needed
    assert not [words for words in missing if words not in ("TimeWhat", "ActivityLasted")]


class TestTheView:
    """The same against the view itself, so that a section that was forgotten shows."""

    def test_joints_stages_alarms_corrections_and_materials(self) -> None:
        made = view()
        for joint in made.casing.joints:
            length, shoe = f"{joint.length.si:.2f}m", f"{joint.shoe.si:.2f}m"
            assert re.search(rf"{joint.place}{length}{shoe}\d\d:\d\d{joint.number}", text()), joint
        for stage in made.stages:
            assert squeezed(f"Stage {stage.begun}: {stage.name}") in text()
            assert all(f"{batch.number}" in text() for batch in stage.batches)
        for alarm in made.alarms:
            assert squeezed(alarm.title) in text()
            assert squeezed(alarm.done) in text()
        for made_good in made.corrections:
            assert squeezed(made_good.reason) in text()
        for balance in made.balances:
            assert squeezed(f"{balance.name}: ") in text()

    def test_counts_add_up_on_paper(self) -> None:
        for name in ("Joints", "Bags"):
            found = re.search(rf"{name}:([^=]+)=((?:\d+[a-z]+\+?)+)", text())
            assert found
            came, went = (sum(map(int, re.findall(r"\d+", side))) for side in found.groups())
            assert came == went > 0

    def test_metered_volumes_add_up_on_paper(self) -> None:
        found = re.search(r"Metered:([^=]+)=((?:[\d.,]+L[a-z0-9]*?(?:stage\d|outsidestages)\+?)+)", text())
        assert found
        came, went = (
            sum(float(n.replace(",", "")) for n in re.findall(r"([\d.,]+)L", side)) for side in found.groups()
        )
        assert came == pytest.approx(went, abs=2.0) and went > 0


@cache
def demo(name: str, units: Units) -> bytes:
    state = load(DEMOS / name / "session.jsonl").state
    return pdf(report(state, digest=DIGEST, program="1"), units, drawings(charts(state), units))


def lost_its_end(day: Day) -> None:
    """The first stage runs on over the second, whose 200 L are counted in both."""
    day.pump(0.300)
    end = day.end("left to set")
    day.stage(0, bottom_m=50.0)
    day.pump(0.200)
    day.void(end)


class TestPages:
    @pytest.mark.parametrize(("units", "size"), [("metric", (595, 842)), ("us", (612, 792))])
    def test_paper(self, units: Units, size: tuple[int, int]) -> None:
        # ISO 216 A4 is 210 mm x 297 mm; ANSI/ASME Y14.1 A is 8.5 in x 11 in
        page = pypdfium2.PdfDocument(document(units))[0]
        assert tuple(round(side) for side in page.get_size()) == size

    def test_each_page_has_its_number_the_digest_and_who_decides(self) -> None:
        found = pages(document())
        for number, page in enumerate(found, start=1):
            assert f"Page {number} of {len(found)}" in page
            assert f"Session digest {DIGEST}" in page
            assert squeezed(ESTIMATE) in squeezed(page)
            assert view().job.name in page

    def test_letters_are_8_pt_and_in_drawings_7(self) -> None:
        assert min(sizes(document())) == 8.0
        assert 7.0 <= min(sizes(demo("one-clean-day", "metric"))) < 8.0

    @pytest.mark.parametrize("units", ["metric", "us"])
    @pytest.mark.parametrize(
        ("name", "first"),
        [("one-clean-day", "Job and crew"), ("lost-returns", "To know first"), ("washed-out", "Job and")],
    )
    def test_the_first_heading_stands_clear_of_the_title(self, name: str, first: str, units: Units) -> None:
        made = demo(name, units)
        assert apart(made, "Times are local", first) > 6.0
        assert apart(made, "Casing and grout:", first) > 6.0

    def test_signature_lines(self) -> None:
        (page,) = [page for page in pages(document()) if "Signed" in page]
        for words in ("Driller", "Contractor", "Licence", "Received by", "Date"):
            assert words in page.partition("Signed")[2]

    def test_nothing_stands_outside(self) -> None:
        assert not outside(document())
        assert not outside(document("us"))

    def test_the_same_bytes_again(self) -> None:
        assert printed(view()) == document()

    @pytest.mark.parametrize("units", ["metric", "us"])
    @pytest.mark.parametrize(
        ("name", "most"), [("one-clean-day", 1), ("lost-returns", 2), ("through-the-shoe", 2), ("washed-out", 2)]
    )
    def test_a_simple_day_is_one_page_and_others_as_few_as_can_be(self, name: str, most: int, units: Units) -> None:
        """Each with its signature lines on the last page, for all of it."""
        made = demo(name, units)
        found = pages(made)
        assert len(found) == most
        assert "Received by" in found[-1]
        assert "Variance: what, approved by, date:" in " ".join(found[-1].split())
        assert not outside(made)

    @pytest.mark.parametrize("name", ["one-clean-day", "lost-returns"])
    def test_of_the_settings_with_the_fewest_pages_it_is_the_roomiest(self, name: str) -> None:
        state = load(DEMOS / name / "session.jsonl").state
        told, drawn = report(state, digest=DIGEST, program="1"), drawings(charts(state), "metric")
        settings: tuple[Setting, ...] = ("roomy", "close", "closest")
        made = [_set(told, "metric", drawn, setting) for setting in settings]
        counts = [len(pages(each)) for each in made]
        assert counts[0] > counts[-1] == min(counts)
        assert pdf(told, "metric", drawn) == made[counts.index(min(counts))]

    @pytest.mark.parametrize(
        ("wrong", "words"),
        [
            (lambda day: day.joint(6.40), "joints do not reconcile: no joint on the list matches 6.40 m"),
            (lambda day: day.batch(73), "83 bags were mixed, 3 more than were aboard and delivered"),
            (lambda day: day.pump(0.5), "500 L was pumped and only 334 L mixed"),
            (lost_its_end, "the stages come to 700 L by the meter, which counted 500 L"),
        ],
        ids=["joints", "bags", "volume", "stage"],
    )
    def test_what_does_not_add_up_stands_on_page_one(self, wrong: Callable[[Day], object], words: str) -> None:
        day = grouting_day()
        day.batch(10)
        wrong(day)
        first = squeezed(pages(printed(report(day.state, digest=DIGEST, program="1")))[0]).partition("Jobandcrew")[0]
        assert "Toknowfirst" in first
        assert squeezed(words) in first


def hostile_day() -> Day:
    stage, mix = ({"name": words} for words in (HOSTILE[3], HOSTILE[2]))
    day = grouting_day(
        plan(
            job={"name": HOSTILE[0], "client": HOSTILE[1], "place": HOSTILE[6][:2000], "permit": HOSTILE[7]},
            crew={"driller": HOSTILE[1], "helper": HOSTILE[3], "rig": HOSTILE[6][:2000]},
            mixes=[BASE["mixes"][0] | mix],
            stages=[BASE["stages"][0] | stage | {"mix": HOSTILE[2]}],
        )
    )
    for words in HOSTILE:
        day.record(ev.NoteWritten(text=words[:2000]))
        day.record(ev.PumpStopped(reason=words[:2000]))
        day.record(ev.PumpStarted())
    day.void(day.record(ev.NoteWritten(text="x")), HOSTILE[1])
    return day


class TestHostile:
    def test_hostile_text_is_shown_and_does_nothing(self) -> None:
        made = printed(report(hostile_day().state, digest=DIGEST, program=HOSTILE[0]))
        found = squeezed("".join(pages(made)))
        for words in (HOSTILE[0], HOSTILE[1], HOSTILE[2], HOSTILE[3], HOSTILE[7], "[31mred", "\\u{202e}gnorw"):
            assert squeezed(words) in found, words
        assert not outside(made)

        # a reader may give right-to-left letters in the order of writing or of the paper
        assert "מלט" in found or "טלמ" in found

    def test_a_note_longer_than_a_page_is_all_there(self) -> None:
        words = " ".join(f"w{number:04d}" for number in range(2_000))
        assert len(words) == 11_999
        made = replace(view(), notes=(NoteRow(7, view().at, "A", words), NoteRow(8, view().at, "B", "y" * 10_000)))
        document = printed(made)
        found = body(document).replace("\u00b7", "")
        assert squeezed(words) in found
        assert "y" * 10_000 in found
        assert not outside(document)


def test_writing_that_the_built_in_fonts_lack_is_asked_of_the_machine(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the machine has not either is a box on paper; the letters are in the text of the page all the same."""
    asked: list[bool] = []

    def compiled(template: bytes, *, sys_inputs: dict[str, str], ignore_system_fonts: bool) -> bytes:
        asked.append(ignore_system_fonts)
        return b""

    monkeypatch.setattr(typst, "compile", compiled)
    for words, alone in (("Цемент, מלט, اسمنت", True), ("水井 4", False), ("कुआँ", False)):
        asked.clear()
        printed(replace(view(), notes=(NoteRow(7, view().at, "A", words),)))
        assert set(asked) == {alone}
