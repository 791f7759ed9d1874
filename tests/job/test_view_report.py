"""The day as the report tells it, against totals added up by hand; the day is in tests/eventful.py."""

from datetime import UTC, datetime, timedelta
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tally import formats
from tally.job import events as ev
from tally.job.alarms.replay import disagreements
from tally.job.view.casing import casing
from tally.job.view.quantity import Kind, Quantity, Sentence
from tally.job.view.report import ReportView, report
from tally.report.markdown import markdown
from tests.eventful import eventful_day
from tests.job.happenings import events
from tests.scenario import JOINT_M, JOINTS, Day, grouting_day, plan

OPENED = datetime(2026, 5, 11, 12, 0, tzinfo=UTC)


def reported(day: Day) -> ReportView:
    return report(day.state, digest="d", program="1")


def said(sentences: tuple[Sentence, ...]) -> list[str]:
    return [sentence.written(lambda quantity: formats.text(quantity, "metric")) for sentence in sentences]


def si(quantity: Quantity) -> float:
    assert quantity.si is not None
    return quantity.si


@pytest.fixture(scope="module")
def view() -> ReportView:
    return reported(eventful_day())


def parts(view: ReportView, name: str) -> list[float]:
    balance = next(balance for balance in view.balances if balance.name == name)
    assert balance.holds
    return [round(si(part.amount), 6) for part in (*balance.came, *balance.went)]


class TestBalances:
    def test_joints(self, view: ReportView) -> None:
        assert parts(view, "Joints") == [13, 12, 1, 0]

    def test_bags(self, view: ReportView) -> None:
        # 80 aboard and 20 delivered; 30 and 35 mixed
        assert parts(view, "Bags") == [80, 20, 65, 35]

    def test_water(self, view: ReportView) -> None:
        # 65 bags at 19.7 L are 1280.5 L of 3000 and 500
        assert parts(view, "Water") == [3.0, 0.5, 1.2805, 2.2195]

    def test_metered(self, view: ReportView) -> None:
        # 400 + 200 in the first stage, 50 outside, 900 in the second and 20 of 30 unseen on the operator's word
        assert parts(view, "Metered") == [1.55, 0.02, 0.6, 0.92, 0.05]

    def test_typed(self, view: ReportView) -> None:
        assert parts(view, "Typed") == [0.07, 0.0, 0.07, 0.0]

    def test_grout(self, view: ReportView) -> None:
        # 65 bags at 33.4 L are 2171 L; 600 and 990 pumped, 40 L of each still in the line
        assert parts(view, "Grout") == [2.171, 1.51, 0.08, 0.0, 0.581]

    def test_nothing_is_said_on_top_where_all_adds_up(self, view: ReportView) -> None:
        assert view.imbalances == ()


class TestImbalances:
    def said_on_top(self, day: Day) -> str:
        view = reported(day)
        return "\n".join(said(view.imbalances))

    def test_a_joint_that_is_on_no_list(self) -> None:
        day = Day()
        day.joint(6.40)
        assert self.said_on_top(day) == "joints do not reconcile: no joint on the list matches 6.40 m"

    def test_more_bags_than_aboard(self) -> None:
        day = grouting_day()
        day.record(ev.BatchMixed(bags=83, water_m3=1.0, typed="83"))
        assert self.said_on_top(day) == "83 bags were mixed, 3 more than were aboard and delivered"

    def test_more_water_than_aboard(self) -> None:
        day = grouting_day()
        day.record(ev.BatchMixed(bags=10, water_m3=3.2, typed="10"))
        assert self.said_on_top(day) == "3,200 L of mixing water was used, 200 L more than was aboard and delivered"

    def test_a_stage_that_lost_its_end(self) -> None:
        day = grouting_day()
        day.batch(40)
        day.pump(0.300)
        end = day.end("left to set")
        day.stage(0, bottom_m=50.0)
        day.pump(0.200)
        day.void(end)
        # the first stage now runs on: 500 L, and the second's 200 L are counted twice
        assert "the stages come to 700 L by the meter, which counted 500 L" in self.said_on_top(day)

    def test_more_pumped_than_mixed(self) -> None:
        day = grouting_day()
        day.batch(10)
        day.pump(0.500)
        assert self.said_on_top(day).startswith("500 L was pumped and only 334 L mixed")

    def test_a_meter_may_differ_from_batches_a_little(self) -> None:
        day = grouting_day()
        day.batch(10)
        day.pump(0.345)
        assert self.said_on_top(day) == ""

    def test_volume_typed_outside_a_stage(self) -> None:
        day = grouting_day()
        day.end()
        day.volume(0.060)
        assert self.said_on_top(day) == "60 L was typed while no stage was under way: it is counted in none"

    def test_volume_that_nobody_answered_for(self) -> None:
        day = grouting_day()
        day.restart(300)
        day.meter("LIVE")
        day.beat(day.total_m3 + 0.080)
        assert self.said_on_top(day).startswith("80 L went through the meter unseen")

    def test_a_joint_voided_after_it_was_cut(self) -> None:
        day = Day()
        joint = day.joint()
        day.record(ev.CutOffMade(length_m=1.0, typed="1 m"))
        day.void(joint)
        assert self.said_on_top(day) == "1.00 m was cut off a string of 0.00 m: a joint was voided that had been cut"


