"""The rules that plan and events share: strict, frozen models and bounded numbers."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

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
