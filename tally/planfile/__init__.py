"""The plan file: TOML written by a person, any unit on any value, read into the plan in SI."""

from tally.planfile.example import example
from tally.planfile.mistake import Mistake
from tally.planfile.reader import read, read_text

__all__ = ["Mistake", "example", "read", "read_text"]
