"""The plan of a job, in SI: what the crew set out to do. Read-only once it is made.

Depths are along the hole from ground level, down positive. A plan file in human units is read into this model by
`tally.planfile`; the session's first event carries the whole model, so a session never needs the file again.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from tally.engineering import hook_load
from tally.job.grout_tank import Tank
from tally.job.hole import Hole
from tally.job.model import Model, NotNegative, Positive, Share, Text
from tally.job.rule import RuleSet
from tally.job.wired import GROUT, Instrument, MeterPlan, Wired


class Crew(Model):
    driller: Text
    licence: Text = ""
    helper: Text = ""
    rig: Text = ""


class JobFacts(Model):
    name: Text
    client: Text = ""
    place: Text = ""
    permit: Text = ""
    time_zone: Text
    """IANA name. The plan file checks it; a session from elsewhere falls back to UTC on screen."""
    units: Literal["metric", "us"] = "metric"
    invented: bool = False
    """A demonstration: every screen and report says so."""


class Casing(Model):
    material: Literal["steel", "pvc"]
    standard: Text = ""
    size: Text = ""
    """Name in the pipe tables, where the figures came from there."""
    outer_diameter_m: Positive
    bore_m: Positive
    mass_kg_m: Positive
    """Mass as run, couplings or bells included, shared over the length."""
    minimum_wall_m: Positive | None = None
    """Strength goes by it; None: worked out from outside and bore."""
    yield_pa: Positive | None = None
    """Of the steel; None: the softest in common use is taken."""
    connection: Literal["welded", "threaded", "solvent"]
    make_up_loss_m: NotNegative = 0.0
    """Taken off at each connection: thread engagement, or the insertion of a solvent-welded bell."""
    weld_gap_m: NotNegative = 0.0
    shoe: Literal["open", "float", "closed"]
    shoe_length_m: NotNegative = 0.0
    shoe_mass_kg: NotNegative = 0.0
    target_shoe_depth_m: Positive
    stick_up_m: NotNegative
    stick_up_tolerance_m: NotNegative
    joint_min_m: Positive
    joint_max_m: Positive
    rack_m: tuple[Positive, ...] = Field(min_length=1, max_length=1_000)
    delivered: Annotated[int, Field(ge=0, le=2_000)] | None = None
    """Joints by the delivery note; None: as many as the rack lists."""
    measured_from_m: NotNegative = 0.0
    """Height above ground of the table or flange from which depths are measured on the day: it is taken off them."""
    centralizer_depths_m: tuple[NotNegative, ...] = ()
    keep_welds_from_ground_m: NotNegative = 0.0
    """No weld (or other connection) nearer to ground level than this, above or below it; 0: not asked for."""
    keep_welds_from_rock_m: NotNegative = 0.0
    keep_welds_from_centralizers_m: NotNegative = 0.0

    @model_validator(mode="after")
    def _bore_fits(self) -> Self:
        if self.bore_m >= self.outer_diameter_m:
            raise ValueError(f"the bore ({self.bore_m} m) is not smaller than the outside ({self.outer_diameter_m} m)")
        return self

    @property
    def shoe_state(self) -> hook_load.ShoeState:
        return hook_load.ShoeState(self.shoe)


class Limits(Model):
    hoist_n: Positive
    elevator_n: Positive | None = None
    connection_n: Positive | None = None
    hook_n: NotNegative = 0.0
    """Weight of hook, block and elevator where the reading includes them."""
    dynamic_factor: Annotated[float, Field(ge=1, le=3)] = 1.25
    reading_band_n: NotNegative
    reading_band_share: Share = 0.10
    collapse_pa: Positive | None = None
    collapse_factor: Annotated[float, Field(ge=1)] = 1.5
    burst_pa: Positive | None = None

    @property
    def named(self) -> tuple[tuple[str, float], ...]:
        """Every limit of the load that is given: its name and value [N]."""
        pairs = [("hoist", self.hoist_n), ("elevator", self.elevator_n), ("connection", self.connection_n)]
        return tuple((name, value) for name, value in pairs if value is not None)

    @property
    def lowest(self) -> tuple[str, float]:
        """The limit that is met first: its name and value [N]."""
        return min(self.named, key=lambda pair: pair[1])


class Tremie(Model):
    outer_diameter_m: Positive
    bore_m: Positive
    section_m: Positive
    sections: Annotated[int, Field(ge=1, le=1_000)]
    minimum_cover_m: NotNegative = 1.5

    @property
    def length_m(self) -> float:
        return self.section_m * self.sections


class Line(Model):
    """What stands between the pump and the tremie's end (or the shoe, when pumping through the casing)."""

    volume_m3: NotNegative
    starts: Literal["water", "empty"]
    length_m: Positive | None = None
    """With the bore, where the volume was not given but worked out: friction needs both."""
    bore_m: Positive | None = None


