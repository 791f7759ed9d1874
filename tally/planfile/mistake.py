"""One thing in a plan file that cannot be read, with enough words to put it right."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Mistake:
    """`key` is the path as a crew counts it: the second section's diameter is hole.section[2].diameter."""

    key: str
    line: int | None
    given: str
    accepted: str
    file: str = "plan.toml"

    def __str__(self) -> str:
        place = f" line {self.line}" if self.line else ""
        key = f", {self.key}" if self.key else ""
        return f"{self.file}{place}{key}: given {self.given}; accepted: {self.accepted}"
