"""Every intent: accepted where it makes sense, else refused in words that say what was given and what is accepted."""

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import intents as want
from tally.job.checklist import CHECKS
from tally.job.decide.decide import decide
from tally.job.decide.refusal import Refusal
from tally.job.view.quantity import Quantity
from tests.job.happenings import PLANS, events
from tests.scenario import Day, grouting_day, plan

Made = Callable[[], Day]


def written(value: Quantity) -> str:
    return f"<{value.si:g} {value.kind}>"


def refused(day: Day, intent: want.Intent) -> str:
    decision = day.ask(intent)
    assert isinstance(decision, Refusal), decision
    assert decision.field
    return decision.words(written)


def empty() -> Day:
    return Day()


def running() -> Day:
    day = Day()
    day.joints([5.05] * 3)
    day.tick(60.0)
    day.beats(1)
    return day


def landed() -> Day:
    day = Day()
    day.joints()
    day.landed()
    return day


def grouting() -> Day:
    day = grouting_day()
    day.tremie(57.0)
    day.batch(30)
    return day


def silent() -> Day:
    """Grouting, with the meter out."""
    day = grouting_day()
    day.meter("FAULT", "cable")
    return day


def stopped() -> Day:
    day = grouting()
    day.record(ev.PumpStopped(reason="hose"))
    return day


def finished() -> Day:
    day = grouting()
    day.end("good grout at surface")
    return day


def gap() -> Day:
    day = grouting_day()
    day.beat(0.2)
    day.restart(60.0)
    day.beat(0.3)
    return day


def alarmed() -> Day:
    day = Day(alarms=True)
    day.joint(5.5)
    return day


def dippable() -> Day:
    return grouting_day(plan(tank={"shape": "box", "length_m": 1.0, "width_m": 1.0, "height_m": 1.2}))


def strokes() -> Day:
    return grouting_day(plan(meter=None, pump={"rate_m3_s": 0.001, "stroke_m3": 0.001, "efficiency_share": 0.9}))


def tremie_left() -> Day:
    day = landed()
    day.tremie(30.0)
    return day


def closed() -> Day:
    day = landed()
    day.record(ev.SessionClosed())
    return day


