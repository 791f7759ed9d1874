"""Batches of every kind of mix on a day, and how the report tells of them, by hand."""

from typing import Any

import pytest

from tally.job import grouting
from tally.job import intents as want
from tally.job.view.report import report
from tally.report.markdown import markdown
from tests.report.reading import cells, plain_text
from tests.scenario import BASE, Day, grouting_day, plan

CLAY = {
    "kind": "bentonite",
    "bag_kg": 22.68,
    "parts": [{"name": "bentonite", "mass_kg": 22.68, "specific_gravity": 2.65}],
    # 50 lb and 24 US gal: 3.5 ft3, Water Well Journal, September 2015, p 33
    "water_per_bag_m3": 0.09085,
    "yield_per_bag_m3": 0.09942,
    "density_kg_m3": 1141.0,
}
RECIPE = {
    "kind": "recipe",
    "bag_kg": 42.64,
    "parts": [
        {"name": "cement", "mass_kg": 42.64, "specific_gravity": 3.15},
        {"name": "silica [sand]", "mass_kg": 90.72, "specific_gravity": 2.65},
    ],
    "water_per_bag_m3": 0.02343,
    "yield_per_bag_m3": 0.07125,
    "density_kg_m3": 2200.0,
}


def day_with(mix: dict[str, Any]) -> Day:
    return grouting_day(plan(mixes=[BASE["mixes"][0] | mix]))


@pytest.mark.parametrize(
    ("mix", "bags", "water_m3", "volume_m3"),
    [(CLAY, 4, 0.3634, 0.39768), (RECIPE, 3, 0.07029, 0.21375), ({}, 3, 0.0591, 0.1002)],
)
def test_a_batch_is_its_bags_by_the_recipe(mix: dict[str, Any], bags: int, water_m3: float, volume_m3: float) -> None:
    day = day_with(mix)
    day.do(want.MixBatch(bags, f"{bags}", sure=True))
    (batch,) = day.state.grout.batches
    assert batch.water_m3 == pytest.approx(water_m3)
    assert batch.volume_m3 == pytest.approx(volume_m3)
    assert grouting.bags_left(day.state) == 80 - bags


def test_water_beyond_the_recipe_adds_its_own_volume() -> None:
    day = day_with(CLAY)
    day.do(want.MixBatch(1, "1", water_m3=0.10085, sure=True))
    assert day.state.grout.batches[0].volume_m3 == pytest.approx(0.10942)


def test_the_report_tells_what_went_in() -> None:
    def page(mix: dict[str, Any]) -> str:
        day = day_with(mix)
        day.do(want.MixBatch(3, "3", sure=True))
        written = markdown(report(day.state, digest="", program="1"), "metric")
        return "\n".join(
            [*plain_text(written)[1], *(cell for table in cells(written) for row in table for cell in row)]
        )

    assert "22.7 kg of bentonite a bag" in page(CLAY)
    assert "bags of 22.7 kg of bentonite" in page(CLAY)
    assert "42.6 kg of cement a bag, 90.7 kg of silica [sand] a bag" in page(RECIPE)
    assert "with silica [sand]" in page(RECIPE)
    assert "of cement a bag" not in page({})
