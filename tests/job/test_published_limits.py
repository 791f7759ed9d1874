"""Limits of alarms and warnings against the rules that they are taken from; sources in tests/published/rules.toml."""

import pytest

from tally.engineering import grout
from tally.job.alarms.grout import OFF_BOTTOM_M
from tally.job.plan import AlarmLimits, Stage
from tally.job.view.planned_warning import MOST_WATER, TREMIE_OFF_BOTTOM_M
from tests.published.tables import Row, rows
from tests.published.units import FT_M, LB_KG, US_GAL_M3

TAKEN = {
    "no rise, yd3": AlarmLimits().no_rise_m3 / (3 * FT_M) ** 3,
    "no rise, ft": AlarmLimits().no_rise_m / FT_M,
    "tremie off bottom in an alarm, ft": OFF_BOTTOM_M / FT_M,
    "tremie off bottom in a plan, ft": TREMIE_OFF_BOTTOM_M / FT_M,
    "most water, gal": MOST_WATER * 94 * LB_KG / grout.WATER_KG_M3 / US_GAL_M3,
    "likely over theory": 1.0 + Stage.model_fields["allowance_share"].default,
}


@pytest.mark.parametrize("row", rows("no_rise", "tremie_off_bottom", "most_water", "excess"), ids=repr)
def test_a_limit_is_the_one_that_was_read(row: Row) -> None:
    row.holds(TAKEN[row["of"]], "value")
