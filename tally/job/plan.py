"""The plan of a job, in SI: what the crew set out to do. Read-only once it is made.

Depths are along the hole from ground level, down positive. A plan file in human units is read into this model by
`tally.planfile`; the session's first event carries the whole model, so a session never needs the file again.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from tally.engineering import hook_load, tank

Text = Annotated[str, Field(max_length=2_000)]
MOST = 1e12
"""Far past anything on a rig in any SI unit, and so small that no sum or product of two runs out of floats."""
Positive = Annotated[float, Field(gt=0, le=MOST)]
NotNegative = Annotated[float, Field(ge=0, le=MOST)]
Real = Annotated[float, Field(ge=-MOST, le=MOST)]
Share = Annotated[float, Field(ge=0, le=1)]


class Model(BaseModel):
    """Strict, frozen, nothing extra, no NaN: the same rules for plan and events."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", allow_inf_nan=False)


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


class HoleSection(Model):
    top_m: NotNegative
    bottom_m: Positive
    diameter_m: Positive
    cased: bool = False
    """True where the "hole" is the bore of a casing that already stands."""


class LogPoint(Model):
    """One reading of a caliper."""

    depth_m: NotNegative
    diameter_m: Positive


ZoneKind = Literal["fracture", "void", "washout", "loss"]
ZONE_SPREADS: dict[ZoneKind, float] = {"fracture": 0.5, "void": 1.0, "washout": 0.3, "loss": 0.5}
"""Half the central 80 % range of a zone's own factor, where the plan gives none: common practice, wide on purpose."""


class Zone(Model):
    """A stretch where the hole may take more grout than the rock beside it, known from drilling."""

    top_m: NotNegative
    bottom_m: Positive
    kind: ZoneKind
    note: Text = ""
    spread_share: Annotated[float, Field(ge=0, le=2)] | None = None
    """None: by its kind."""

    @model_validator(mode="after")
    def _downward(self) -> Self:
        if self.bottom_m <= self.top_m:
            raise ValueError(f"a zone ends at {self.bottom_m} m, not below its top at {self.top_m} m")
        return self


MOST_LOG_POINTS = 20_000
"""So that the session's first line, which carries them all, stays within the length of a line."""
MOST_TIGHT = 20


class Hole(Model):
    sections: tuple[HoleSection, ...] = Field(min_length=1)
    """By bit size. Where the log measured, volumes and drawings go by the log."""
    water_level_m: NotNegative
    rock_m: NotNegative | None = None
    drinks_water: bool | None = None
    """True where the ground takes displaced water, so that only grout is expected at surface; None: not known."""
    log: tuple[LogPoint, ...] = Field(default=(), max_length=MOST_LOG_POINTS)
    """Caliper readings from the top down; between two of them the diameter runs straight."""
    log_gap_m: Positive | None = None
    """Readings further apart than this leave a gap, where the bit size stands in; None: no gap is too long."""
    log_tight: tuple[LogPoint, ...] = Field(default=(), max_length=MOST_TIGHT)
    """The narrowest readings that were left out because the casing is wider; the narrowest first."""
    log_notes: tuple[Text, ...] = Field(default=(), max_length=50)
    """What was left out of the log and why, from when it was read."""
    zones: tuple[Zone, ...] = Field(default=(), max_length=100)

    @property
    def bottom_m(self) -> float:
        return self.sections[-1].bottom_m

    def narrow_at_m(self, shoe_m: float, outer_diameter_m: float) -> float | None:
        """Depth above a shoe [m] where the log is no wider than a casing; None where it is wider all the way."""
        for above, below in pairwise(self.log):
            step_m = below.depth_m - above.depth_m
            if above.depth_m >= shoe_m:
                break
            if self.log_gap_m is not None and step_m > self.log_gap_m:
                continue
            share = min((shoe_m - above.depth_m) / step_m, 1.0)
            end_m = above.diameter_m + share * (below.diameter_m - above.diameter_m)
            if min(above.diameter_m, end_m) <= outer_diameter_m:
                return above.depth_m if above.diameter_m <= end_m else min(below.depth_m, shoe_m)
        return None

    @model_validator(mode="after")
    def _sections_follow_each_other(self) -> Self:
        at = 0.0
        for section in self.sections:
            if section.bottom_m <= section.top_m:
                raise ValueError(f"a section ends at {section.bottom_m} m, not below its top at {section.top_m} m")
            if abs(section.top_m - at) > 1e-6:
                word = "overlaps the one above" if section.top_m < at else "leaves a gap below the one above"
                raise ValueError(f"the section from {section.top_m} m {word}, which ends at {at} m")
            at = section.bottom_m
        return self

    @model_validator(mode="after")
    def _log_runs_down_within_the_hole(self) -> Self:
        for above, below in pairwise(self.log):
            if below.depth_m <= above.depth_m:
                raise ValueError(f"the log's {below.depth_m} m does not lie below its {above.depth_m} m")
        if self.log and self.log[-1].depth_m > self.bottom_m:
            raise ValueError(f"the log ends at {self.log[-1].depth_m} m, below the bottom at {self.bottom_m} m")
        return self


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