ACCEPTED: list[tuple[Made, want.Intent, ev.AnyEvent]] = [
    (running, want.AddJoint(5.05, "5.05 m"), ev.JointAdded(length_m=5.05, typed="5.05 m")),
    # running: joints of entries 2, 3 and 4
    (running, want.RemeasureJoint(3, 5.0, "5 m"), ev.JointRemeasured(joint=4, length_m=5.0, typed="5 m")),
    (empty, want.RejectJoint(6.1, "6.1", "bent"), ev.JointRejected(length_m=6.1, typed="6.1", reason="bent")),
    (running, want.FitCentralizer(), ev.CentralizerFitted(above_shoe_m=5.05 + 5.05 + 5.05, at_top=True)),
    (running, want.FitCentralizer(2.0), ev.CentralizerFitted(above_shoe_m=2.0)),
    (running, want.CutOff(0.4, "0.4 m"), ev.CutOffMade(length_m=0.4, typed="0.4 m")),
    (running, want.ReadStickUp(0.7, "0.7 m"), ev.StickUpRead(stick_up_m=0.7, typed="0.7 m")),
    (
        running,
        want.ReadHookLoad(4_000.0, "4 kN", "lowering"),
        ev.HookLoadRead(load_n=4_000.0, typed="4 kN", motion="lowering"),
    ),
    (empty, want.ReadFluidLevel("hole", 18.0, "18"), ev.FluidLevelRead(where="hole", depth_m=18.0, typed="18")),
    (running, want.LandCasing("hung", sure=True), ev.CasingLanded(on="hung")),
    (running, want.BeginActivity("repair", "hose"), ev.ActivityBegan(activity="repair", note="hose")),
    (running, want.NoteWeather("12 C"), ev.WeatherNoted(text="12 C", air_c=12.0)),
    (landed, want.ConfirmCheck("flushed"), ev.CheckConfirmed(check="flushed")),
    (landed, want.OverrideCheck("tremie", "x"), ev.CheckOverridden(check="tremie", reason="x")),
    (landed, want.StartStage(), ev.StageStarted(stage=0, bottom_m=60.0, top_m=0.0)),
    (grouting, want.MixBatch(8, "8"), ev.BatchMixed(bags=8, water_m3=8 * 0.0197, typed="8")),
    (grouting, want.MixBatch(8, "8", 0.16), ev.BatchMixed(bags=8, water_m3=0.16, typed="8")),
    (grouting, want.WeighBatch(1_860.0, "1.86"), ev.BatchWeighed(density_kg_m3=1_860.0, typed="1.86")),
    (dippable, want.DipTank(0.2, "20 cm"), ev.TankDipped(dip_m=0.2, volume_m3=1.0, typed="20 cm")),
    (silent, want.AddVolume(0.2, "200 L"), ev.VolumeAdded(volume_m3=0.2, typed="200 L")),
    (
        strokes,
        want.AddStrokes(50, "50 strokes"),
        ev.VolumeAdded(volume_m3=0.045, typed="50 strokes", strokes=50, stroke_m3=0.001, efficiency_share=0.9),
    ),
    (finished, want.TopUp(0.014, "14 L"), ev.ToppedUp(volume_m3=0.014, typed="14 L")),
    (grouting, want.StopPump("hose"), ev.PumpStopped(reason="hose")),
    (stopped, want.StartPump(), ev.PumpStarted()),
    (grouting, want.SeeReturns("weak", "mixed"), ev.ReturnsSeen(strength="weak", fluid="mixed")),
    (grouting, want.SetGroundDrinks(True), ev.GroundDrinks(drinks=True)),
    (grouting, want.TagTop(52.0, "52", True), ev.TopTagged(depth_m=52.0, typed="52", lost=True)),
    (
        grouting,
        want.NoteZone("void", 31.0, 33.0, "31 to 33"),
        ev.ZoneNoted(top_m=31.0, bottom_m=33.0, of="void", typed="31 to 33"),
    ),
    (running, want.ChooseLanding((5.05,) * 9), ev.LandingChosen(order_m=(5.05,) * 9)),
    (landed, want.SetTremie(57.0, "57"), ev.TremieSet(tip_m=57.0, typed="57")),
    (finished, want.PullTremie(19), ev.TremiePulled(sections=19)),
    (grouting, want.EndStage("left to set", "loss"), ev.StageEnded(outcome="left to set", remark="loss")),
    (empty, want.TakeDelivery(40, 1.0), ev.StockDelivered(bags=40, water_m3=1.0)),
    (gap, want.AnswerGap(0.05), ev.GapAnswered(channel="grout", offered_m3=0.3 - 0.2, counted_m3=0.05)),
    (empty, want.WriteNote("rain"), ev.NoteWritten(text="rain")),
    (empty, want.ChangeCrew("C", "D"), ev.CrewChanged(driller="C", helper="D")),
    (running, want.Void(2, "twice"), ev.EntryVoided(entry=2, reason="twice")),
    (
        running,
        want.CorrectEntry(3, want.AddJoint(5.15, "5.15 m"), "misread"),
        ev.EntryCorrected(entry=3, event=ev.JointAdded(length_m=5.15, typed="5.15 m"), reason="misread"),
    ),
    (
        running,
        want.InsertEntry(2, want.WriteNote("fog"), "forgotten"),
        ev.EntryInserted(after=2, event=ev.NoteWritten(text="fog"), reason="forgotten"),
    ),
    (empty, want.AmendPlan(plan(), "deeper"), ev.PlanAmended(plan=plan(), reason="deeper")),
    (
        alarmed,
        want.AcknowledgeAlarm("rack-mismatch", "measured again"),
        ev.AlarmAcknowledged(alarm="rack-mismatch", done="measured again"),
    ),
    (landed, want.CloseSession("done"), ev.SessionClosed(remark="done")),
]


