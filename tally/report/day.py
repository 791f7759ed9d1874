"""The day as blocks, in the order of its pages. The same view and units give the same blocks, always and anywhere."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tally.formats import UNKNOWN, Units
from tally.job.view.checklist import CheckRow
from tally.job.view.log import LogRow
from tally.job.view.quantity import Kind, Quantity
from tally.job.view.report import ReportView
from tally.job.view.reported_balance import Balance
from tally.report.block import Block, Form, Heading, Items, Pairs, Place, Signatures, Strong, Table, Words
from tally.report.grout_section import stage_blocks
from tally.report.ruled import rule_blocks
from tally.report.writer import Writer

INVENTED = "DEMONSTRATION – INVENTED"
ONE_DAY = (
    "One day out of a longer session: rows are of that day alone; lengths, depths, volumes and counts of materials are"
    " of the session up to its end."
)
PROOF = (
    "The digest runs over every line of the session file. It finds accidents, such as a damaged, lost or changed line;"
    " it is no signature and does not keep out a forger, who could work it out anew."
)


def blocks(view: ReportView, units: Units) -> Iterator[Block]:
    """Everything that the report says."""
    write = Writer(view.job.time_zone, units, view.since or view.opened_at)
    for section in (
        _top,
        _job,
        _times,
        _hole,
        _casing,
        _loads,
        _grout,
        _balances,
        _alarms,
        _corrections,
        _notes,
        _rules,
        _signed,
        _book,
        _facts,
        _end,
    ):
        yield from section(view, write)


def days(view: ReportView, write: Writer) -> str:
    """The date of the work, or its first and last."""
    first, last = write.day(view.since or view.opened_at), write.day(view.at)
    return first if last == first else f"{first} to {last}"


def _top(view: ReportView, write: Writer) -> Iterator[Block]:
    if view.job.invented:
        yield Strong(INVENTED)
    yield Heading(1, f"Casing and grout: {view.job.name or UNKNOWN}")
    yield Words(f"Work of {days(view, write)}. {write.zone_words()}")
    if view.since is not None:
        yield Words(ONE_DAY)
    first = [
        *(("Does not add up", write.said(sentence)) for sentence in view.imbalances),
        *(("Problem in the file", problem) for problem in view.problems),
        *(("Alarms as recorded and as worked out anew differ", words) for words in view.disagreements),
        *(("Open", write.said(sentence)) for sentence in view.missing),
    ]
    if first:
        yield Heading(2, "To know first")
        yield Items(first)


def _job(view: ReportView, write: Writer) -> Iterator[Block]:
    job, crew = view.job, view.crew
    rows = [
        ("Job", job.name),
        ("Client", job.client),
        ("Place", job.place),
        ("Permit", job.permit),
        ("Rig", crew.rig),
        ("Driller as planned", crew.driller),
        ("Licence", crew.licence),
        ("Helper as planned", crew.helper),
        ("Recorded last by", view.who),
        ("Helper last", view.helper),
        *((f"Weather, {write.time(row.at)}", write.said(row.sentence)) for row in view.weather),
    ]
    yield Heading(2, "Job and crew")
    yield Pairs(rows)


def _times(view: ReportView, write: Writer) -> Iterator[Block]:
    yield Heading(2, "Times")
    yield Table(("Time", "What"), [(write.time(moment.at), write.said(moment.what)) for moment in view.moments])
    spent = [(write.said(spell.activity), write.put(spell.lasted)) for spell in view.spells]
    together = Quantity(sum(spell.lasted.si or 0.0 for spell in view.spells), Kind.DURATION)
    yield Table(("Activity", ">Lasted"), [*spent, ("all together", write.put(together))])


def _hole(view: ReportView, write: Writer) -> Iterator[Block]:
    hole, put = view.hole, write.put
    yield Heading(2, "Hole")
    rows = [
        (put(part.top), put(part.bottom), put(part.diameter), "casing that stood before" if part.cased else "open hole")
        for part in hole.sections
    ]
    yield Table((">From", ">To", ">Diameter", "What"), rows)
    if hole.zones:
        known = [
            (
                put(zone.top),
                put(zone.bottom),
                zone.kind,
                f"entry {zone.number}, {write.time(zone.at)}" if zone.number is not None else "the plan",
                zone.note,
            )
            for zone in hole.zones
        ]
        yield Table((">From", ">To", "Known zone", "Told by", "Remark"), known)
    read = f"{put(hole.water_read)} ({write.time(hole.water_read_at)})" if hole.water_read_at else UNKNOWN
    yield Pairs(
        [
            ("Depth to rock", put(hole.rock)),
            ("Depth to water, as planned", put(hole.water_planned)),
            ("Depth to water, as read last", read),
        ]
    )


def _casing(view: ReportView, write: Writer) -> Iterator[Block]:
    casing, put = view.casing, write.put
    yield Heading(2, "Casing")
    landed = f"{casing.landed_on}, {write.time(casing.landed_at)}" if casing.landed_at else "not landed"
    read = "read" if casing.stick_up_read else "as planned, not read"
    planned_at = ", ".join(put(depth) for depth in casing.centralizers_planned)
    yield Pairs(
        [
            ("Pipe", ", ".join(filter(None, (casing.material, casing.standard, casing.connection)))),
            ("Outside diameter", put(casing.outer_diameter)),
            ("Wall", put(casing.wall)),
            ("Bore", put(casing.bore)),
            ("Mass", put(casing.line_mass)),
            (
                "Shoe",
                f"{casing.shoe_end}, {put(casing.shoe_length)} long" if casing.shoe_length.si else casing.shoe_end,
            ),
            ("Joints in the hole", f"{casing.joints_in}, {put(casing.joints_length)} together"),
            ("Joints entered and voided", str(casing.voided_joints)),
            ("Connections add (+) or take (-)", put(casing.connections)),
            ("Cut off", put(casing.cut_off)),
            ("Length of the string", put(casing.length)),
            ("Stick-up", f"{put(casing.stick_up)} ({read}); planned {put(casing.stick_up_planned)}"),
            ("Depth of the shoe", f"{put(casing.shoe)}; planned {put(casing.target)}"),
            ("Landed", landed),
            ("Centralizers planned at", planned_at or UNKNOWN),
        ]
    )
    if casing.joints:
        yield Heading(3, "Joints")
        yield Table(
            (">Joint", ">Length", ">Shoe at", "Time", "Entry"),
            [
                (str(row.place), put(row.length), put(row.shoe), write.time(row.at), str(row.number))
                for row in casing.joints
            ],
        )
    if casing.rejected:
        yield Heading(3, "Rejected")
        yield Table(
            (">Length", "Time", "Entry", "Reason"),
            [(put(row.length), write.time(row.at), str(row.number), row.reason) for row in casing.rejected],
        )
    if casing.centralizers:
        yield Heading(3, "Centralizers")
        yield Table(
            (">Depth", ">Above the shoe", "Time", "Entry"),
            [(put(row.depth), put(row.above_shoe), write.time(row.at), str(row.number)) for row in casing.centralizers],
        )
    if casing.cut_offs:
        yield Heading(3, "Cut off")
        yield Table(
            (">Length", "Time", "Entry"),
            [(put(row.length), write.time(row.at), str(row.number)) for row in casing.cut_offs],
        )


def _loads(view: ReportView, write: Writer) -> Iterator[Block]:
    casing, put = view.casing, write.put
    yield Heading(2, "Hook load")
    yield Pairs(
        [
            ("Expected, whole string in water", put(casing.load_at_end)),
            ("Lowest limit", f"{put(casing.limit)} ({casing.limit_name})"),
            ("Expected over the limit", put(casing.load_share)),
        ]
    )
    if casing.loads:
        yield Table(
            ("Time", ">Shoe at", "Motion", ">Read", ">Expected", ">Band", "Verdict", "Entry"),
            [
                (
                    write.time(row.at),
                    put(row.shoe),
                    row.motion,
                    put(row.read),
                    put(row.expected),
                    put(row.band),
                    row.verdict,
                    str(row.number),
                )
                for row in casing.loads
            ],
        )


def _check(row: CheckRow, write: Writer) -> tuple[str, ...]:
    said = f"NOT DONE, because {row.reason}" if row.said == "not done" else row.said or "nobody said a word on it"
    return row.title, said, write.time(row.at) if row.at else UNKNOWN, str(row.number or UNKNOWN)


def _grout(view: ReportView, write: Writer) -> Iterator[Block]:
    yield Heading(2, "Grout")
    if view.checks:
        yield Heading(3, "Before the first batch")
        yield Table(("Looked at", "What was said", "Time", "Entry"), [_check(row, write) for row in view.checks])
    if not view.stages:
        yield Words("No stage was begun.")
    for stage in view.stages:
        yield from stage_blocks(stage, write)
    if view.loose_batches:
        yield Heading(3, "Mixed for no stage")
        yield Table(
            ("Time", ">Bags", ">Volume", "Entry"),
            [(write.time(row.at), str(row.bags), write.put(row.volume), str(row.number)) for row in view.loose_batches],
        )


def _balances(view: ReportView, write: Writer) -> Iterator[Block]:
    yield Place()
    yield Heading(2, "Materials and counts")
    yield Items([(balance.name, _balance_words(balance, write)) for balance in view.balances])


def _balance_words(balance: Balance, write: Writer) -> str:
    came, went = (
        " + ".join(f"{write.put(part.amount)} {part.label}" for part in side) for side in (balance.came, balance.went)
    )
    return f"{came} = {went}" if balance.holds else f"{came}, against {went}: DOES NOT ADD UP"


def _alarms(view: ReportView, write: Writer) -> Iterator[Block]:
    yield Heading(2, "Alarms")
    if not view.alarms:
        yield Words("No alarm was raised.")
        return
    rows = []
    for row in view.alarms:
        answer = (
            f"{row.done or UNKNOWN} ({row.who}, {write.time(row.acknowledged_at)})"
            if row.acknowledged
            else "NOT ANSWERED"
        )
        cleared = write.time(row.cleared_at) if row.cleared_at else "cause still there"
        title = f"{row.title} (from a voided entry)" if row.voided else row.title
        rows.append((write.time(row.raised_at), row.severity, title, write.said(row.sentence), cleared, answer))
    yield Table(("Raised", "Severity", "Alarm", "Said", "Cause gone", "What was done"), rows)


def _corrections(view: ReportView, write: Writer) -> Iterator[Block]:
    yield Heading(2, "Corrections")
    if not view.corrections:
        yield Words("Nothing was corrected.")
        return
    rows = []
    for made in view.corrections:
        changes = "; ".join(
            f"{change.key}: {write.any(change.before)} to {write.any(change.after)}" for change in made.changes
        )
        before = f"{write.time(made.entered_at)}, {made.entered_by}" if made.entered_at else ""
        what = write.said(made.what) + (f" ({changes})" if changes else "")
        rows.append((write.time(made.at), str(made.number), made.who, made.reason or UNKNOWN, before, what))
    yield Table(("Time", "Entry", "By", "Why", "First entered", "What"), rows)


def _notes(view: ReportView, write: Writer) -> Iterator[Block]:
    yield Heading(2, "Notes")
    if view.notes:
        rows = [(write.time(note.at), str(note.number), note.who, note.text) for note in view.notes]
        yield Table(("Time", "Entry", "By", "Note"), rows)
    else:
        yield Words("No note was written.")


def _rules(view: ReportView, write: Writer) -> Iterator[Block]:
    return rule_blocks(view.rules, write)


def _signed(view: ReportView, write: Writer) -> Iterator[Block]:
    yield Heading(2, "Signed")
    yield Signatures([("Driller", "Date"), ("Contractor", "Licence"), ("Received by", "Date")])


def _book(view: ReportView, write: Writer) -> Iterator[Block]:
    if view.measured:
        yield Heading(2, "Measured and done besides")
        yield _log_table(view.measured, write)
    if view.meter:
        yield Heading(2, "Meter")
        yield _log_table(view.meter, write)
    yield Heading(2, "The record")
    yield _log_table(view.record, write)


def _log_table(rows: Sequence[LogRow], write: Writer) -> Table:
    return Table(
        ("Time", "Entry", "By", "What"),
        [(write.time(row.at), str(row.number), row.who, write.said(row.sentence)) for row in rows],
    )


def _facts(view: ReportView, write: Writer) -> Iterator[Block]:
    yield Heading(2, "Facts for the well record")
    yield Words("Empty fields are to be filled in by hand.")
    yield Form(("Group", "Fact", "Value"), [(fact.group, fact.label, write.fact(fact.value)) for fact in view.facts])


def _end(view: ReportView, write: Writer) -> Iterator[Block]:
    yield Heading(2, "Cautions")
    yield Items([("", caution) for caution in view.cautions])
    yield Heading(2, "What this rests on")
    yield Items(
        [
            ("Entries", f"{view.entries}, the last at {write.time_s(view.at)}"),
            ("Digest", view.digest or UNKNOWN),
            ("Written by", f"tally {view.program}"),
        ]
    )
    yield Words(PROOF)
    if view.job.invented:
        yield Strong(INVENTED)