ValueName = Literal["total", "pulses", "rate", "density", "force", "pressure", "current"]
"""What a line or a register may hold; see `tally.meters.dialect`."""
Signed = Annotated[float, Field(ge=-MOST, le=MOST)]


class Register(Model):
    """One value of a Modbus device."""

    reads: ValueName
    address: Annotated[int, Field(ge=0, le=65_535)]
    """From 0: what a manual calls 40001 is 0."""
    unit: Annotated[int, Field(ge=1, le=247)] = 1
    bank: Literal["holding", "input"] = "holding"
    type: Literal["uint16", "int16", "uint32", "int32", "uint64", "int64", "float32", "float64"] = "float32"
    order: Literal["ABCD", "CDAB", "BADC", "DCBA"] = "ABCD"
    factor: Positive
    """SI value of one of what the register counts."""


class Loop(Model):
    """What 4 and 20 mA stand for, in SI."""

    quantity: Literal["rate_m3_s", "density_kg_m3", "force_n", "pressure_pa"]
    at_4: Signed
    at_20: Signed

    @model_validator(mode="after")
    def _has_a_range(self) -> Self:
        if self.at_4 == self.at_20:
            raise ValueError("4 and 20 mA stand for the same value")
        return self


class Wired(Model):
    """How an instrument is reached and what it says: lines by a pattern, or the registers of a Modbus device."""

    name: Text = ""
    port: Text
    baud: Annotated[int, Field(ge=300, le=4_000_000)] = 9_600
    bits: Annotated[str, Field(pattern=r"^[78][NEO][12]$")] = "8N1"
    """Data bits, parity, stop bits."""
    pattern: Text
    """Regular expression with named groups; see `tally.meters.dialect`. Empty for Modbus."""
    factors: dict[str, Positive]
    """SI value of one printed unit, for each named group."""
    registers: Annotated[tuple[Register, ...], Field(max_length=20)] = ()
    every_s: Positive = 1.0
    """How often the registers are asked for."""
    loop: Loop | None = None
    modulus_m3: Positive | None = None

    @property
    def keeps_count(self) -> bool:
        """True where the instrument counts by itself, so that it tells afterwards what went by unheard."""
        return bool({"total", "pulses"} & {*self.factors, *(one.reads for one in self.registers)})


GROUT = "grout"
"""The channel of the meter that counts, whatever it is called."""


class MeterPlan(Wired):
    """The meter that counts the grout."""

    channel: Literal["grout"] = "grout"
    tolerance_share: Share = 0.02
    step_m3: Positive | None = None
    """The most that its total grows at once, where it counts in coarse steps."""


Measured = Literal["grout in", "returns out", "hook load", "pressure", "density"]


