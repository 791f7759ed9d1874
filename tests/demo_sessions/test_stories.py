"""What each demo session's story promises, worked by hand from its geometry."""

import math

import pytest

from tally.job import grouting, lengths
from tally.job.state import Alarm
from tally.live.loading import Loaded, load
from tests.demo_sessions.build import FOLDER


def alarm_of(session: Loaded, name: str) -> Alarm:
    (found,) = [alarm for alarm in session.state.alarms if alarm.alarm == name]
    return found


class TestLostReturns:
    ANNULUS_L_M = 16.5523  # pi/4 (222.25^2 - 168.3^2) mm2 = 0.0165523 m2
    TREMIE_L_M = 0.8762  # pi/4 33.4^2 mm2

    @pytest.fixture
    def session(self) -> Loaded:
        return load(FOLDER / "lost-returns" / "session.jsonl")

    def test_returns_were_overdue_at_the_right_volume(self, session: Loaded) -> None:
        """Water at 10.9 m, hole factor 1.15 with 80 % within 1.00 to 1.30, meter within 2 %.

        Air above the water: 10.9 x (16.5523 - 0.8762) = 170.87 L. In logs the two spreads add in squares:
        asinh(0.15/1.15) = 0.13007 and asinh(0.02) = 0.02000 give 0.13160; 170.87 x 1.15 x exp(0.13160) = 224.1 L.
        """
        (alarm,) = [alarm for alarm in session.state.alarms if alarm.alarm == "returns-overdue"]
        assert alarm.limit * 1000 == pytest.approx(224.1, abs=0.5)
        assert alarm.limit < alarm.value < alarm.limit + 0.0311 * 5, "within one batch of five bags"

    def test_the_fracture_shows_between_two_tags(self, session: Loaded) -> None:
        """10 ft of annulus beside the tremie: 3.048 x (16.5523 - 0.8762) = 47.78 L."""
        (alarm,) = [alarm for alarm in session.state.alarms if alarm.alarm == "no-rise"]
        assert alarm.limit * 1000 == pytest.approx(47.78, abs=0.02)
        assert alarm.value * 1000 == pytest.approx(160, abs=2)

    def test_the_second_stage_begins_where_the_first_was_tagged(self, session: Loaded) -> None:
        first, second = session.state.grout.stages
        assert (first.outcome, first.tags[-1].depth_m, second.bottom_m) == ("left to set", 31.9, 31.9)
        assert second.outcome == "good grout at surface" and second.topped_up_m3 == pytest.approx(0.014)

    def test_the_voided_joint_leaves_no_trace_in_the_tally(self, session: Loaded) -> None:
        string = session.state.string
        assert len(string.joints) == 9
        assert sum(joint.length_m for joint in string.joints) == pytest.approx(53.91)


class TestWashedOut:
    """Worked by hand in the units of the job: water 62.37 lb/ft3, 7.48052 US gal/ft3."""

    @pytest.fixture
    def session(self) -> Loaded:
        return load(FOLDER / "washed-out" / "session.jsonl")

    def test_the_empty_casing_would_lift_from_the_third_joint_on(self, session: Loaded) -> None:
        """String 0.5 + 60.00 - 3 x 0.1875 = 59.94 ft, less 2 ft of stick-up: shoe at 57.94 ft, 26.94 ft under water.

        Air 3.40 lb/ft x 59.44 ft + 5 lb = 207 lb; the water pushes pi/4 (5.563/12)^2 x 26.94 x 62.37 = 283.6 lb; the
        hook weighs 120 lb.
        """
        alarm = alarm_of(session, "casing-floats")
        assert alarm.value / 4.4482216 == pytest.approx(207 - 283.6 + 120, abs=4)
        assert len([joint for joint in session.state.string.joints if joint.number < alarm.number]) == 3

    def test_what_moved_unseen_is_what_the_pump_moves_in_that_time(self, session: Loaded) -> None:
        """12 US gal/min over the 24 s or so between the last line heard and the first after."""
        unseen = [alarm for alarm in session.state.alarms if alarm.alarm == "meter-gap"]
        assert unseen[0].value / 0.003785411784 == pytest.approx(12 * 25 / 60, abs=0.4)

    def test_the_reset_takes_nothing_away(self, session: Loaded) -> None:
        stage = session.state.grout.stages[0]
        assert grouting.pumped_m3(stage, session.state.flow) / 0.003785411784 == pytest.approx(353, abs=1)
        assert alarm_of(session, "meter-rebased").acknowledged_at is not None

    def test_the_washout_was_in_the_plan(self, session: Loaded) -> None:
        """By bit size alone, from 137 ft: pi/4 (8.75^2 - 5.563^2)/144 x 137 x 7.48052 = 254.9 US gal."""
        by_bit_gal = math.pi / 4 * (8.75**2 - 5.563**2) / 144 * 137 * 7.48052
        planned_gal = alarm_of(session, "over-planned-volume").limit / 0.003785411784
        assert by_bit_gal == pytest.approx(254.9, abs=0.1) and planned_gal > 1.10 * by_bit_gal + 9 + 25


