"""A total out of a rate alone: for a meter that says how fast it flows and never how much has."""

LONGEST_STEP_S = 3.0
"""Between two rates further apart than this nobody knows what flowed: nothing is counted, and nothing made up."""


class Integral:
    """Adds up rates as they arrive, by the mean of two neighbours. It never falls: backward flow counts nothing."""

    def __init__(self) -> None:
        self.total_m3 = 0.0
        self._last: tuple[float, float] | None = None

    def interrupted(self) -> None:
        """The port was opened again: the last rate says nothing of what comes."""
        self._last = None

    def take(self, mono_s: float, rate_m3_s: float) -> float:
        """The total [m3] once `rate_m3_s` has arrived at `mono_s`."""
        if self._last is not None:
            passed_s = mono_s - self._last[0]
            if 0.0 < passed_s <= LONGEST_STEP_S:
                self.total_m3 += max((self._last[1] + rate_m3_s) / 2, 0.0) * passed_s
        self._last = (mono_s, rate_m3_s)
        return self.total_m3