class Pump(Model):
    rate_m3_s: Positive
    greatest_rate_m3_s: Positive | None = None
    """The most that it can deliver; None: twice its planned rate."""
    pressure_limit_pa: Positive | None = None
    stroke_m3: Positive | None = None
    """What one stroke sweeps, for a crew that counts strokes by eye or on a mechanical counter."""
    efficiency_share: Annotated[float, Field(ge=0.1, le=1)] | None = None
    """What a stroke truly delivers of that."""


MixKind = Literal["neat cement", "cement-bentonite", "cement-sand", "bentonite", "recipe"]


class Part(Model):
    """A solid of a mix: what one bag of the counted kind takes of it."""

    name: Text
    mass_kg: Positive
    specific_gravity: Annotated[float, Field(gt=0, lt=25)]


class Mix(Model):
    name: Text
    kind: MixKind | None = None
    """None: from before kinds were kept."""
    parts: tuple[Part, ...] = Field(default=(), max_length=20)
    """Solids to one bag, the bag's own first."""
    bag_kg: Positive
    cement_sg: Annotated[float, Field(gt=1, lt=5)] = 3.15
    water_per_bag_m3: Positive
    bentonite_share: Share = 0.0
    bentonite_basis: Literal["cement", "water"] = "cement"
    sand_per_bag_kg: NotNegative = 0.0
    yield_per_bag_m3: Positive
    density_kg_m3: Positive
    density_band_kg_m3: Positive
    working_time_s: Positive
    waiting_time_s: Positive
    mixer_m3: Positive | None = None
    """What the mixer takes at once; None: batches are as the crew makes them."""
    plastic_viscosity_pa_s: Positive | None = None
    yield_stress_pa: NotNegative | None = None
    """Both or neither: friction is never guessed."""

    @property
    def bag_of(self) -> str:
        """What the bags hold that are counted."""
        return self.parts[0].name if self.parts else "cement"

    @model_validator(mode="after")
    def _rheology_is_whole(self) -> Self:
        if (self.plastic_viscosity_pa_s is None) != (self.yield_stress_pa is None):
            raise ValueError("plastic viscosity and yield stress go together")
        return self


class Stage(Model):
    name: Text
    bottom_m: Positive
    top_m: NotNegative
    mix: Text
    method: Literal["tremie", "through casing"]
    plug_m: NotNegative | None = None
    """Height of grout to leave inside a casing whose bore it goes down; None: by a pipe that stabs into the shoe, the
    line as given."""
    allowance_share: Annotated[float, Field(gt=-0.9, le=5)] = 0.15
    spread_share: Annotated[float, Field(ge=0, le=2)] = 0.15

    @model_validator(mode="after")
    def _upward(self) -> Self:
        if self.top_m >= self.bottom_m:
            raise ValueError(
                f"a stage fills upward: its top ({self.top_m} m) is not above its bottom ({self.bottom_m} m)"
            )
        return self


class Material(Model):
    """What is aboard of a solid that goes in beside the counted bags."""

    name: Text
    mass_kg: NotNegative


class Aboard(Model):
    bags: Annotated[int, Field(ge=0)]
    water_m3: NotNegative
    wash_up_m3: NotNegative = 0.0
    materials: tuple[Material, ...] = Field(default=(), max_length=20)


class AlarmLimits(Model):
    no_data_s: Positive = 5.0
    pump_stop_share: Share = 0.25
    """Share of the working time that the pump may stand before it is an alarm."""
    no_rise_m3: Positive = 0.764554857984
    no_rise_m: Positive = 3.048
    returns_stop_s: Positive = 60.0
    sources_share: Share = 0.05
    """Two sources of volume may lie this far apart, or by `sources_m3`, whichever is more."""
    sources_m3: Positive = 0.02
    deficit_share: Share = 0.20
    """Less coming out than going in: so much of what went in, or `deficit_m3`, whichever is more."""
    deficit_m3: Positive = 0.1
    frozen_s: Positive = 30.0
    """A count that stands still for so long while the pump runs."""
    gone_s: NotNegative | None = None
    """A port that has been gone for so long while a stage is under way; None: from before that was looked for."""