@pytest.mark.parametrize(("made", "intent", "event"), ACCEPTED, ids=lambda v: type(v).__name__)
def test_accepted(made: Made, intent: want.Intent, event: ev.AnyEvent) -> None:
    assert made().ask(intent) == [event]


def test_every_intent_is_accepted_somewhere() -> None:
    every = {kind for kind in vars(want).values() if isinstance(kind, type) and issubclass(kind, want.Intent)}
    assert {type(intent) for _, intent, _ in ACCEPTED} == every - {want.Intent, want.Insistable}


REFUSED: list[tuple[Made, want.Intent, tuple[str, ...]]] = [
    (running, want.AddJoint(0.05, ""), ("<0.05 length>", "<0.1 length>", "<30 length>")),
    (running, want.AddJoint(31.0, ""), ("<31 length>", "<30 length>")),
    (running, want.AddJoint(7.5, ""), ("<7.5 length>", "<4 length>", "<7 length>")),
    (landed, want.AddJoint(5.05, ""), ("landed", "void the landing")),
    (empty, want.RejectJoint(40.0, ""), ("<40 length>", "<30 length>")),
    (empty, want.FitCentralizer(), ("no joint",)),
    (empty, want.FitCentralizer(2.0), ("no joint",)),
    (running, want.FitCentralizer(15.2), ("<15.2 length>", "<0 length>", "<15.15 length>")),
    (running, want.FitCentralizer(-0.1), ("<-0.1 length>",)),
    (empty, want.RemeasureJoint(1, 5.0, ""), ("no joint is in the hole",)),
    (running, want.RemeasureJoint(4, 5.0, ""), ("given joint 4", "to 3 are in")),
    (running, want.RemeasureJoint(0, 5.0, ""), ("given joint 0",)),
    (running, want.RemeasureJoint(1, 31.0, ""), ("<31 length>", "<30 length>")),
    (running, want.RemeasureJoint(1, 7.5, ""), ("<7.5 length>", "<4 length>", "<7 length>")),
    (running, want.CutOff(20.0, ""), ("<20 length>", "<15.15 length>")),
    (running, want.CutOff(0.0, ""), ("<0 length>",)),
    (empty, want.ReadStickUp(0.5, ""), ("no joint",)),
    (running, want.ReadStickUp(16.0, ""), ("<16 length>", "<15.15 length>")),
    (running, want.ReadHookLoad(-1.0, ""), ("<-1 load>", "<5e+06 load>")),
    (empty, want.ReadFluidLevel("hole", 2_001.0, ""), ("<2001 depth>", "<2000 depth>")),
    (empty, want.LandCasing("rock"), ("no joint",)),
    (landed, want.LandCasing("rock"), ("landed already",)),
    (running, want.LandCasing("rock"), ("above its planned depth", "<60 depth>")),
    (running, want.StartStage(), ("not landed",)),
    (grouting, want.StartStage(), ("under way", "end it")),
    (finished, want.StartStage(), ("every planned stage is done",)),
    (grouting, want.MixBatch(0, ""), ("given 0", "1 to 500")),
    (grouting, want.MixBatch(501, ""), ("given 501", "1 to 500")),
    (grouting, want.MixBatch(51, ""), ("only 50 bags",)),
    (grouting, want.MixBatch(5, "", 51.0), ("<51 volume>", "<50 volume>")),
    (landed, want.WeighBatch(1_870.0, ""), ("no batch",)),
    (grouting, want.WeighBatch(18.7, ""), ("<18.7 density>", "<900 density>", "<3000 density>")),
    (landed, want.AddVolume(0.2, ""), ("no stage is under way",)),
    (grouting, want.AddVolume(60.0, ""), ("<60 volume>", "<50 volume>")),
    (grouting, want.AddVolume(0.2, ""), ("meter is counting",)),
    (grouting, want.TopUp(0.014, ""), ("a stage that has ended",)),
    (landed, want.TopUp(0.014, ""), ("a stage that has ended",)),
    (finished, want.TopUp(60.0, ""), ("<60 volume>", "<50 volume>")),
    (landed, want.StopPump(), ("no stage is under way",)),
    (stopped, want.StopPump(), ("stopped already",)),
    (landed, want.StartPump(), ("no stage is under way",)),
    (landed, want.SeeReturns("full"), ("no stage is under way",)),
    (grouting, want.SeeReturns("full", "grout", 187.0), ("<187 density>", "<900 density>")),
    (landed, want.TagTop(50.0, ""), ("no stage was begun",)),
    (grouting, want.TagTop(61.0, ""), ("<61 depth>", "<60 depth>")),
    (grouting, want.SetTremie(61.0, ""), ("<61 depth>", "<60 depth>")),
    (landed, want.PullTremie(1), ("no tremie hangs",)),
    (finished, want.PullTremie(20), ("given 20", "from 1 to 19")),
    (finished, want.PullTremie(0), ("given 0", "from 1 to 19")),
    (grouting, want.PullTremie(1), ("no grout is out", "hang <6 length> above the stage's bottom", "<1.5 length>")),
    (landed, want.EndStage("as planned"), ("no stage is under way",)),
    (grouting, want.EndStage("good grout at surface"), ("no full-strength grout",)),
    (gap, want.EndStage("as planned"), ("<0.1 volume>", "unseen")),
    (empty, want.TakeDelivery(-1), ("given -1", "0 to 10000")),
    (empty, want.TakeDelivery(0, 1_001.0), ("<1001 volume>", "<1000 volume>")),
    (empty, want.TakeDelivery(), ("no bags and no water",)),
    (grouting, want.AnswerGap(0.1), ("no unseen volume",)),
    (gap, want.AnswerGap(0.2), ("<0.2 volume>", "<0.1 volume>")),
    (gap, want.AnswerGap(-0.1), ("<-0.1 volume>", "<0.1 volume>")),
    (empty, want.WriteNote("  "), ("empty",)),
    (empty, want.ChangeCrew(" "), ("name is needed",)),
    (running, want.Void(1, "x"), ("entry 1", "none that can be voided")),
    (running, want.Void(99, "x"), ("entry 99",)),
    (running, want.Void(2, ""), ("reason",)),
    (empty, want.AmendPlan(plan(), " "), ("reason",)),
    (alarmed, want.AcknowledgeAlarm("load-high", "looked"), ("no alarm of that name",)),
    (alarmed, want.AcknowledgeAlarm("rack-mismatch", ""), ("say what was done",)),
    (grouting, want.CloseSession(), ("a stage is under way",)),
    (alarmed, want.CloseSession(), ("1 alarm is not answered",)),
    (tremie_left, want.CloseSession(), ("the tremie is still in the hole",)),
]


