"""The landing on a job: cut, welds, centralizers, and planning again from any state. Lengths added up by hand."""

from typing import Any

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.job import landing
from tally.job.decide.refusal import Refusal
from tally.job.plan import Plan
from tally.job.state import String
from tally.job.view.landing import landing_plan, landing_view, proposed
from tally.job.view.log import told
from tally.job.view.quantity import Quantity, Sentence
from tests.scenario import Day, plan

RACK_M = [6.02, 6.05, 5.98, 6.01, 6.04, 6.03, 6.00]


def job(rack_m: list[float] | None = None, **casing: Any) -> Plan:
    """Seven joints make 42.13 m; the shoe is planned at 41.6 m with 0.35 to 0.55 m of stick-up, the rock at 6.5 m."""
    return plan(
        hole={"rock_m": 6.5},
        casing={
            "rack_m": RACK_M if rack_m is None else rack_m,
            "target_shoe_depth_m": 41.6,
            "stick_up_m": 0.45,
            "stick_up_tolerance_m": 0.1,
        }
        | casing,
    )


def written(quantity: Quantity) -> str:
    return "–" if quantity.si is None else f"{quantity.si:.2f}"


def said(sentence: Sentence | None) -> str:
    assert sentence is not None
    return sentence.written(written)


def found(plan_: Plan) -> landing.Proposal:
    return landing.best(plan_, String())


def test_a_rack_that_fits_is_taken_as_it_lies() -> None:
    best = found(job())
    assert best.landing.order_m == tuple(RACK_M)
    assert best.moves == 0 and best.proven
    assert best.landing.stick_up_m == pytest.approx(0.53)
    assert best.landing.cut_off_m == best.landing.short_m == 0.0


def test_a_joint_is_set_aside_where_that_saves_a_cut() -> None:
    """Eight joints; as they lie the first seven make 42.62 m, stick-up 1.02 m; 6.51 m aside and 6.00 on: 0.51 m."""
    best = found(job([6.02, 6.05, 6.50, 6.01, 6.04, 6.03, 6.00, 5.96]))
    assert best.rack_order.cut_off_m == pytest.approx(42.65 - 41.6 - 0.55)
    assert best.landing.cut_off_m == 0.0
    assert best.landing.order_m == (6.02, 6.05, 6.01, 6.04, 6.03, 6.00, 5.96)
    assert best.moves == 1


def test_the_least_is_cut_where_something_must_be() -> None:
    """Seven of 6.05 m make 42.35 m, stick-up 0.75 m, 0.20 m over the window's 0.55 m."""
    view = landing_plan(job([6.05] * 8))
    assert view.cut_off.si == pytest.approx(0.20)
    assert view.stick_up.si == pytest.approx(0.55)
    assert [said(each) for each in view.findings] == ["stick-up would be 0.75, window 0.35 to 0.55: cut 0.20"]


def test_too_short_says_by_how_much() -> None:
    """Five of 6.05 m make 30.25 m; the lowest stick-up takes 41.95 m."""
    view = landing_plan(job([6.05] * 5))
    assert view.short.si == pytest.approx(11.70)
    assert [said(each) for each in view.findings] == [
        "the longest string from what is left ends 11.70 short of the lowest stick-up, 0.35"
    ]
    assert len(view.joints) == 5


def test_a_weld_is_kept_off_the_rock_by_another_order() -> None:
    """As they lie the last joint's weld is at 5.47 m; the rock at 6.0 m wants 0.55 m: a joint under 5.95 m, or over."""
    rack_m = [6.02, 6.05, 5.90, 6.01, 6.04, 6.03, 6.00]
    clear = job(rack_m, keep_welds_from_rock_m=0.55, stick_up_m=0.5)
    clear = clear.model_copy(update={"hole": clear.hole.model_copy(update={"rock_m": 6.0})})
    best = found(clear)
    assert sorted(best.landing.order_m) == sorted(rack_m)
    assert best.moves == 1 and best.proven
    assert not best.landing.too_near
    assert all(abs(weld.depth_m - 6.0) >= 0.55 - 1e-9 for weld in best.landing.welds)


def test_where_no_order_helps_it_says_what_comes_closest() -> None:
    """All joints alike: the weld lies at 41.6 - 36.0 = 5.6 m whatever the order, 0.9 m from the rock."""
    view = landing_plan(job([6.0] * 7, keep_welds_from_rock_m=1.2))
    assert [said(each) for each in view.findings] == [
        "connection at 5.60, 0.90 from the rock; 1.20 asked for",
        "no order was found that keeps every connection clear: this comes closest",
    ]
    assert view.joints[-1].weld_near == "the rock"
    assert not view.proven


