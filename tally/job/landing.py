"""Landing: which joints of the rack, in which order, put the shoe at its planned depth; and what comes of an order.

Pure; a search takes up to a second or two, so that screens leave it to a worker. Depths are those with the shoe at its
planned depth. What is longer than the stick-up's window is cut off the top joint, down to the window's upper end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from tally.job import lengths, order
from tally.job.order import Choice, Wanted
from tally.job.plan import Plan
from tally.job.state import String

HALF_MM_M = 0.0005
"""Below this nothing is too short, too near or cut off: the search counts millimetres."""
MOST_CHOSEN = 40
"""Of a longer rack the joints that go on first are taken as they lie, and the order of the last ones is chosen."""
SPARE = 8
EASED = (1.0, 0.5, 0.0)
"""Shares of the distances asked for that are tried in turn."""


@dataclass(frozen=True, slots=True)
class Weld:
    """A connection that is still to be made."""

    depth_m: float
    below_joint: int
    """The joint that stands on it, counted from the shoe from 1."""
    near: str = ""
    """What it comes too near to: "ground level", "the rock" or "a centralizer"."""
    near_m: float = 0.0
    asked_m: float = 0.0


@dataclass(frozen=True, slots=True)
class Centralizer:
    """Where a centralizer's planned depth comes to lie on a joint that is still to go on."""

    depth_m: float
    on_joint: int
    above_end_m: float
    """Above the joint's lower end."""


@dataclass(frozen=True, slots=True)
class Landing:
    """What comes of putting these joints on, with the shoe at its planned depth."""

    order_m: tuple[float, ...]
    uncut_m: float
    """Stick-up before anything is cut off; below zero where the string ends under ground."""
    cut_off_m: float
    short_m: float
    """What is missing to the lowest stick-up in the window."""
    welds: tuple[Weld, ...]
    centralizers: tuple[Centralizer, ...]

    @property
    def stick_up_m(self) -> float:
        return self.uncut_m - self.cut_off_m

    @property
    def too_near(self) -> tuple[Weld, ...]:
        return tuple(weld for weld in self.welds if weld.near)


@dataclass(frozen=True, slots=True)
class Proposal:
    """The best landing from what is left; where none is asked for by the plan, what comes closest to it."""

    landing: Landing
    places: tuple[int, ...]
    """Of the joints among those left, from 0."""
    moves: int
    proven: bool
    """False: best found, in a search that was cut short."""
    rack_order: Landing
    """For comparison: the joints as they lie, as many as it takes."""


def best(plan: Plan, string: String) -> Proposal:
    """The joints to put on from now: least cut off, then fewest moves on the rack, no weld too near to anything."""
    left_m = lengths.rack(plan, string).lengths_m
    as_it_lies = _reaching(plan, string, left_m)
    rack_order = of_order(plan, string, left_m[:as_it_lies])
    fixed = max(as_it_lies - MOST_CHOSEN, 0)
    stock_m = left_m[fixed : fixed + MOST_CHOSEN + SPARE]
    for share in EASED:
        choice = order.best(stock_m, _wanted(plan, string, left_m[:fixed], share))
        if choice is not None:
            return _proposal(plan, string, left_m, fixed, choice, rack_order, whole=len(stock_m) == len(left_m))
    # Too short with all of them, whatever their order.
    everything = of_order(plan, string, left_m)
    return Proposal(everything, tuple(range(len(left_m))), 0, True, everything)


def of_order(plan: Plan, string: String, order_m: Sequence[float]) -> Landing:
    """What comes of putting `order_m` on top of `string`."""
    low_m, high_m = stick_up_window_m(plan)
    uncut_m = _heights_m(plan, string, order_m)[-1] - plan.casing.target_shoe_depth_m
    over_m, short_m = max(uncut_m - high_m, 0.0), max(low_m - uncut_m, 0.0)
    return Landing(
        order_m=tuple(order_m),
        uncut_m=uncut_m,
        cut_off_m=over_m if over_m > HALF_MM_M else 0.0,
        short_m=short_m if short_m > HALF_MM_M else 0.0,
        welds=tuple(_welds(plan, string, order_m)),
        centralizers=tuple(_centralizers(plan, string, order_m)),
    )


def stick_up_window_m(plan: Plan) -> tuple[float, float]:
    """The lowest and the highest stick-up that the plan accepts [m]."""
    casing = plan.casing
    return max(casing.stick_up_m - casing.stick_up_tolerance_m, 0.0), casing.stick_up_m + casing.stick_up_tolerance_m


@dataclass(frozen=True, slots=True)
class Followed:
    """How the run lies to the landing that was chosen."""

    to_come_m: tuple[float, ...]
    """Of the chosen order; empty where the run departs from it."""
    went_m: float | None = None
    """The first joint that went on instead of `planned_m`."""
    planned_m: float | None = None
    missing_m: float | None = None
    """A joint of the order that is not on the rack any more."""

    @property
    def departs(self) -> bool:
        return self.went_m is not None or self.missing_m is not None