class TestTimes:
    def test_moments(self, view: ReportView) -> None:
        told = dict(zip(said(tuple(moment.what for moment in view.moments)), view.moments, strict=True))
        assert told["session opened"].at == OPENED
        assert told["first joint on"].at == OPENED + timedelta(minutes=1)
        # twelve joints and the voided one, a minute each
        assert told["last joint on"].at == told["casing landed on rock"].at == OPENED + timedelta(minutes=13)
        assert {"stage 1 begun (foot)", "stage 1 ended: left to set", "stage 2 begun (rest)"} < set(told)
        assert "session signed off: all hands safe" in told

    def test_activities_make_up_the_day(self, view: ReportView) -> None:
        lasted = {said((spell.activity,))[0]: si(spell.lasted) for spell in view.spells}
        assert lasted["before the first joint"] == 60
        assert lasted["running casing, welds included"] == 12 * 60
        # 10 s and 10 s of pumping around 100 s of standing (the meter: 101 s), then 120 s and 30 s
        assert (lasted["grouting, stage 1"], lasted["pump stopped in stage 1"]) == (169, 101)
        assert lasted["nobody recorded"] == 600
        assert lasted["after the last stage"] == 3 * 3600
        assert sum(lasted.values()) == pytest.approx((view.at - view.opened_at).total_seconds(), abs=1e-6)

    def test_set_until_is_the_waiting_time_after_the_end(self, view: ReportView) -> None:
        stage = view.stages[0]
        assert stage.ended_at is not None
        assert stage.set_until == stage.ended_at + timedelta(hours=24)


class TestCasing:
    def test_string(self, view: ReportView) -> None:
        run = view.casing
        assert [si(row.length) for row in run.joints] == [JOINT_M] * JOINTS
        assert si(run.joints_length) == pytest.approx(60.60)
        # 60.60 - 0.10 cut off, 0.50 above ground
        assert si(run.length) == pytest.approx(60.50)
        assert si(run.shoe) == pytest.approx(60.00)
        assert (run.voided_joints, run.landed_on) == (1, "landed on rock")
        assert [(si(row.length), row.reason) for row in run.rejected] == [(4.80, "bent pin")]
        assert [si(row.depth) for row in run.centralizers] == pytest.approx([52.0])

    def test_running_depths_end_at_the_shoe(self, view: ReportView) -> None:
        depths = [si(row.shoe) for row in view.casing.joints]
        # 5.05 - 0.50; the cut came off the last joint
        assert depths[0] == pytest.approx(4.55)
        assert depths[-2:] == pytest.approx([55.05, 60.00])

    def test_a_cut_off_counts_from_the_joint_it_was_made_on(self) -> None:
        day = Day()
        day.joints([JOINT_M] * 2)
        day.record(ev.CutOffMade(length_m=1.05, typed="1.05 m"))
        day.joint()
        depths = [si(row.shoe) for row in casing(day.state).joints]
        # 5.05 - 0.60, 10.10 - 1.05 - 0.60, 15.15 - 1.05 - 0.60
        assert depths == pytest.approx([4.45, 8.45, 13.50])

    def test_loads_beside_what_was_expected(self) -> None:
        day = Day()
        day.joints([JOINT_M] * 4)
        # Four joints hang in air down to 19.60 m, above the water at 20 m: 28.26 kg/m x 20.2 m x 9.80665 = 5598.2 N
        # (NPS 6 x 0.280 in is 28.26 kg/m by ASME B36.10M); the band is a tenth of that.
        day.hook(5_000.0, "lowering")
        day.hook(5_900.0)
        day.hook(6_200.0, "picking up")
        rows = reported(day).casing.loads
        assert [si(row.expected) for row in rows] == pytest.approx([5598.2] * 3, abs=0.1)
        assert [row.verdict for row in rows] == ["low", "as expected", "high"]
        assert si(rows[0].band) == pytest.approx(559.82, abs=0.01)