@pytest.mark.parametrize(("made", "intent", "said"), REFUSED, ids=lambda v: type(v).__name__)
def test_refused_in_words(made: Made, intent: want.Intent, said: tuple[str, ...]) -> None:
    words = refused(made(), intent)
    for part in said:
        assert part in words


INSISTED: list[tuple[Made, Callable[[bool], want.Intent]]] = [
    (running, lambda sure: want.AddJoint(7.5, "", sure=sure)),
    (running, lambda sure: want.LandCasing("rock", sure=sure)),
    (running, lambda sure: want.StartStage(sure=sure)),
    (grouting, lambda sure: want.MixBatch(51, "", sure=sure)),
    (grouting, lambda sure: want.AddVolume(0.2, "", sure=sure)),
    (grouting, lambda sure: want.PullTremie(1, sure=sure)),
    (grouting, lambda sure: want.EndStage("good grout at surface", sure=sure)),
    (gap, lambda sure: want.EndStage("as planned", sure=sure)),
    (grouting, lambda sure: want.CloseSession(sure=sure)),
]


@pytest.mark.parametrize(("made", "intent"), INSISTED)
def test_what_asks_is_recorded_on_a_yes(made: Made, intent: Callable[[bool], want.Intent]) -> None:
    day = made()
    decision = day.ask(intent(False))
    assert isinstance(decision, Refusal) and decision.ask.endswith(("records it", "adds it", "does it"))
    assert not isinstance(day.ask(intent(True)), Refusal)