def test_ground_level_counts_above_it_too() -> None:
    """Six joints of 6.95 m end at 41.7 m: 0.1 m above ground a weld would be, were there a seventh."""
    weld = landing.of_order(job(keep_welds_from_ground_m=0.5), String(), [6.95] * 6 + [1.0]).welds[-1]
    assert weld.depth_m == pytest.approx(-0.1)
    assert weld.near == "ground level" and weld.near_m == pytest.approx(0.1)


def test_shoe_gap_and_make_up_count_at_every_connection() -> None:
    """Shoe 0.3 m, seven connections less 0.05 m each: 42.13 + 0.3 - 0.35 = 42.08 m."""
    best = found(job(shoe_length_m=0.3, connection="threaded", make_up_loss_m=0.05))
    assert best.landing.uncut_m == pytest.approx(42.08 - 41.6)
    assert best.landing.welds[0].depth_m == pytest.approx(41.3)
    assert len(best.landing.welds) == 7


def test_centralizers_come_to_lie_on_joints() -> None:
    """3 m lies 38.6 m above the shoe; six joints make 36.13 m, so 2.47 m up the seventh."""
    best = found(job(centralizer_depths_m=[3.0, 39.0]))
    deep, shallow = best.landing.centralizers
    assert (shallow.depth_m, shallow.on_joint) == (3.0, 7)
    assert shallow.above_end_m == pytest.approx(2.47)
    assert (deep.depth_m, deep.on_joint) == (39.0, 1)
    assert deep.above_end_m == pytest.approx(2.60)


def test_feet_land_where_feet_add_up() -> None:
    """21 joints of 20.05 ft are 421.05 ft; a shoe at 419.55 ft leaves 1.50 ft exactly."""
    foot_m = 0.3048
    best = found(
        plan(
            hole={"sections": [{"top_m": 0.0, "bottom_m": 130.0, "diameter_m": 0.25}]},
            casing={
                "rack_m": [20.05 * foot_m] * 24,
                "target_shoe_depth_m": 419.55 * foot_m,
                "stick_up_m": 1.5 * foot_m,
                "stick_up_tolerance_m": 0.0,
            },
        )
    )
    assert len(best.landing.order_m) == 21
    assert best.landing.cut_off_m == best.landing.short_m == 0.0
    assert best.landing.stick_up_m / foot_m == pytest.approx(1.5, abs=1e-6)


def test_a_long_rack_chooses_among_its_last_joints() -> None:
    rack_m = [6.0 + (place * 37 % 11) / 100 for place in range(70)]
    target_m = sum(rack_m[:65]) - 3.0
    deep = plan(
        hole={"sections": [{"top_m": 0.0, "bottom_m": 500.0, "diameter_m": 0.25}]},
        casing={"rack_m": rack_m, "target_shoe_depth_m": target_m},
    )
    best = found(deep)
    assert not best.proven
    assert best.places[:25] == tuple(range(25))
    assert best.landing.cut_off_m < best.rack_order.cut_off_m


