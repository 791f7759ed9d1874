"""The tank that grout is drawn from: what a dip says is in it."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from tally.engineering import tank
from tally.job.model import Model, NotNegative, Positive


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
