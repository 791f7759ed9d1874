"""Which joints of a rack, in which order, make a string of a wanted length: least cut off, then fewest moves.

A move is a joint that is lifted out of its place on the rack, set aside or fetched, before the rack is taken from its
front: with the first v joints as the string's stock, every one of them that does not go on in its turn counts, and
every joint from beyond them that goes on.

How. The number of joints and the tape's steps above the shortest one stand packed in one number, so that a set of
lengths is a set of bits in one whole number, and a joint more is a shift: dynamic programming over all lengths at
once, exact, in milliseconds for forty joints, where a general solver would be a dependency. Two such tables are made:

- in any order and without a look at welds: no string can do with less cut off or fewer moves than that;
- in rack order, welds kept clear, joints left out or fetched at their cost: a string that can be made.

Where both agree, that string is proven best. Only a weld that has to be kept clear may part them; a depth-first search
over orders then closes the gap, pruned by the first table, and gives up after `MOST_LOOKS`: the answer is then not
`proven`.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

GRAINS_M = 100_000_000
"""Lengths are counted in these a metre: 0.01 ft, 1/32 in and 1 mm are whole numbers of them, so that nothing drifts."""
GRAINS_MM = GRAINS_M // 1000
LEAST_STEP = GRAINS_MM // 4
"""Finer tapes than this are mixed units, not tapes; lengths are then taken to the millimetre, one by one."""
MOST_LOOKS = 8_000


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the string has to come to; heights above the shoe's end in whole millimetres."""

    base_m: float
    """Where the first of the joints begins."""
    gain_m: float
    """What a connection adds to the joint above it; below zero where it takes from it."""
    low_mm: int
    high_mm: int
    """From low to high nothing is cut off; what is longer is cut to high."""
    barred_mm: tuple[tuple[int, int], ...] = ()
    """No weld may lie between these, the ends themselves being free."""


@dataclass(frozen=True, slots=True)
class Choice:
    places: tuple[int, ...]
    """Of the joints on the rack, from 0, in the order in which they go on."""
    cut_mm: int
    moves: int
    proven: bool
    """No other choice cuts off less, nor as little with fewer moves."""


def best(rack_m: Sequence[float], wanted: Wanted, *, most_looks: int = MOST_LOOKS) -> Choice | None:
    """The best choice; None where the joints do not reach, or no order was found that keeps the welds clear."""
    base_mm = _mm(round(wanted.base_m * GRAINS_M))
    if base_mm >= wanted.low_mm:
        return Choice((), max(base_mm - wanted.high_mm, 0), 0, True)
    return _Search(_Lengths(rack_m, wanted), wanted, most_looks).best()


def moves(places: Sequence[int], count: int) -> int:
    """Fewest moves by which taking a rack of `count` joints from its front gives this order."""
    used = set(places)
    best_moves = len(used)
    for taken in range(1, count + 1):
        in_turn = _longest_rising([place for place in places if place < taken])
        beyond = sum(place >= taken for place in used)
        best_moves = min(best_moves, taken - in_turn + beyond)
    return best_moves


def _longest_rising(numbers: Sequence[int]) -> int:
    tails: list[int] = []
    for number in numbers:
        at = bisect_left(tails, number)
        tails[at : at + 1] = [number]
    return len(tails)


