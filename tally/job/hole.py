"""The hole as it was drilled: sections by bit size, what a caliper read, zones that take grout."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from tally.job.model import Model, NotNegative, Positive, Text


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
