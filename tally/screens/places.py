"""What there is to work on, and its screens; importing this loads the job and all that draws it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual.screen import Screen

from tally.formats import Units
from tally.live.feed import Feed
from tally.live.follower import Follower
from tally.live.player import Player
from tally.screens.alarms import AlarmsScreen
from tally.screens.casing import CasingScreen
from tally.screens.grout import GroutScreen
from tally.screens.help import HelpScreen
from tally.screens.log import LogScreen

if TYPE_CHECKING:
    from tally.screens.reporting import Paperwork


@dataclass(frozen=True, slots=True)
class Work:
    """A session to look at or to go on with, and how its screens begin."""

    SCREENS: ClassVar[dict[str, type[Screen[None]]]] = {
        "casing": CasingScreen,
        "grout": GroutScreen,
        "log": LogScreen,
        "alarms": AlarmsScreen,
        "help": HelpScreen,
    }
    """By the name under which a key goes there."""

    feed: Feed
    units: Units = "metric"
    place: str = "casing"
    follow: bool = False
    """Go on to the grout screen with the job, until the user goes somewhere himself."""
    paperwork: Paperwork | None = None
    """Makes the report of what is on screen, where there is a file to report on."""

    @property
    def player(self) -> Player | None:
        """The replay, if it is one."""
        return self.feed if isinstance(self.feed, Player) else None

    @property
    def follower(self) -> Follower | None:
        """What is only watched, if it is."""
        return self.feed if isinstance(self.feed, Follower) else None