def followed(plan: Plan, string: String) -> Followed | None:
    """How far the chosen order has been followed; None where none was chosen."""
    chosen = string.landing
    if chosen is None:
        return None
    went = string.joints[chosen.joints_before :]
    for place, joint in enumerate(went):
        planned_m = chosen.order_m[place] if place < len(chosen.order_m) else None
        went_m = lengths.off_the_rack_m(plan, joint)
        if planned_m is None or abs(went_m - planned_m) > lengths.SAME_JOINT_M:
            return Followed((), went_m, planned_m)
    to_come_m = chosen.order_m[len(went) :]
    missing_m = missing(lengths.rack(plan, string).lengths_m, to_come_m)
    return Followed(to_come_m) if missing_m is None else Followed((), missing_m=missing_m)


def missing(left_m: Sequence[float], order_m: Sequence[float]) -> float | None:
    """A length of `order_m` for which no joint is left, if there is one [m]."""
    left, at = sorted(left_m), 0
    for wanted_m in sorted(order_m):
        while at < len(left) and left[at] < wanted_m - lengths.SAME_JOINT_M:
            at += 1
        if at == len(left) or left[at] > wanted_m + lengths.SAME_JOINT_M:
            return wanted_m
        at += 1
    return None


def _proposal(
    plan: Plan,
    string: String,
    left_m: tuple[float, ...],
    fixed: int,
    choice: Choice,
    rack_order: Landing,
    *,
    whole: bool,
) -> Proposal:
    places = (*range(fixed), *(fixed + place for place in choice.places))
    landing = of_order(plan, string, [left_m[place] for place in places])
    return Proposal(landing, places, choice.moves, choice.proven and whole and not landing.too_near, rack_order)


def _reaching(plan: Plan, string: String, left_m: Sequence[float]) -> int:
    """How many of the joints it takes as they lie; all of them where they do not reach."""
    low_m = plan.casing.target_shoe_depth_m + stick_up_window_m(plan)[0]
    heights_m = _heights_m(plan, string, left_m)
    return next((count for count, made_m in enumerate(heights_m) if made_m >= low_m - HALF_MM_M), len(left_m))


def _heights_m(plan: Plan, string: String, order_m: Sequence[float]) -> list[float]:
    """Length of the string now, and after each joint of `order_m` [m]: the welds' heights above the shoe's end."""
    base_m, gain_m = _base_m(plan, string)
    heights_m = list(accumulate((length_m + gain_m for length_m in order_m), initial=base_m))
    return [lengths.length_m(plan, string), *heights_m[1:]]


def _base_m(plan: Plan, string: String) -> tuple[float, float]:
    """Where the next joint begins, were a connection to come below every joint; and what a connection adds [m]."""
    casing = plan.casing
    gain_m = casing.weld_gap_m - casing.make_up_loss_m
    first_is_free = not string.joints and not casing.shoe_length_m
    return lengths.length_m(plan, string) - (gain_m if first_is_free else 0.0), gain_m


def _kept_clear(plan: Plan) -> Iterator[tuple[str, float, float]]:
    """(what, its depth, how far welds stay off it) [m]."""
    casing = plan.casing
    if casing.keep_welds_from_ground_m:
        yield "ground level", 0.0, casing.keep_welds_from_ground_m
    if casing.keep_welds_from_rock_m and plan.hole.rock_m is not None:
        yield "the rock", plan.hole.rock_m, casing.keep_welds_from_rock_m
    if casing.keep_welds_from_centralizers_m:
        for depth_m in casing.centralizer_depths_m:
            yield "a centralizer", depth_m, casing.keep_welds_from_centralizers_m


def _wanted(plan: Plan, string: String, fixed_m: Sequence[float], share: float) -> Wanted:
    target_m = plan.casing.target_shoe_depth_m
    low_m, high_m = stick_up_window_m(plan)
    base_m, gain_m = _base_m(plan, string)
    return Wanted(
        base_m=_heights_m(plan, string, fixed_m)[-1] if fixed_m else base_m,
        gain_m=gain_m,
        low_mm=round((target_m + low_m) * 1000),
        high_mm=round((target_m + high_m) * 1000),
        barred_mm=tuple(
            (round((target_m - depth_m - off_m * share) * 1000), round((target_m - depth_m + off_m * share) * 1000))
            for _, depth_m, off_m in _kept_clear(plan)
            if share
        ),
    )


def _welds(plan: Plan, string: String, order_m: Sequence[float]) -> Iterator[Weld]:
    made = len(string.joints)
    for place, height_m in enumerate(_heights_m(plan, string, order_m)[:-1], start=1):
        if place == 1 and not made and not plan.casing.shoe_length_m:
            continue  # the first joint is the string's lower end
        depth_m = plan.casing.target_shoe_depth_m - height_m
        off = [(abs(depth_m - at_m), off_m, what) for what, at_m, off_m in _kept_clear(plan)]
        close = min((each for each in off if each[0] < each[1] - HALF_MM_M), default=None)
        if close is None:
            yield Weld(depth_m, made + place)
        else:
            yield Weld(depth_m, made + place, close[2], close[0], close[1])


def _centralizers(plan: Plan, string: String, order_m: Sequence[float]) -> Iterator[Centralizer]:
    heights_m = _heights_m(plan, string, order_m)
    for depth_m in sorted(plan.casing.centralizer_depths_m, reverse=True):
        height_m = plan.casing.target_shoe_depth_m - depth_m
        for place, (low_m, high_m) in enumerate(pairwise(heights_m), start=1):
            if low_m <= height_m < high_m:
                yield Centralizer(depth_m, len(string.joints) + place, height_m - low_m)
