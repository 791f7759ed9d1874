"""The whole day for a report: everything that a page says, worked out, in its order, and not yet text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from tally.job import events as ev
from tally.job.plan import Crew, JobFacts
from tally.job.state import State
from tally.job.view import alarms as alarm_view
from tally.job.view import reported_balance as balance
from tally.job.view import reported_book as book
from tally.job.view import reported_day
from tally.job.view.alarms import AlarmRow
from tally.job.view.checklist import CheckRow, gone_through
from tally.job.view.entered import entered
from tally.job.view.log import LogRow
from tally.job.view.quantity import Sentence
from tally.job.view.reported_balance import Balance
from tally.job.view.reported_book import Correction, Moment, NoteRow, Spell
from tally.job.view.reported_casing import CasingReport, HoleReport, casing_report, hole_report
from tally.job.view.reported_facts import Fact, facts
from tally.job.view.reported_grout import BatchReport, StageReport, loose_batches, stage_reports
from tally.job.view.ruled import RuleNotes, rule_notes

CAUTIONS = (
    "Wet cement burns, and the pain comes late: alkali-proof gloves and goggles, wash at once.",
    "Dry cement and rock dust carry silica: keep the dust down, wear protection.",
    "Nobody under a hung load. Bleed pressurised hoses before breaking them.",
    "Setting grout heats plastic casing. Nobody drills on before the grout has set.",
    "Every computed number is an estimate: measure, tag and look.",
    "Local code, the makers' ratings and the licensed contractor decide; this report certifies nothing.",
)


@dataclass(frozen=True, slots=True)
class ReportView:
    job: JobFacts
    crew: Crew
    who: str
    """Who recorded last."""
    helper: str
    program: str
    entries: int
    digest: str
    opened_at: datetime
    at: datetime
    """Time of the last entry."""
    imbalances: tuple[Sentence, ...]
    missing: tuple[Sentence, ...]
    problems: tuple[str, ...]
    disagreements: tuple[str, ...]
    """Where recorded alarms differ from those that the entries call for."""
    moments: tuple[Moment, ...]
    spells: tuple[Spell, ...]
    hole: HoleReport
    casing: CasingReport
    checks: tuple[CheckRow, ...]
    """Before the first batch."""
    stages: tuple[StageReport, ...]
    loose_batches: tuple[BatchReport, ...]
    balances: tuple[Balance, ...]
    alarms: tuple[AlarmRow, ...]
    corrections: tuple[Correction, ...]
    meter: tuple[LogRow, ...]
    measured: tuple[LogRow, ...]
    weather: tuple[LogRow, ...]
    notes: tuple[NoteRow, ...]
    record: tuple[LogRow, ...]
    facts: tuple[Fact, ...]
    rules: tuple[RuleNotes, ...]
    cautions: tuple[str, ...]
    since: datetime | None = None
    """The report is of one day, which began then; None: of the whole session."""


def report(
    state: State,
    *,
    digest: str,
    program: str,
    problems: Sequence[str] = (),
    disagreements: Sequence[str] = (),
    since: datetime | None = None,
) -> ReportView:
    """The session up to `state`, or what of it was done since a day began. `digest` is that of the file, `problems`
    what is wrong in it, `disagreements` what `tally.job.alarms.replay` found: a state alone cannot know them."""
    hole, casing, stages = hole_report(state), casing_report(state), stage_reports(state)
    view = ReportView(
        job=state.plan.job,
        crew=state.plan.crew,
        who=state.who,
        helper=state.helper,
        program=program,
        entries=state.number,
        digest=digest,
        opened_at=state.entries[0].entry.at,
        at=state.at,
        imbalances=balance.imbalances(state),
        missing=tuple(_missing(state, casing, stages)),
        problems=tuple(problems),
        disagreements=tuple(disagreements),
        moments=book.moments(state),
        spells=book.spells(state, reported_day.elapsed_s(state, since) if since else 0.0),
        hole=hole,
        casing=casing,
        checks=gone_through(state),
        stages=stages,
        loose_batches=loose_batches(state),
        balances=balance.balances(state),
        alarms=tuple(sorted(alarm_view.alarms(state), key=lambda row: row.raised_at)),
        corrections=book.corrections(state),
        meter=book.meter(state),
        measured=book.measured(state),
        weather=book.weather(state),
        notes=book.notes(state),
        record=book.record(state),
        facts=facts(state, hole, casing, stages),
        rules=rule_notes(state.plan.rules, state.plan, state),
        cautions=CAUTIONS,
    )
    return reported_day.since(view, since) if since else view


def _missing(state: State, casing: CasingReport, stages: tuple[StageReport, ...]) -> Iterator[Sentence]:
    """What a reader would look for and not find."""
    if not state.closed:
        yield Sentence("The session is not signed off: more may follow.")
    yield from _missing_casing(casing)
    yield from _missing_checks(state)
    yield from _missing_stages(state, stages)
    waiting = sum(not row.acknowledged for row in alarm_view.alarms(state))
    if waiting:
        yield Sentence(f"{waiting} alarm{'s were' if waiting > 1 else ' was'} not answered.")
    if book.calculation_differs(state):
        yield Sentence("The session was recorded by a program that works figures out in another way than this report.")


def _missing_casing(casing: CasingReport) -> Iterator[Sentence]:
    if not casing.joints:
        yield Sentence("No joint of casing was entered.")
        return
    if casing.landed_at is None:
        yield Sentence(
            "The casing is not landed: the shoe is worked out at {0}, planned at {1}.", (casing.shoe, casing.target)
        )
    if not casing.stick_up_read:
        yield Sentence("The stick-up was not read: depths rest on the planned {0}.", (casing.stick_up,))
    elif not casing.stick_up_is_late:
        yield Sentence(
            "The stick-up was not read again after the last joint or cut: depths rest on {0}.", (casing.stick_up,)
        )
    if not casing.loads:
        yield Sentence("No hook load was read.")


def _missing_checks(state: State) -> Iterator[Sentence]:
    for row in gone_through(state):
        if row.said != "confirmed":
            because = ", because {0}" if row.reason else ": nobody said a word on it"
            yield Sentence(f"Not done before the first batch: {row.title}{because}", (row.reason,))


def _missing_stages(state: State, stages: tuple[StageReport, ...]) -> Iterator[Sentence]:
    if not stages:
        yield Sentence("No grout stage was begun.")
        return
    for begun in entered(state, ev.StageStarted):
        if begun.event.against:
            place = begun.event.stage + 1
            words = f"Stage {place} of the plan was begun against the working time of its mix, because {{0}}"
            yield Sentence(words, (begun.event.against,))
    for stage in stages:
        yield from _missing_stage(stage)
    done = {stage.planned_place for stage in stages}
    for place, planned in enumerate(state.plan.stages, start=1):
        if place not in done:
            yield Sentence(f"Stage {place} of the plan ({{0}}) was not begun.", (planned.name,))
    last = stages[-1]
    if last.ended_at is not None and not any(tag.after_end for tag in last.tags):
        yield Sentence("The top was not tagged after the last stage ended.")


def _missing_stage(stage: StageReport) -> Iterator[Sentence]:
    number = f"Stage {stage.begun}"
    if stage.ended_at is None:
        yield Sentence(f"{number} is still under way.")
    if stage.first_returns is None:
        yield Sentence(f"{number}: no returns were seen.")
    elif stage.good_grout is None and not stage.top.si:
        yield Sentence(f"{number}: no full-strength grout was seen at surface.")
    if not stage.pumped.si:
        yield Sentence(f"{number}: nothing was pumped by the count.")
    elif not stage.batches:
        yield Sentence(f"{number}: no batch was entered, so that bags and density are not known.")
    elif unweighed := sum(batch.density.si is None for batch in stage.batches):
        yield Sentence(f"{number}: {unweighed} of {len(stage.batches)} batches not weighed.")