def _mm(grains: int) -> int:
    return (grains + GRAINS_MM // 2) // GRAINS_MM


class _Lengths:
    """Lengths of strings as bits: bit `count * width + steps` is a string of so many joints, so many steps longer than
    as many of the shortest."""

    def __init__(self, rack_m: Sequence[float], wanted: Wanted) -> None:
        gain = round(wanted.gain_m * GRAINS_M)
        grains = [round(length_m * GRAINS_M) + gain for length_m in rack_m]
        self.base, self.shortest = round(wanted.base_m * GRAINS_M), min(grains, default=0)
        over = [each - self.shortest for each in grains]
        step = math.gcd(*over) or GRAINS_MM
        self.exact = step >= LEAST_STEP
        self.step = step if self.exact else GRAINS_MM
        steps = [round(each / self.step) for each in over]
        self.width = sum(steps) + 1
        self.joints = [self.width + each for each in steps]
        """By how far each joint shifts the bits."""

    @property
    def longest_mm(self) -> int:
        """No string is longer."""
        return self.mm((len(self.joints) + 1) * self.width - 1)

    def mm(self, bit: int) -> int:
        """Length of the string that `bit` stands for, rounded once."""
        count, steps = divmod(bit, self.width)
        return _mm(self.base + count * self.shortest + steps * self.step)

    def between(self, low_mm: int, high_mm: int) -> int:
        """All strings of one joint or more whose length is from low to high."""
        found = 0
        for count in range(1, len(self.joints) + 1):
            block = range(count * self.width, (count + 1) * self.width)
            first, past = (bisect_left(block, mm, key=self.mm) for mm in (low_mm, high_mm + 1))
            found |= ((1 << (past - first)) - 1) << (block.start + first)
        return found

    def shortest_from(self, strings: int, low_mm: int) -> int | None:
        """Length of the shortest of `strings` that has at least `low_mm`."""
        found: list[int] = []
        for count in range(1, len(self.joints) + 1):
            block = range(count * self.width, (count + 1) * self.width)
            first = bisect_left(block, low_mm, key=self.mm)
            rest = (strings >> (block.start + first)) & ((1 << (self.width - first)) - 1)
            if rest:
                found.append(self.mm(block.start + first + (rest & -rest).bit_length() - 1))
        return min(found, default=None)


class _Reach:
    """What the joints from a place of the rack on can add, by the moves that it takes, in any order."""

    def __init__(self, joints: Sequence[int]) -> None:
        self._joints = joints
        self._taken: list[list[int]] = []
        self._fetched: list[list[int]] = []

    def at(self, place: int, moved: int) -> int:
        while len(self._taken) <= moved:
            self._one_move_more()
        return self._taken[moved][place]

    def _one_move_more(self) -> None:
        count = len(self._joints)
        taken, fetched = [1] * (count + 1), [1] * (count + 1)
        fewer = (self._taken[-1], self._fetched[-1]) if self._taken else None
        for place in reversed(range(count)):
            joint = self._joints[place]
            fetched[place] = fetched[place + 1] | (fewer[1][place + 1] << joint if fewer else 0)
            aside = fewer[0][place + 1] if fewer else 0
            taken[place] = taken[place + 1] << joint | fetched[place] | aside
        self._taken.append(taken)
        self._fetched.append(fetched)


class _Search:
    def __init__(self, lengths: _Lengths, wanted: Wanted, most_looks: int) -> None:
        self.lengths, self.wanted, self.looks = lengths, wanted, most_looks
        self.joints, self.count = lengths.joints, len(lengths.joints)
        self.reach = _Reach(self.joints)
        self.any_order = 1
        for joint in self.joints:
            self.any_order |= self.any_order << joint
        barred = 0
        for low_mm, high_mm in wanted.barred_mm:
            barred |= lengths.between(low_mm + 1, high_mm - 1)
        self.goes_on = 1 | lengths.between(0, wanted.low_mm - 1) & ~barred
        """Strings that are not long enough yet and whose top may take a weld. What they stand on is welded anyway."""

    def best(self) -> Choice | None:
        first_mm = self._next_mm(self.wanted.low_mm)
        if first_mm is None or self._barred_for_good():
            return None
        found = self._in_any_order(self._in_rack_order(first_mm))
        return found if found is None or self.lengths.exact else replace(found, proven=False)

    # --- bounds ------------------------------------------------------------------------------------------------------

    def _next_mm(self, from_mm: int) -> int | None:
        """The next finished length, what needs no cut being all one."""
        found_mm = self.lengths.shortest_from(self.any_order, from_mm)
        return None if found_mm is None else max(found_mm, self.wanted.high_mm)

    def _finished(self, mm: int, *, most_mm: int | None = None) -> int:
        """Strings that come to `mm` (or anything up to `most_mm`), or that need no cut at all."""
        low_mm = self.wanted.low_mm if mm == self.wanted.high_mm else mm
        return self.lengths.between(low_mm, mm if most_mm is None else most_mm)

    def _barred_for_good(self) -> bool:
        """Some number of joints, fewer than it takes, ends in a barred stretch whichever they are."""
        width, clear = self.lengths.width, self.any_order & self.goes_on
        done = self.any_order & self.lengths.between(self.wanted.low_mm, self.lengths.longest_mm)
        fewest = ((done & -done).bit_length() - 1) // width
        block = (1 << width) - 1
        return any(not (clear >> count * width) & block for count in range(1, fewest))

    # --- in rack order -----------------------------------------------------------------------------------------------

    def _in_rack_order(self, first_mm: int) -> Choice | None:
        longest_mm = self.lengths.longest_mm
        if not self._can_finish(self._finished(self.wanted.high_mm, most_mm=longest_mm)):
            return None
        low_mm, high_mm = first_mm, longest_mm
        while low_mm < high_mm:
            middle_mm = (low_mm + high_mm) // 2
            if self._can_finish(self._finished(self.wanted.high_mm, most_mm=middle_mm)):
                high_mm = middle_mm
            else:
                low_mm = middle_mm + 1
        finished = self._finished(low_mm)
        places = self._fewest_moved(finished)
        moved = moves(places, self.count)
        return Choice(places, low_mm - self.wanted.high_mm, moved, False)

    def _can_finish(self, finished: int) -> bool:
        before = 0
        for joint in reversed(self.joints):
            before |= ((before | finished) >> joint) & self.goes_on
        return bool(before & 1)

    def _fewest_moved(self, finished: int) -> tuple[int, ...]:
        """Places of a string in rack order that ends in `finished`, which some string does."""
        tables: list[tuple[list[int], list[int]]] = []
        while not tables or not tables[-1][0][0] & 1:
            tables.append(self._one_move_more(finished, tables[-1] if tables else None))
        return tuple(self._followed(finished, tables))

    def _one_move_more(self, finished: int, fewer: tuple[list[int], list[int]] | None) -> tuple[list[int], list[int]]:
        """For each place of the rack, the strings that can be finished from there on; `fewer` with a move less."""
        taken, fetched = [0] * (self.count + 1), [0] * (self.count + 1)
        for place in reversed(range(self.count)):
            joint = self.joints[place]
            fetched[place] = fetched[place + 1]
            aside = 0
            if fewer is not None:
                fetched[place] |= ((fewer[1][place + 1] | finished) >> joint) & self.goes_on
                aside = fewer[0][place + 1]
            on = ((taken[place + 1] | finished) >> joint) & self.goes_on
            taken[place] = on | fetched[place] | aside
        return taken, fetched

    def _followed(self, finished: int, tables: Sequence[tuple[list[int], list[int]]]) -> Iterator[int]:
        string, moved, fetching = 0, len(tables) - 1, False
        for place, joint in enumerate(self.joints):
            if finished >> string & 1:
                return
            taken, fetched = tables[moved]
            if not fetching:
                if (taken[place + 1] | finished) >> (string + joint) & 1:
                    yield place
                    string += joint
                    continue
                fetching = bool(fetched[place] >> string & 1)
            if not fetching:
                moved -= 1  # set aside
            elif not fetched[place + 1] >> string & 1:
                moved -= 1
                yield place
                string += joint

    # --- in any order ------------------------------------------------------------------------------------------------

    def _in_any_order(self, found: Choice | None) -> Choice | None:
        """`found`, or what is better; proven where nothing better was left out for want of looks."""
        mm = self._next_mm(self.wanted.low_mm)
        while mm is not None:
            cut_mm, finished = mm - self.wanted.high_mm, self._finished(mm)
            level = found is not None and cut_mm == found.cut_mm
            for moved in range(found.moves if found is not None and level else self.count + 1):
                if not self.reach.at(0, moved) & finished:
                    continue
                failed: dict[tuple[int, int], int] = {}
                places = self._dive(finished, 0, 0, 0, moved, failed)
                if places is not None:
                    return Choice(tuple(reversed(places)), cut_mm, moved, True)
                if self.looks <= 0:
                    return found
            if found is not None and level:
                return Choice(found.places, found.cut_mm, found.moves, True)
            mm = self._next_mm(mm + 1)
        return found

    def _dive(
        self, finished: int, string: int, used: int, place: int, left: int, failed: dict[tuple[int, int], int]
    ) -> list[int] | None:
        """Places that finish `string`, last first; `place` is the front of the rack, `left` the moves still allowed."""
        if finished >> string & 1:
            return []
        while used >> place & 1:
            place += 1
        if not self.goes_on >> string & 1 or failed.get((used, place), -1) >= left or self.looks <= 0:
            return None
        self.looks -= 1
        if self._may_finish(finished, string, used, place, left):
            for at, front, cost in self._next(used, place, left):
                after = string if at is None else string + self.joints[at]
                with_it = used if at is None else used | 1 << at
                rest = self._dive(finished, after, with_it, front, left - cost, failed)
                if rest is not None:
                    return rest if at is None else [*rest, at]
        if self.looks > 0:
            failed[used, place] = left
        return None

    def _may_finish(self, finished: int, string: int, used: int, place: int, left: int) -> bool:
        # Joints that were fetched from beyond the front are paid for: leaving them out again costs nothing.
        can = self.reach.at(place, left + (used >> place).bit_count())
        for aside in range(place):
            if not used >> aside & 1:
                can |= can << self.joints[aside]
        return bool(can & finished >> string)

    def _next(self, used: int, place: int, left: int) -> Iterator[tuple[int | None, int, int]]:
        """(joint to go on or None, front of the rack after it, moves it costs): all that can be done next."""
        if place < self.count:
            yield place, place + 1, 0
        seen: set[int] = set()
        for aside in range(place):
            if not used >> aside & 1 and self.joints[aside] not in seen:
                seen.add(self.joints[aside])
                yield aside, place, 0
        if not left or place >= self.count:
            return
        yield None, place + 1, 1
        for beyond in range(place + 1, self.count):
            # Of like joints side by side one is as good as another; apart, their turns differ.
            twin = self.joints[beyond] == self.joints[beyond - 1] and not used >> (beyond - 1) & 1
            if not used >> beyond & 1 and not twin:
                yield beyond, place, 1