class TestStages:
    def test_theory_is_the_published_annulus(self) -> None:
        # Lapeyrouse, Formulas and Calculations for Drilling: 12-1/4 in hole by 5 in pipe, 0.682097 ft3/ft. The divisor
        # there is 183.35 where 576/pi is 183.3465, so that it lies 2 in 100 000 low: that is the bound here.
        length_m, ft3 = 30.48, 0.3048**3
        day = Day(
            plan(
                hole={"sections": [{"top_m": 0.0, "bottom_m": length_m, "diameter_m": 12.25 * 0.0254}]},
                casing={"outer_diameter_m": 0.127, "bore_m": 0.1086, "target_shoe_depth_m": length_m},
                stages=[{"name": "all", "bottom_m": length_m, "top_m": 0.0, "mix": "neat", "method": "tremie"}],
            )
        )
        day.stage(0, bottom_m=length_m)
        assert si(reported(day).stages[0].theory) / ft3 == pytest.approx(68.2097, rel=2.5e-5)

    def test_excess_is_a_share_of_the_annulus(self, view: ReportView) -> None:
        # 250 mm hole and 168.275 mm casing over 40 m, the tremie out in the end; 990 L pumped less 40 L of line
        annulus_m3 = pi / 4 * (0.250**2 - 0.168275**2) * 40
        assert si(view.stages[1].theory) == pytest.approx(annulus_m3, rel=1e-6)
        assert si(view.stages[1].excess) == pytest.approx(0.950 / annulus_m3 - 1)

    def test_batches_and_their_density(self, view: ReportView) -> None:
        first, second = (stage.batches[0] for stage in view.stages)
        # 1.87 +- 0.04 kg/L is wanted
        assert (first.bags, first.verdict) == (30, "as wanted")
        assert (second.bags, second.verdict, si(second.density)) == (35, "high", 1950.0)
        assert si(view.stages[1].mixed) == pytest.approx(35 * 0.0334)

    def test_returns_first_full_last(self, view: ReportView) -> None:
        none, stage = view.stages
        assert none.first_returns is None
        assert stage.first_returns and stage.full_returns and stage.good_grout and stage.last_returns
        # 20 L on the operator's word before they were seen; then 900 metered and 70 typed
        assert si(stage.first_returns.pumped) == pytest.approx(0.020)
        assert si(stage.full_returns.pumped) == pytest.approx(0.990)
        assert stage.good_grout == stage.full_returns == stage.last_returns

    def test_a_stop_told_twice_counts_once(self, view: ReportView) -> None:
        stage = view.stages[0]
        assert {(row.source, row.reason) for row in stage.interruptions} == {
            ("key", "hose burst"),
            ("meter", "hose burst"),
        }
        assert stage.times_interrupted == 1
        # still from the last count until the first after it, a second on
        assert si(stage.interrupted) == pytest.approx(101)

    def test_a_stop_that_lasts(self) -> None:
        day = grouting_day()
        day.pump(0.1)
        day.record(ev.PumpStopped(reason="lunch"))
        day.quiet(50)
        (row,) = reported(day).stages[0].interruptions
        assert row.ended_at is None
        assert si(row.lasted) == pytest.approx(50)

    def test_tags(self, view: ReportView) -> None:
        before, after = view.stages[0].tags[0], view.stages[1].tags[0]
        assert (si(before.depth), before.lost, before.after_end) == (40.0, True, False)
        assert (si(after.depth), after.lost, after.after_end) == (0.30, False, True)

    def test_a_batch_mixed_for_no_stage(self) -> None:
        day = grouting_day()
        day.end()
        day.batch(7)
        view = reported(day)
        assert [batch.bags for batch in view.loose_batches] == [7]
        assert view.stages[0].batches == ()