@pytest.mark.parametrize(
    ("made", "intent"),
    [
        (running, want.AddJoint(31.0, "", sure=True)),
        (landed, want.AddJoint(5.05, "", sure=True)),
        (empty, want.LandCasing("rock", sure=True)),
        (grouting, want.MixBatch(0, "", sure=True)),
        (grouting, want.PullTremie(20, sure=True)),
        (landed, want.EndStage("as planned", sure=True)),
    ],
)
def test_what_cannot_be_is_refused_on_a_yes_too(made: Made, intent: want.Intent) -> None:
    decision = made().ask(intent)
    assert isinstance(decision, Refusal) and not decision.ask


# --- particular cases ------------------------------------------------------------------------------------------------


def test_the_same_joint_a_moment_later_is_asked_about() -> None:
    day = running()
    day.do(want.AddJoint(5.05, ""))
    day.beats(7)
    assert "a moment ago" in refused(day, want.AddJoint(5.05, ""))
    assert not isinstance(day.ask(want.AddJoint(5.06, "")), Refusal)
    day.beats(1)
    assert not isinstance(day.ask(want.AddJoint(5.05, "")), Refusal)


def test_a_joint_that_would_go_below_the_hole_is_asked_about() -> None:
    day = Day(plan(casing={"rack_m": [5.05] * 13}))
    day.joints([5.05] * 12)
    day.quiet(60.0)
    assert "<65.05 depth>" in refused(day, want.AddJoint(5.05, ""))


def test_a_joint_past_the_rack_is_asked_about() -> None:
    day = Day(plan(casing={"rack_m": [5.05]}))
    day.joint()
    day.quiet(60.0)
    assert "no joint is left" in refused(day, want.AddJoint(5.05, ""))


def test_a_joint_no_longer_than_its_make_up_is_refused_even_on_a_yes() -> None:
    day = Day(plan(casing={"connection": "solvent", "make_up_loss_m": 0.15}))
    day.joint()
    assert "<0.12 length>" in refused(day, want.AddJoint(0.12, "", sure=True))


def test_an_entry_is_voided_once() -> None:
    day = running()
    day.void(2)
    assert "voided already" in refused(day, want.Void(2, "again"))


def test_the_volume_offered_may_be_typed_as_the_screen_rounds_it() -> None:
    day = gap()
    assert not isinstance(day.ask(want.AnswerGap(0.1004)), Refusal)


def test_full_strength_grout_seen_lets_the_stage_end_unasked() -> None:
    day = grouting()
    day.returns("full", "grout")
    assert not isinstance(day.ask(want.EndStage("good grout at surface")), Refusal)


def test_a_tremie_end_well_under_the_lowest_top_may_be_pulled_unasked() -> None:
    """1,000 L out stand 28 m high at the least (1.37 of theory): the end at 57 m may come up to 54 m."""
    day = grouting()
    day.pump(1.040)
    assert not isinstance(day.ask(want.PullTremie(1)), Refusal)
    assert isinstance(day.ask(want.PullTremie(12)), Refusal)


@pytest.mark.parametrize(
    ("sections", "words"),
    [(11, "the end would have <1.25 length> of grout over it"), (12, "hang <1.75 length> above the grout")],
)
def test_a_pull_that_leaves_too_little_cover_says_how_the_end_would_stand(sections: int, words: str) -> None:
    """A hole that is its bit size. 970 L out: 3 m below the tremie at 26.848 L/m, the rest beside it at 25.972 L/m, by
    hand 37.247 m high, the top at 22.753 m. The end at 57 m comes up to 24 m or 21 m."""
    exact = [{**plan().stages[0].model_dump(), "allowance_share": 0.0, "spread_share": 0.0}]
    day = grouting_day(plan(stages=exact, meter={"tolerance_share": 0.0}))
    day.tremie(57.0)
    day.pump(1.010)
    decision = day.ask(want.PullTremie(sections))
    assert isinstance(decision, Refusal) and decision.ask
    said = decision.words(lambda each: f"<{each.si:.2f} {each.kind.name.lower()}>")
    assert words in said and "at least <1.50 length> over it" in said


