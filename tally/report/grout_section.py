"""One grout stage as blocks."""

from __future__ import annotations

from collections.abc import Iterator

from tally.formats import UNKNOWN
from tally.job.view.reported_grout import MixReport, ReturnsRow, StageReport
from tally.report.block import Block, Heading, Pairs, Table
from tally.report.writer import Writer


def stage_blocks(stage: StageReport, write: Writer) -> Iterator[Block]:
    yield Heading(3, f"Stage {stage.begun}: {stage.name}")
    yield Pairs([*_course(stage, write), *_volumes(stage, write), *_came_back(stage, write)])
    if stage.batches:
        rows = [
            (
                str(row.place),
                write.time(row.at),
                str(row.bags),
                write.put(row.water),
                write.put(row.volume),
                write.put(row.density),
                row.verdict,
                str(row.number),
            )
            for row in stage.batches
        ]
        yield Table((">Batch", "Mixed", ">Bags", ">Water", ">Volume", ">Density", "Verdict", "Entry"), rows)
    if stage.returns:
        yield Table(
            ("Seen", "Returns", "Fluid", ">Density", ">Pumped by then", "Entry"), list(_returns_rows(stage, write))
        )
    if stage.tags:
        yield Table(("Tagged", ">Top at", ">Pumped by then", "Entry", "Remark"), list(_tag_rows(stage, write)))
    if stage.interruptions:
        yield Table(("Stopped", "Went on", ">Lasted", "Told by", "Reason"), list(_interruption_rows(stage, write)))


def _course(stage: StageReport, write: Writer) -> Iterator[tuple[str, str]]:
    yield "Place in the plan", str(stage.planned_place)
    yield "Interval", f"{write.put(stage.bottom)} up to {write.put(stage.top)}"
    yield "Placed by", stage.method
    yield "Mix", _recipe(stage.mix, write)
    yield "Begun", write.time(stage.started_at)
    yield "Ended", write.time(stage.ended_at) if stage.ended_at else "still under way"
    yield "Lasted", write.put(stage.lasted)
    yield "Outcome", stage.outcome or UNKNOWN
    if stage.remark:
        yield "Remark", stage.remark
    waiting = f" (waiting time {write.put(stage.mix.waiting_time)})" if stage.set_until else ""
    yield "Set until", write.time(stage.set_until) + waiting
    yield (
        "Oldest batch at the end",
        f"{write.put(stage.oldest_batch)}; working time {write.put(stage.mix.working_time)}",
    )


def _recipe(mix: MixReport, write: Writer) -> str:
    parts = [mix.name, f"bags of {write.put(mix.bag)}", f"{write.put(mix.water_per_bag)} of water a bag"]
    parts += [f"{write.put(mass)} of {name} a bag" for name, mass in mix.parts]
    if mix.bentonite.si:
        parts.append(f"bentonite {write.put(mix.bentonite)} of the {mix.bentonite_basis}")
    if mix.sand_per_bag.si:
        parts.append(f"{write.put(mix.sand_per_bag)} of sand a bag")
    wanted = f"{write.put(mix.density)} ± {write.put(mix.density_band)} wanted"
    return ", ".join((*parts, f"yields {write.put(mix.yield_per_bag)} a bag", wanted))


def _volumes(stage: StageReport, write: Writer) -> Iterator[tuple[str, str]]:
    put = write.put
    yield "Annulus in theory", put(stage.theory)
    yield (
        "Planned, line included",
        f"{put(stage.planned)} (allowance {put(stage.allowance)}), {put(stage.planned_high)} at the high estimate",
    )
    yield "Mixed", f"{put(stage.mixed)} from {stage.bags} bags"
    yield "Pumped", f"{put(stage.pumped)} ({put(stage.metered)} by meter, {put(stage.typed)} typed)"
    yield "Out of the line", f"{put(stage.out)} (line holds {put(stage.line)})"
    yield "Excess over theory", f"{put(stage.excess)} of the annulus up to {put(stage.found)}"


def _came_back(stage: StageReport, write: Writer) -> Iterator[tuple[str, str]]:
    due = f"{write.put(stage.due_low)} to {write.put(stage.due_high)} pumped ({stage.due_fluid} first)"
    yield "Returns were due at", due
    if stage.first_returns is None:
        yield "Returns", "none seen"
    else:
        yield "Returns first seen", _seen(stage.first_returns, write)
        yield "Returns first full", _seen(stage.full_returns, write) if stage.full_returns else "never"
        yield "Grout at full strength", _seen(stage.good_grout, write) if stage.good_grout else "never"
        yield "Returns last seen", _seen(stage.last_returns, write)
    after = [tag for tag in stage.tags if tag.after_end]
    yield "Top tagged afterwards", write.put(after[-1].depth) if after else "not tagged"
    if stage.topped_up.si:
        yield "Topped up afterwards", write.put(stage.topped_up)
    yield "Interrupted", _interrupted(stage, write)


def _interrupted(stage: StageReport, write: Writer) -> str:
    times = stage.times_interrupted
    return f"{times} time{'s' if times > 1 else ''}, {write.put(stage.interrupted)} together" if times else "no"


def _seen(row: ReturnsRow | None, write: Writer) -> str:
    return f"{write.time(row.at)}, {write.put(row.pumped)} pumped, {row.strength} {row.fluid}" if row else UNKNOWN


def _returns_rows(stage: StageReport, write: Writer) -> Iterator[tuple[str, ...]]:
    for row in stage.returns:
        numbers = write.put(row.density), write.put(row.pumped)
        yield write.time(row.at), row.strength, row.fluid or UNKNOWN, *numbers, str(row.number)


def _tag_rows(stage: StageReport, write: Writer) -> Iterator[tuple[str, ...]]:
    for row in stage.tags:
        remarks = ("grout lost below" if row.lost else "", "after the stage ended" if row.after_end else "")
        remark = ", ".join(filter(None, remarks))
        yield write.time(row.at), write.put(row.depth), write.put(row.pumped), str(row.number), remark


def _interruption_rows(stage: StageReport, write: Writer) -> Iterator[tuple[str, ...]]:
    for row in stage.interruptions:
        again = write.time(row.ended_at) if row.ended_at else "still stopped"
        yield write.time(row.began_at), again, write.put(row.lasted), row.source, row.reason or UNKNOWN