class TestBook:
    def test_corrections_say_what_when_who_and_why(self, view: ReportView) -> None:
        joint, amended, note = view.corrections
        assert said((joint.what, note.what)) == [
            "entry 6 voided: joint of 5.50 m on",
            f"entry {note.number - 1} voided: note: wind from the moon",
        ]
        assert (joint.who, joint.reason, joint.entered_by) == ("Driller A", "typed twice", "Driller A")
        assert (note.who, note.reason) == ("Driller D", "not so")
        assert amended.reason == "hole was deeper"
        (change,) = amended.changes
        assert change.key == "hole sections 1 bottom"
        assert [change.before, change.after] == [Quantity(60.0, Kind.LENGTH), Quantity(66.0, Kind.LENGTH)]

    def test_a_voided_note_is_no_note(self, view: ReportView) -> None:
        assert [note.text for note in view.notes] == ["topped up by hand", "wind from the west"]

    def test_a_reset_says_how_much_it_offered(self, view: ReportView) -> None:
        words = said(tuple(row.sentence for row in view.meter))
        assert "grout meter reset: from 650 L to 0 L; 0 L counted, 30 L left to the operator's word" in words
        assert "30 L moved unseen, 20 L of it counted" in words

    def test_a_torn_line_is_told(self) -> None:
        day = Day()
        day.record(ev.SessionResumed(program="2", calculation=ev.CALCULATION, boot="b", torn_bytes=17))
        assert "17 bytes was set aside" in said(tuple(row.sentence for row in reported(day).record))[-1]

    def test_an_alarm_keeps_its_answer(self, view: ReportView) -> None:
        (alarm,) = view.alarms
        assert said((alarm.sentence,)) == ["600 L pumped, returns were due by 550 L"]
        assert (alarm.done, alarm.who, alarm.voided) == ("tagged the top and left it to set", "Driller A", False)
        assert alarm.cleared_at is not None

    def test_an_alarm_from_a_voided_entry_stays_and_is_marked(self) -> None:
        day = Day(alarms=True)
        day.joints([JOINT_M] * 4)
        day.void(day.hook(100.0), "misread")
        low = next(alarm for alarm in reported(day).alarms if alarm.alarm == "load-low")
        assert low.voided

    def test_disagreements_and_problems_are_carried(self) -> None:
        day = eventful_day()
        # the alarm of that day was put there, not called for
        found = disagreements(day.entries)
        view = report(day.state, digest="", program="", problems=["line 3: torn"], disagreements=found)
        assert any("“Returns overdue” is not called for" in words for words in view.disagreements)
        assert view.problems == ("line 3: torn",)


class TestMissing:
    def missing(self, day: Day) -> list[str]:
        return said(reported(day).missing)

    def test_a_day_that_has_hardly_begun(self) -> None:
        assert self.missing(Day()) == [
            "The session is not signed off: more may follow.",
            "No joint of casing was entered.",
            "No grout stage was begun.",
        ]

    def test_casing_that_hangs(self) -> None:
        day = Day()
        day.joints([JOINT_M] * 4)
        words = self.missing(day)
        assert "The casing is not landed: the shoe is worked out at 19.60 m, planned at 60.00 m." in words
        assert "The stick-up was not read: depths rest on the planned 0.60 m." in words
        assert "No hook load was read." in words

    def test_a_stick_up_read_before_the_cut(self) -> None:
        day = Day()
        day.joints()
        day.record(ev.StickUpRead(stick_up_m=0.6, typed="0.6 m"))
        assert not any("stick-up" in words for words in self.missing(day))
        day.record(ev.CutOffMade(length_m=0.1, typed="0.1 m"))
        assert "The stick-up was not read again after the last joint or cut: depths rest on 0.50 m." in self.missing(
            day
        )

    def test_a_stage_under_way(self) -> None:
        day = grouting_day()
        day.pump(0.1)
        words = self.missing(day)
        assert {"Stage 1 is still under way.", "Stage 1: no returns were seen."} < set(words)
        assert "Stage 1: no batch was entered, so that bags and density are not known." in words

    def test_water_alone_is_no_grout_at_surface(self) -> None:
        day = grouting_day()
        day.batch()
        day.pump(0.1)
        day.returns("full", "water")
        day.end()
        words = self.missing(day)
        assert "Stage 1: no full-strength grout was seen at surface." in words
        assert "Stage 1: 1 of 1 batches not weighed." in words
        assert "The top was not tagged after the last stage ended." in words

    def test_a_whole_day_lacks_little(self, view: ReportView) -> None:
        assert said(view.missing) == ["Stage 1: no returns were seen."]

    def test_a_stage_of_the_plan_that_was_not_begun(self) -> None:
        day = Day(plan(stages=[s.model_dump() for s in eventful_day().state.plan.stages]))
        day.stage(0, bottom_m=60.0, top_m=20.0)
        assert "Stage 2 of the plan (rest) was not begun." in self.missing(day)


class TestFacts:
    def test_known_and_empty(self, view: ReportView) -> None:
        known = {fact.label: fact.value for fact in view.facts}
        assert (known["Owner"], known["Permit"]) == ("Client C", "P-1")
        assert known["Depth to water"] == view.hole.water_read
        # whoever took over has a licence of their own
        assert (known["Driller"], known["Licence"]) == ("Driller D", None)
        assert known["Latitude and longitude"] is None


@settings(max_examples=80)
@given(st.lists(events(ev.SessionOpened, ev.Heartbeat, ev.EntriesLost), max_size=14))
def test_any_day_can_be_reported(happenings: list[ev.AnyEvent]) -> None:
    day = Day()
    for event in happenings:
        day.record(event)
    view = reported(day)
    assert view.entries == len(happenings) + 1
    assert sum(si(spell.lasted) for spell in view.spells) == pytest.approx(day.state.elapsed_s)
    assert markdown(view, "us").endswith("\n")