def test_without_a_tremie_in_the_plan_there_is_none_to_set() -> None:
    the_plan = plan(tremie=None, stages=[{**plan().stages[0].model_dump(), "method": "through casing"}])
    assert "no tremie" in refused(Day(the_plan), want.SetTremie(10.0, ""))


def test_a_gap_of_any_size_can_be_answered() -> None:
    """Two lines of garbage may each have leapt by more than any meter holds."""
    day = grouting()
    for offered_m3 in (5e8, 6e8):
        day.record(ev.MeterRebased(channel="grout", from_m3=0.0, to_m3=0.0, cause="jump", offered_m3=offered_m3))
    day.do(want.AnswerGap(0.0))
    assert day.state.flow.offered_m3 == 0.0


# --- absurd input ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("intent", [intent for _, intent, _ in ACCEPTED], ids=lambda v: type(v).__name__)
def test_nothing_is_decided_on_a_closed_session(intent: want.Intent) -> None:
    assert "signed off" in refused(closed(), intent)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
@pytest.mark.parametrize(
    "made",
    [
        lambda x: want.AddJoint(x, "", sure=True),
        lambda x: want.RejectJoint(x, ""),
        lambda x: want.CutOff(x, ""),
        lambda x: want.ReadStickUp(x, ""),
        lambda x: want.ReadHookLoad(x, ""),
        lambda x: want.ReadFluidLevel("hole", x, ""),
        lambda x: want.MixBatch(1, "", x),
        lambda x: want.WeighBatch(x, ""),
        lambda x: want.AddVolume(x, ""),
        lambda x: want.SeeReturns("full", "grout", x),
        lambda x: want.TagTop(x, ""),
        lambda x: want.SetTremie(x, ""),
        lambda x: want.TakeDelivery(1, x),
        lambda x: want.AnswerGap(x),
    ],
)
def test_what_is_no_number_is_refused(made: Callable[[float], want.Intent], value: float) -> None:
    assert "not finite" in refused(grouting(), made(value))


@pytest.mark.parametrize(
    "intent",
    [
        want.AddJoint(5.05, "x" * 10_000),
        want.WriteNote("x" * 10_000),
        want.ChangeCrew("A", "x" * 10_000),
        want.Void(2, "x" * 10_000),
        want.EndStage("left to set", "x" * 10_000),
        want.CloseSession("x" * 10_000),
    ],
)
def test_ten_thousand_characters_are_refused(intent: want.Intent) -> None:
    words = refused(grouting(), intent)
    assert "10000" in words and "2000" in words and len(words) < 100


@pytest.mark.parametrize("text", ["{0}", "{", "}{", "{x!r}", "[/] [red]", '8 5/8"', "\x1b[31m"])
def test_braces_and_markup_in_what_was_typed_break_nothing(text: str) -> None:
    day = grouting()
    refused(day, want.AddVolume(60.0, text))
    refused(day, want.AcknowledgeAlarm(text, text))
    (entry,) = day.do(want.WriteNote(text))
    assert isinstance(entry.event, ev.NoteWritten) and entry.event.text == text
    (entry,) = day.do(want.StopPump(text))
    assert day.state.grout.pump_stop is not None and day.state.grout.pump_stop.reason == text


NUMBERS = st.floats() | st.floats(0.0, 70.0) | st.sampled_from([0.0, 5.05, 60.0, 1_870.0, 1e300, -0.0])
WHOLE = st.integers(-3, 60) | st.integers()
TEXTS = st.sampled_from(["", "x", "{0}", "x" * 10_000])


