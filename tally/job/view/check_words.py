"""The things to look at before the first batch, in a few words each; common practice."""

from __future__ import annotations

from tally.job.events import CheckName

TITLES: dict[CheckName, str] = {
    "flushed": "hole flushed, foam or cuttings out",
    "tremie": "tremie free to move, its length counted",
    "balance": "mud balance reads 1.00 kg/L (8.34 lb/gal) in water",
    "stock": "aboard covers the high need",
    "casing": "casing filled or held down where the loads ask for it",
    "protection": "gloves, goggles and masks on, washing water at hand",
}
