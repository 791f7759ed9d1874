"""Stages: left to set in a loss, tagged, taken up from the tag; finished; and what the materials come to."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import fill as filling
from tally.job import grouting
from tally.job import intents as want
from tally.job.decide.refusal import Refusal
from tests.scenario import Day, grouting_day, plan

ANNULUS_M2 = 0.0268477  # pi/4 (0.250^2 - 0.168275^2)
LIFTS = [
    {"name": "foot", "bottom_m": 60.0, "top_m": 40.0, "mix": "thick", "method": "tremie"},
    {"name": "rest", "bottom_m": 40.0, "top_m": 0.0, "mix": "neat", "method": "tremie"},
]
NEAT = plan().mixes[0].model_dump()
THICK = {**NEAT, "name": "thick", "water_per_bag_m3": 0.0170, "yield_per_bag_m3": 0.0305, "working_time_s": 3_600.0}


def lifts(**changes: Any) -> Day:
    """A day in two lifts, each with its own mix."""
    return grouting_day(plan(stages=LIFTS, mixes=[NEAT, THICK], **changes))


def refusal(day: Day, intent: want.Intent) -> Refusal:
    decision = day.ask(intent)
    assert isinstance(decision, Refusal), decision
    return decision


def test_a_loss_left_to_set_tagged_and_taken_up_from_the_tag() -> None:
    day = grouting_day()
    day.batch(40)
    day.pump(1.200)
    day.returns("none")
    day.do(want.TagTop(48.0, "48 m", lost=True))
    day.do(want.EndStage("left to set", "loss at 48 m"))
    day.quiet(43_200.0)
    day.do(want.TagTop(48.3, "48.3 m", lost=True))
    (started,) = day.do(want.StartStage(sure=True))
    assert started.event == ev.StageStarted(stage=0, bottom_m=48.3, top_m=0.0)

    first, second = day.state.grout.stages
    assert (first.outcome, first.remark) == ("left to set", "loss at 48 m")
    assert second.index == 0 and second.open and not second.tags
    assert grouting.pumped_m3(first, day.state.flow) == pytest.approx(1.200)
    assert grouting.pumped_m3(second, day.state.flow) == 0.0
    # What was lost below is not held against the hole above: 48.3 m of annulus with the planned 15 %, and the line.
    now = filling.fill(day.state, second)
    assert now.needed_m3 == pytest.approx(1.15 * 48.3 * ANNULUS_M2 + 0.040, rel=1e-5)
    assert now.top.low_m == now.top.high_m == 48.3


def test_what_is_pumped_next_belongs_to_the_next_stage() -> None:
    day = grouting_day()
    day.pump(0.500)
    day.end("left to set")
    day.pump(0.030)  # washing the line
    day.tag(50.0)
    day.stage(0, bottom_m=50.0)
    day.pump(0.700)
    first, second = day.state.grout.stages
    assert grouting.pumped_m3(first, day.state.flow) == pytest.approx(0.500)
    assert grouting.pumped_m3(second, day.state.flow) == pytest.approx(0.700)


def test_without_a_tag_nobody_knows_where_to_begin_again() -> None:
    day = grouting_day()
    day.pump(0.500)
    day.end("left to set")
    assert "tag the top first" in refusal(day, want.StartStage(sure=True)).reason
    day.tag(50.0)
    assert not isinstance(day.ask(want.StartStage(sure=True)), Refusal)


def test_a_tag_from_before_more_was_pumped_is_no_place_to_begin() -> None:
    day = grouting_day()
    day.pump(0.500)
    day.tag(50.0)
    day.pump(0.200)
    day.end("left to set")
    assert "tag the top first" in refusal(day, want.StartStage()).reason


def test_planned_lifts_follow_each_other() -> None:
    day = lifts()
    day.pump(0.600)
    day.end("as planned")
    (started,) = day.do(want.StartStage())
    assert started.event == ev.StageStarted(stage=1, bottom_m=40.0, top_m=0.0)
    day.end("good grout at surface")
    assert "every planned stage is done" in refusal(day, want.StartStage()).reason


def test_a_lift_that_settled_is_begun_where_it_was_tagged() -> None:
    """Planned to 40 m and tagged at 41.5 m: what is left of the lift below comes first, with its own mix."""
    day = lifts()
    day.pump(0.600)
    day.end("as planned")
    day.quiet(3_600.0)
    day.tag(41.5)
    (started,) = day.do(want.StartStage())
    assert started.event == ev.StageStarted(stage=0, bottom_m=41.5, top_m=40.0)


def test_a_lift_left_to_set_carries_the_next_once_it_has() -> None:
    """Its mix waits 24 h; whoever knows better says so."""
    day = grouting_day()
    day.pump(1.000)
    day.end("left to set")
    day.tag(50.0)
    early = refusal(day, want.StartStage())
    assert (early.values[1].si, "hard tag" in early.ask) == (86_400.0, True)
    assert not isinstance(day.ask(want.StartStage(sure=True)), Refusal)
    day.quiet(86_400.0)
    assert not isinstance(day.ask(want.StartStage()), Refusal)


def test_a_lift_that_was_found_above_its_top_and_then_ended_leaves_less_of_the_next() -> None:
    """The tag holds as long as nothing is pumped after it: 40 m planned, 38 m found."""
    day = lifts()
    day.pump(0.600)
    day.tag(38.0)
    day.end("as planned")
    (started,) = day.do(want.StartStage())
    assert started.event == ev.StageStarted(stage=1, bottom_m=38.0, top_m=0.0)


def test_found_above_its_top_a_lift_needs_nothing_more() -> None:
    """The tremie takes up 27.5 m of 33.4 mm, 0.024 m3; what stands above 40 m fills it ten times over."""
    day = lifts()
    day.tremie(57.5)
    day.pump(1.200)
    day.tag(30.0)
    stage = day.state.grout.stages[-1]
    assert filling.fill(day.state, stage).needed_high_m3 == 0.0
    day.tag(40.0)
    assert filling.fill(day.state, day.state.grout.stages[-1]).needed_m3 == pytest.approx(
        17.5 * 0.25 * 3.14159265 * 0.0334**2, rel=1e-3
    )


def test_a_lift_tagged_above_its_top_leaves_less_of_the_next() -> None:
    day = lifts()
    day.pump(0.600)
    day.end("as planned")
    day.tag(38.0)
    (started,) = day.do(want.StartStage())
    assert started.event == ev.StageStarted(stage=1, bottom_m=38.0, top_m=0.0)


def test_a_top_that_settled_is_topped_up() -> None:
    day = grouting_day()
    day.pump(1.900)
    day.returns("full", "grout")
    day.do(want.EndStage("good grout at surface"))
    day.quiet(43_200.0)
    day.do(want.TagTop(1.2, "1.2 m"))
    (started,) = day.do(want.StartStage())
    assert started.event == ev.StageStarted(stage=0, bottom_m=1.2, top_m=0.0)


def test_tagged_at_surface_nothing_is_left_to_fill() -> None:
    day = grouting_day()
    day.pump(1.900)
    day.end("good grout at surface")
    day.tag(0.0)
    assert "nothing is left" in refusal(day, want.StartStage()).reason


# --- mixes -----------------------------------------------------------------------------------------------------------


def test_each_lift_has_its_own_mix() -> None:
    day = lifts()
    day.do(want.MixBatch(10, "10", sure=True))  # 10 bags of 30.5 L
    day.end("as planned")
    day.do(want.StartStage())
    day.do(want.MixBatch(10, "10", sure=True))  # 10 bags of 33.4 L
    first, second = day.state.grout.batches
    assert [first.volume_m3, second.volume_m3] == pytest.approx([0.305, 0.334])
    assert [first.water_m3, second.water_m3] == pytest.approx([0.170, 0.197])


@pytest.mark.parametrize(
    ("outcome", "tag_m", "litres_a_bag"),
    [("left to set", 50.0, 30.5), ("given up", 50.0, 30.5), ("as planned", None, 33.4)],
)
def test_a_batch_mixed_ahead_is_of_the_mix_that_comes_next(
    outcome: str, tag_m: float | None, litres_a_bag: float
) -> None:
    day = lifts()
    day.pump(0.4)
    day.end(outcome)
    if tag_m is not None:
        day.tag(tag_m)
    day.do(want.MixBatch(10, "10", sure=True))
    (batch,) = day.state.grout.batches
    assert batch.volume_m3 == pytest.approx(10 * litres_a_bag / 1000)
    day.do(want.StartStage(sure=True))
    assert batch.stage == len(day.state.grout.stages) - 1


def test_begun_again_twice_the_lift_keeps_its_mix() -> None:
    """Three begun stages are not three planned ones."""
    day = lifts()
    for tag_m in (58.0, 55.0):
        day.pump(0.2)
        day.end("left to set")
        day.tag(tag_m)
        day.do(want.StartStage(sure=True))
    day.end("left to set")
    day.do(want.MixBatch(10, "10", sure=True))
    assert day.state.grout.batches[-1].volume_m3 == pytest.approx(0.305)


def test_water_over_the_recipe_adds_its_own_volume() -> None:
    """10 bags: 334 L by the recipe with 197 L of water; with 207 L it is 344 L."""
    day = grouting_day()
    day.do(want.MixBatch(10, "10", water_m3=0.207, sure=True))
    assert day.state.grout.batches[0].volume_m3 == pytest.approx(0.344)


# --- materials -------------------------------------------------------------------------------------------------------


@settings(max_examples=60)
@given(st.lists(st.tuples(st.sampled_from(["mix", "deliver", "void", "stage"]), st.integers(1, 9)), max_size=25))
def test_materials_balance(steps: list[tuple[str, int]]) -> None:
    """Aboard + delivered = used + left, in bags and in water, whatever is voided."""
    day = grouting_day()
    used, delivered = {}, {}
    for what, count in steps:
        if what == "mix":
            used[day.batch(count).number] = count
        elif what == "deliver":
            entry = day.record(ev.StockDelivered(bags=count, water_m3=count / 10))
            delivered[entry.number] = count
        elif what == "stage":
            day.end("left to set")
            day.tag(50.0)
            day.stage(0, bottom_m=50.0)
        elif used or delivered:
            number = next(iter(used or delivered))
            day.void(number)
            used.pop(number, None)
            delivered.pop(number, None)
    assert grouting.bags_left(day.state) == 80 + sum(delivered.values()) - sum(used.values())
    water_m3 = 3.0 + sum(delivered.values()) / 10 - sum(used.values()) * 0.0197
    assert grouting.water_left_m3(day.state) == pytest.approx(water_m3)


def test_what_all_stages_pumped_is_what_the_meter_counted_in_them() -> None:
    day = grouting_day()
    for volume_m3, tag_m in ((0.5, 50.0), (0.3, 44.0), (0.4, 36.0)):
        day.pump(volume_m3)
        day.end("left to set")
        day.tag(tag_m)
        day.do(want.StartStage(sure=True))
    stages, flow = day.state.grout.stages, day.state.flow
    pumped = [grouting.pumped_m3(stage, flow) for stage in stages]
    assert pumped == pytest.approx([0.5, 0.3, 0.4, 0.0])
    assert sum(pumped) == pytest.approx(flow.metered_m3)


def test_a_stage_of_meter_and_hand_count_adds_both() -> None:
    day = grouting_day()
    day.pump(0.300)
    day.meter("FAULT", "cable")
    day.do(want.AddVolume(0.200, "200 L"))
    stage = day.state.grout.stages[0]
    assert grouting.pumped_m3(stage, day.state.flow) == pytest.approx(0.500)


def test_after_its_end_a_stage_takes_no_more() -> None:
    day = grouting_day()
    day.pump(0.300)
    day.end("left to set")
    day.volume(0.2)
    day.returns("full", "grout")
    day.end("good grout at surface")
    (stage,) = day.state.grout.stages
    assert (stage.typed_m3, stage.returns, stage.outcome) == (0.0, (), "left to set")


def test_the_tremie_comes_out_section_by_section() -> None:
    day = grouting_day()
    day.tremie(57.0)
    day.record(ev.TremiePulled(sections=2))
    assert day.state.grout.tremie_tip_m == pytest.approx(51.0)
    day.record(ev.TremiePulled(sections=17))
    assert day.state.grout.tremie_tip_m is None and day.state.grout.tremie_out
    day.record(ev.TremiePulled(sections=1))
    assert day.state.grout.tremie_tip_m is None


def test_pump_words_follow_key_and_meter() -> None:
    day = grouting_day()
    assert grouting.pump_words(day.state) == "not started"
    day.pump(0.1)
    assert grouting.pump_words(day.state) == "moving"
    day.record(ev.PumpStopped(reason="hose"))
    day.beats(2, 0.0005)  # running down
    assert grouting.pump_words(day.state) == "still"
    day.beats(10, 0.0)
    day.beats(2, 0.0005)
    assert grouting.pump_words(day.state) == "moving"
    day.beats(30, 0.0)
    assert grouting.pump_words(day.state) == "still"