def any_intent() -> st.SearchStrategy[want.Intent]:
    sure, strength = st.booleans(), st.sampled_from(["none", "weak", "full"])
    fluid = st.sampled_from(["water", "mixed", "grout"])
    outcome = st.sampled_from(["good grout at surface", "left to set", "as planned", "given up"])
    return st.one_of(
        st.builds(want.AddJoint, NUMBERS, TEXTS, sure=sure),
        st.builds(want.RemeasureJoint, WHOLE, NUMBERS, TEXTS, sure=sure),
        st.builds(want.RejectJoint, NUMBERS, TEXTS),
        st.builds(want.FitCentralizer),
        st.builds(want.CutOff, NUMBERS, TEXTS),
        st.builds(want.ReadStickUp, NUMBERS, TEXTS),
        st.builds(want.ReadHookLoad, NUMBERS, TEXTS),
        st.builds(want.ReadFluidLevel, st.sampled_from(["hole", "inside casing"]), NUMBERS, TEXTS),
        st.builds(want.LandCasing, st.sampled_from(["rock", "hung"]), sure=sure),
        st.builds(want.StartStage, sure=sure),
        st.builds(want.BeginActivity, st.sampled_from(["standby", "job"]), TEXTS),
        st.builds(want.NoteWeather, TEXTS),
        st.builds(want.ConfirmCheck, st.sampled_from(CHECKS)),
        st.builds(want.OverrideCheck, st.sampled_from(CHECKS), TEXTS),
        st.builds(want.MixBatch, WHOLE, TEXTS, st.none() | NUMBERS, sure=sure),
        st.builds(want.WeighBatch, NUMBERS, TEXTS),
        st.builds(want.AddVolume, NUMBERS, TEXTS, sure=sure),
        st.builds(want.AddStrokes, WHOLE, TEXTS, sure=sure),
        st.builds(want.StopPump, TEXTS),
        st.builds(want.StartPump),
        st.builds(want.SeeReturns, strength, fluid, st.none() | NUMBERS),
        st.builds(want.SetGroundDrinks, st.booleans()),
        st.builds(want.TagTop, NUMBERS, TEXTS, st.booleans()),
        st.builds(want.NoteZone, st.sampled_from(["fracture", "void"]), NUMBERS, NUMBERS, TEXTS),
        st.builds(want.SetTremie, NUMBERS, TEXTS),
        st.builds(want.PullTremie, WHOLE, sure=sure),
        st.builds(want.EndStage, outcome, TEXTS, sure=sure),
        st.builds(want.TakeDelivery, WHOLE, NUMBERS),
        st.builds(want.AnswerGap, NUMBERS),
        st.builds(want.WriteNote, TEXTS),
        st.builds(want.ChangeCrew, TEXTS, TEXTS),
        st.builds(want.Void, WHOLE, TEXTS),
        st.builds(want.AmendPlan, st.sampled_from(PLANS), TEXTS),
        st.builds(want.AcknowledgeAlarm, TEXTS, TEXTS),
    )


@settings(max_examples=200, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(any_intent(), max_size=25), st.sampled_from(PLANS))
def test_whatever_is_asked_is_recorded_or_refused_in_words(asked: list[want.Intent], plan_: Any) -> None:
    day = Day(plan_, alarms=True)
    day.joints([5.05] * 3)
    for intent in asked:
        day.tick(10.0)
        decision = decide(day.state, intent)
        if isinstance(decision, Refusal):
            assert decision.words(written)
        else:
            for event in decision:
                day.record(event)


@settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(events(ev.SessionClosed), max_size=12), any_intent())
def test_in_any_state_an_intent_is_decided_or_refused(happened: list[Any], intent: want.Intent) -> None:
    day = Day()
    for event in happened:
        day.tick(10.0)
        day.record(event)
    decision = day.ask(intent)
    assert not isinstance(decision, Refusal) or decision.words(written)