class TestAgain:
    """From any state of the run."""

    def day(self, rack_m: list[float] | None = None, **casing: Any) -> Day:
        day = Day(job([*RACK_M, 6.10] if rack_m is None else rack_m, **casing))
        self.plan(day)
        return day

    def plan(self, day: Day) -> tuple[float, ...]:
        order_m, _ = proposed(day.state)
        assert order_m is not None
        day.do(want.ChooseLanding(order_m=order_m))
        return order_m

    def test_what_went_on_as_planned_leaves_the_rest(self) -> None:
        day = self.day()
        day.joints(RACK_M[:2])
        view = landing_view(day.state)
        assert view is not None and view.remark is None
        assert view.next_joint.si == 5.98
        assert [joint.si for joint in view.to_come] == RACK_M[2:]
        assert view.stick_up.si == pytest.approx(0.53)

    def test_another_joint_is_a_departure_until_it_is_planned_again(self) -> None:
        day = self.day()
        day.joints([6.02, 6.10])
        view = landing_view(day.state)
        assert view is not None and said(view.remark) == "6.10 went on, 6.05 was planned"
        assert view.next_joint.si is None and not view.to_come
        # 12.12 m in; 5.98 + 6.01 + 6.04 + 6.03 + 6.00 more make 42.18 m: 0.58 m, over the window; 6.05 m can stay.
        order_m = self.plan(day)
        view = landing_view(day.state)
        assert view is not None
        assert view.cut_off.si == pytest.approx(0.03)
        assert sorted(order_m) == sorted([5.98, 6.01, 6.04, 6.03, 6.00])

    def test_a_void_takes_the_joint_and_the_choice_back(self) -> None:
        day = self.day()
        entry = day.joint(6.10)
        assert (view := landing_view(day.state)) is not None and view.remark is not None
        day.void(entry)
        view = landing_view(day.state)
        assert view is not None and view.next_joint.si == 6.02
        choice = next(each for each in day.entries if isinstance(each.event, ev.LandingChosen))
        day.void(choice)
        assert landing_view(day.state) is None

    def test_a_voided_joint_under_the_choice_is_a_departure(self) -> None:
        day = Day(job([*RACK_M, 6.10]))
        entry = day.joint(6.02)
        self.plan(day)
        day.void(entry)
        view = landing_view(day.state)
        assert view is not None and said(view.remark) == (
            "what was planned ends 5.84 short of the lowest stick-up, 0.35"  # 42.13 - 6.02 - 41.6 = -5.49
        )
        assert view.next_joint.si is None

    def test_a_rejected_joint_is_missed(self) -> None:
        day = self.day()
        day.record(ev.JointRejected(length_m=6.04, typed="6.04 m", reason="bent"))
        view = landing_view(day.state)
        assert view is not None and said(view.remark) == "no joint of 6.04 is left for it"
        assert 6.04 not in self.plan(day)

    def test_a_joint_that_is_not_on_the_list_counts_all_the_same(self) -> None:
        """4.50 m and the seven with 6.10 m for 6.02 m: 40.7 m at most of seven in all, so that eight go on."""
        day = Day(job([*RACK_M, 6.10]))
        day.joints([4.50])
        order_m, _ = proposed(day.state)
        assert order_m is not None
        assert landing.of_order(day.state.plan, day.state.string, order_m).short_m == 0.0
        assert len(order_m) == 7

    def test_what_was_cut_off_is_missing(self) -> None:
        """0.20 m cut off the first joint: the seven would end at 0.33 m; with 6.10 for 6.02 … they make it."""
        day = Day(job([*RACK_M, 6.10]))
        day.joints([6.02])
        day.record(ev.CutOffMade(length_m=0.20, typed="20 cm"))
        order_m, _ = proposed(day.state)
        assert order_m is not None and 6.10 in order_m
        assert sum(order_m) + 5.82 - 41.6 == pytest.approx(
            landing.of_order(day.state.plan, day.state.string, order_m).stick_up_m
        )

    def test_all_on_says_what_is_to_be_cut(self) -> None:
        day = Day(job([6.05] * 7))
        day.joints([6.05] * 7)
        assert self.plan(day) == ()
        view = landing_view(day.state)
        assert view is not None
        assert said(view.remark) == "stick-up would be 0.75, window 0.35 to 0.55: cut 0.20"

    def test_a_landed_casing_takes_none(self) -> None:
        day = self.day()
        day.record(ev.CasingLanded(on="rock"))
        order_m, findings = proposed(day.state)
        assert order_m is None and said(findings[0]) == "the casing has landed"
        assert landing_view(day.state) is None

    def test_refusals(self) -> None:
        day = Day(job(keep_welds_from_rock_m=1.2))

        def refused(order_m: tuple[float, ...]) -> Refusal:
            decision = day.ask(want.ChooseLanding(order_m=order_m))
            assert isinstance(decision, Refusal)
            return decision

        assert refused((7.0,)).words(written) == "no joint of 7.00 is left on the rack"
        assert refused((6.02, 6.02)).words(written) == "no joint of 6.02 is left on the rack"
        assert "end 29.88 short of the lowest stick-up, 0.35" in refused((6.02, 6.05)).words(written)
        near = refused(tuple(RACK_M))
        assert "from the rock; 1.20 is asked for" in near.words(written) and near.ask
        assert day.ask(want.ChooseLanding(order_m=tuple(RACK_M), sure=True)) == [
            ev.LandingChosen(order_m=tuple(RACK_M))
        ]


@pytest.mark.parametrize(
    ("order_m", "words"),
    [
        ((), "landing planned: no further joint"),
        ((6.0,), "landing planned with 1 joint: 6.00"),
        ((6.0,) * 14, f"landing planned with 14 joints: {', '.join(['6.00'] * 12)} and 2 more"),
    ],
)
def test_the_log_tells_it(order_m: tuple[float, ...], words: str) -> None:
    assert said(told(ev.LandingChosen(order_m=order_m))) == words