class TestThroughTheShoe:
    """Worked by hand: annulus 0.15303 m2 down to 8 m and 0.07297 m2 below, water at 9.5 m."""

    @pytest.fixture
    def session(self) -> Loaded:
        return load(FOLDER / "through-the-shoe" / "session.jsonl")

    def test_it_is_filled_before_it_would_float(self, session: Loaded) -> None:
        """At the fifth joint dry: 77.64 x 30.47 + 85 + 90 = 2,541 kg; 1,000 x 0.12972 x (30.47 - 9.5) = 2,720 kg."""
        weighs_kg, pushes_kg = 77.64 * 30.47 + 85 + 90, 1_000 * math.pi / 4 * 0.4064**2 * (30.47 - 9.5)
        assert (weighs_kg, pushes_kg) == pytest.approx((2_541, 2_720), abs=1)
        assert not [alarm for alarm in session.state.alarms if alarm.alarm == "casing-floats"]

    def test_water_came_inside_its_window(self, session: Loaded) -> None:
        """8 x 153.03 + 1.5 x 72.97 = 1,333.7 L, times 1.12 and e^-0.1352 or e^0.1352: 1,305 to 1,710 L."""
        due_l = [1_333.7 * 1.12 * math.exp(sign * math.hypot(math.asinh(0.15 / 1.12), 0.02)) for sign in (-1, 1)]
        assert due_l == pytest.approx([1_305, 1_710], abs=1)
        first = session.state.grout.stages[0].returns[0]
        assert due_l[0] < first.pumped_m3 * 1_000 < due_l[1]
        assert not [alarm for alarm in session.state.alarms if alarm.alarm == "returns-overdue"]

    def test_the_power_cut_loses_nothing(self, session: Loaded) -> None:
        stage = session.state.grout.stages[0]
        assert session.state.runs == 2 and stage.outcome == "good grout at surface"
        assert grouting.pumped_m3(stage, session.state.flow) * 1_000 == pytest.approx(4_432, abs=3)

    def test_returns_that_stopped_came_back(self, session: Loaded) -> None:
        seen = [returns.strength for returns in session.state.grout.stages[0].returns]
        assert seen[seen.index("none") :][:3] == ["none", "weak", "full"]
        assert alarm_of(session, "returns-stopped").value == pytest.approx(60, abs=2)


class TestOneCleanDay:
    @pytest.fixture
    def session(self) -> Loaded:
        return load(FOLDER / "one-clean-day" / "session.jsonl")

    def test_nothing_was_raised_or_corrected_and_the_shoe_is_where_it_was_planned(self, session: Loaded) -> None:
        """0.20 + 6.05 + 6.02 + 6.04 + 6.08 - 4 x 0.022 = 24.302 m, less 0.50 m of stick-up."""
        assert session.state.alarms == () and session.state.voided == frozenset()
        assert lengths.shoe_depth_m(session.state.plan, session.state.string) == pytest.approx(23.802)

    def test_its_volume_is_that_of_its_annulus(self, session: Loaded) -> None:
        """pi/4 (0.200^2 - 0.1143^2) x 23.8 = 503.5 L in theory."""
        assert math.pi / 4 * (0.2**2 - 0.1143**2) * 23.8 * 1_000 == pytest.approx(503.5, abs=0.1)
        out_l = grouting.pumped_m3(session.state.grout.stages[0], session.state.flow) * 1_000 - 22
        assert 503.5 < out_l < 503.5 * 1.25