class Plan(Model):
    job: JobFacts
    crew: Crew
    hole: Hole
    casing: Casing
    limits: Limits
    line: Line
    tremie: Tremie | None = None
    pump: Pump | None = None
    mixes: tuple[Mix, ...] = Field(min_length=1)
    stages: tuple[Stage, ...] = Field(min_length=1)
    aboard: Aboard
    meter: MeterPlan | None = None
    instruments: Annotated[tuple[Instrument, ...], Field(max_length=8)] = ()
    tank: Tank | None = None
    alarms: AlarmLimits = AlarmLimits()
    rules: tuple[RuleSet, ...] = Field(default=(), max_length=10)
    """Whole, so that a session shows the rules by which it was checked, whatever becomes of their files."""

    def mix(self, name: str) -> Mix:
        return next(mix for mix in self.mixes if mix.name == name)

    @model_validator(mode="after")
    def _parts_agree(self) -> Self:
        if wrong := [words for _, words in self.disagreements()]:
            raise ValueError("; ".join(wrong))
        return self

    def disagreements(self) -> list[tuple[str, str]]:
        """(key, words) of each place where two parts of the plan contradict each other."""
        return [*self._casing_disagreements(), *self._stage_disagreements(), *self._instrument_disagreements()]

    def _casing_disagreements(self) -> Iterator[tuple[str, str]]:
        casing, hole = self.casing, self.hole
        if casing.target_shoe_depth_m > hole.bottom_m + 1e-6:
            yield (
                "casing.target_shoe_depth",
                f"the shoe is planned at {casing.target_shoe_depth_m:g} m, below the bottom at {hole.bottom_m:g} m",
            )
        if casing.keep_welds_from_rock_m and hole.rock_m is None:
            yield "casing.keep_welds_from_rock", "welds are to keep clear of the rock, and [hole] gives no rock depth"
        for number, zone in enumerate(hole.zones):
            if zone.bottom_m > hole.bottom_m + 1e-6:
                yield f"hole.zone.{number}.to", f"{zone.bottom_m:g} m is below the hole's bottom at {hole.bottom_m:g} m"
        for number, section in enumerate(hole.sections):
            if section.top_m < casing.target_shoe_depth_m and section.diameter_m <= casing.outer_diameter_m:
                yield (
                    f"hole.section.{number}.diameter",
                    f"the casing ({casing.outer_diameter_m * 1000:g} mm outside) does not fit the hole"
                    f" ({section.diameter_m * 1000:g} mm) at {section.top_m:g} to {section.bottom_m:g} m",
                )
        if (tight_m := hole.narrow_at_m(casing.target_shoe_depth_m, casing.outer_diameter_m)) is not None:
            yield (
                "hole.caliper",
                f"the casing ({casing.outer_diameter_m * 1000:g} mm outside) does not fit the hole as logged"
                f" at {tight_m:g} m",
            )

    def _stage_disagreements(self) -> Iterator[tuple[str, str]]:
        known = {mix.name for mix in self.mixes}
        if len(known) < len(self.mixes):
            yield "mix", "two mixes have the same name"
        deepest = self.hole.bottom_m
        for number, stage in enumerate(self.stages):
            key = f"stage.{number}"
            if stage.mix not in known:
                yield f"{key}.mix", f"no mix is called {stage.mix!r}; there is {', '.join(sorted(known))}"
            if stage.bottom_m > deepest + 1e-6:
                below = "inside the stage below, whose top is" if number else "below the hole's bottom"
                yield f"{key}.from", f"{stage.bottom_m:g} m is {below} at {deepest:g} m"
            if stage.method == "tremie" and self.tremie is None:
                yield f"{key}.method", "pumped by tremie, but the plan has no [tremie]"
            deepest = stage.top_m

    def _instrument_disagreements(self) -> Iterator[tuple[str, str]]:
        names: set[str] = set()
        ports: dict[str, tuple[str, Wired]] = {}
        if self.meter is not None:
            ports[self.meter.port] = "the meter that counts", self.meter
        for number, instrument in enumerate(self.instruments):
            key = f"instrument.{number}"
            if instrument.name in names or instrument.name == GROUT:
                yield f"{key}.name", f"two instruments are called {instrument.name!r}"
            other, first = ports.setdefault(instrument.port, (instrument.name, instrument))
            if differs := first.port_differs(instrument):
                yield f"{key}.port", f"{other} is on {instrument.port} already, with {differs}"
            names.add(instrument.name)
