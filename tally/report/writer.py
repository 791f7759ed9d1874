"""Values to words, in one reader's units and the job's time zone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tally import formats
from tally.formats import UNKNOWN, Units
from tally.job.view.quantity import Quantity, Sentence
from tally.job.view.reported_facts import Value


@dataclass(frozen=True, slots=True)
class Writer:
    zone_name: str
    units: Units
    opened_at: datetime
    """Times of another day than this one carry their date."""

    def put(self, quantity: Quantity) -> str:
        return formats.text(quantity, self.units)

    def said(self, sentence: Sentence) -> str:
        return sentence.written(self.put)

    def any(self, value: Quantity | str) -> str:
        return value if isinstance(value, str) else self.put(value)

    def fact(self, value: Value) -> str:
        """Empty where nothing is known, so that it can be filled in."""
        match value:
            case None:
                return ""
            case Quantity():
                return "" if value.si is None else self.put(value)
            case Sentence():
                return self.said(value)
            case datetime():
                return f"{self.day(value)} {formats.clock(value, self.zone_name)}"
        return value

    def day(self, at: datetime) -> str:
        return formats.day(at, self.zone_name)

    def time(self, at: datetime | None) -> str:
        if at is None:
            return UNKNOWN
        clock = formats.clock(at, self.zone_name)
        return clock if self.day(at) == self.day(self.opened_at) else f"{self.day(at)} {clock}"

    def time_s(self, at: datetime) -> str:
        return f"{self.day(at)} {formats.clock_s(at, self.zone_name)}"

    def zone_words(self) -> str:
        if formats.zone_is_known(self.zone_name):
            return f"Times are local, {self.zone_name}."
        return f"Times are UTC: the time zone {self.zone_name} is not known here."