class Instrument(Wired):
    """Any other instrument: a second source of volume, which checks the one that counts, or a gauge."""

    name: Annotated[str, Field(min_length=1, max_length=40)]
    """Its readings are recorded under it."""
    measures: Measured


class Rule(Model):
    """One local rule: in words, and where it can be checked, by which fact and value."""

    id: Text
    text: Text
    fact: Text = ""
    """One of `tally.job.rule_facts.FACTS`; "" or one that is not known here: the rule is only shown."""
    value: Real | None = None
    """In SI, of the kind that the fact has."""
    applies: Text = ""
    """Only to this material, connection or method; "": to all."""
    casing_from_m: NotNegative | None = None
    """Only to casing of this outside diameter or more."""
    clause: Text
    source: Text
    address: Text = ""
    known: Text = "own"
    read: Text
    """The day on which it was read: 2026-11-25."""


class RuleSet(Model):
    name: Text
    about: Text = ""
    rules: tuple[Rule, ...] = Field(max_length=200)


class Tank(Model):
    """The tank that grout is drawn from, for whoever dips it."""

    shape: Literal["standing cylinder", "lying cylinder", "box", "table"]
    diameter_m: Positive | None = None
    length_m: Positive | None = None
    width_m: Positive | None = None
    height_m: Positive | None = None
    """From its bottom to where a dip is read from; a lying cylinder has its diameter, a table its last row."""
    rows: Annotated[tuple[tuple[NotNegative, NotNegative], ...], Field(max_length=200)] = ()
    """(depth from the bottom [m], volume [m3])."""
    dipped: Literal["from the top", "from the bottom"] = "from the top"

    @model_validator(mode="after")
    def _is_whole(self) -> Self:
        needed = {
            "standing cylinder": (self.diameter_m, self.height_m),
            "lying cylinder": (self.diameter_m, self.length_m),
            "box": (self.length_m, self.width_m, self.height_m),
            "table": (self.rows or None,),
        }
        if None in needed[self.shape]:
            raise ValueError(f"a {self.shape} lacks a size")
        if self.rows:
            tank.table_m3(self.rows, self.rows[0][0])  # raises where a row does not grow
        return self

    @property
    def full_m(self) -> float:
        """Depth of the grout when it is full."""
        if self.shape == "table":
            return self.rows[-1][0]
        return (self.diameter_m if self.shape == "lying cylinder" else self.height_m) or 0.0

    def volume_m3(self, dip_m: float) -> float:
        """What is in it by a dip; raises ValueError for one that cannot be."""
        depth_m = self.full_m - dip_m if self.dipped == "from the top" else dip_m
        if not 0.0 <= depth_m <= self.full_m:
            raise ValueError(f"a dip of {dip_m:g} m in a tank {self.full_m:g} m deep")
        if self.shape == "standing cylinder":
            return tank.standing_cylinder_m3(diameter_m=self.diameter_m or 0.0, level_m=depth_m)
        if self.shape == "lying cylinder":
            return tank.lying_cylinder_m3(
                diameter_m=self.diameter_m or 0.0, length_m=self.length_m or 0.0, level_m=depth_m
            )
        if self.shape == "box":
            return tank.box_m3(length_m=self.length_m or 0.0, width_m=self.width_m or 0.0, level_m=depth_m)
        return tank.table_m3(self.rows, max(depth_m, self.rows[0][0]))


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
        ports: dict[str, str] = {self.meter.port: "the meter that counts"} if self.meter else {}
        for number, instrument in enumerate(self.instruments):
            key = f"instrument.{number}"
            if instrument.name in names or instrument.name == GROUT:
                yield f"{key}.name", f"two instruments are called {instrument.name!r}"
            if (other := ports.get(instrument.port)) is not None:
                yield f"{key}.port", f"{other} is on {instrument.port} already"
            names.add(instrument.name)
            ports[instrument.port] = instrument.name
