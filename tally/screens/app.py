"""The app: which screen is up, in which units and light, and the tick that redraws. Records nothing itself."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.css.query import NoMatches
from textual.screen import ModalScreen, Screen

from tally import formats
from tally.formats import Units
from tally.job.state import Kept
from tally.job.view.alarms import standing
from tally.job.view.log import row
from tally.live.feed import Feed
from tally.live.follower import Follower
from tally.live.player import Player
from tally.live.session import Snapshot
from tally.screens import keys, themes, watchline, words
from tally.screens.alarms import AlarmsScreen
from tally.screens.base import NO_CHANGE, OurApp
from tally.screens.bell import Bell
from tally.screens.casing import CasingScreen
from tally.screens.going import GoScreen
from tally.screens.grout import GroutScreen
from tally.screens.help import HelpScreen
from tally.screens.keys import Keymap
from tally.screens.log import LogScreen
from tally.screens.pick import PickScreen
from tally.screens.work import WorkScreen

if TYPE_CHECKING:
    from tally.screens.reporting import Paperwork

TICK_S = 0.25


class TallyApp(OurApp[None]):
    """Draws the snapshots of `feed` and sends it intents."""

    MODES: ClassVar[dict[str, type[Screen[None]]]] = {  # type: ignore[assignment]
        "casing": CasingScreen,
        "grout": GroutScreen,
        "log": LogScreen,
        "alarms": AlarmsScreen,
        "help": HelpScreen,
    }
    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(key.key, f"place('{key.action}')", key.label, id=key.action, priority=True) for key in keys.PLACES),
        Binding("ctrl+q,ctrl+c", "place('leave')", "leave", id="quit", show=False, priority=True),
        *(
            Binding(key.key, f"replay('{key.action}')", key.label, id=f"replay-{key.action}", show=False)
            for key in keys.REPLAY
            if key.action != "go"
        ),
        *(Binding(digit, f"go('{digit}')", show=False, id=f"go-{digit}") for digit in "0123456789"),
    ]

    def __init__(
        self,
        feed: Feed,
        *,
        units: Units = "metric",
        place: str = "casing",
        follow: bool = False,
        theme: str = themes.DUSK.name,
        keymap: Keymap = NO_CHANGE,
        muted: bool = False,
        said: str = "",
        paperwork: Paperwork | None = None,
    ) -> None:
        """`follow`: go on to the grout screen with the job, until the user goes somewhere himself. `paperwork`: makes
        the report of what is on screen, where there is a file to report on."""
        super().__init__()
        self.feed = feed
        self.paperwork = paperwork
        self._follow = follow
        self.units: Units = units
        self._place = place
        self._theme = theme
        self.keymap = keymap
        self._bell = Bell(muted=muted)
        self._said = said
        self._drawn: tuple[object, ...] = ()
        self._ticked_s = time.monotonic()

    @property
    def player(self) -> Player | None:
        """The replay, if it is one."""
        return self.feed if isinstance(self.feed, Player) else None

    @property
    def follower(self) -> Follower | None:
        """What is only watched, if it is."""
        return self.feed if isinstance(self.feed, Follower) else None

    @property
    def past(self) -> str:
        """The word for a session that is not being recorded here; empty where it is."""
        if self.follower is not None:
            return watchline.word(self.follower)
        return self.player.word if self.player is not None else ""

    @property
    def snapshot(self) -> Snapshot:
        return self.feed.snapshot

    def on_mount(self) -> None:
        self.put_on(self._theme)
        self.switch_mode(self._place)
        if self._said:
            self.call_after_refresh(self._say_once)
        self.set_interval(TICK_S, self.tick)

    def tick(self) -> None:
        """Draws what has changed. A fault in drawing is shown and survived: recording goes on elsewhere."""
        now_s = time.monotonic()
        if self.player is not None:
            self.player.advance(now_s - self._ticked_s)
        if self.follower is not None:
            self.follower.advance()
        self._ticked_s = now_s
        self._ring(now_s)
        if self._follow and self.current_mode == "casing" and self.snapshot.state.grout.stages:
            self.switch_mode("grout")
        # A question may stand over the screen: what lies under it goes on being drawn.
        screen = next((screen for screen in reversed(self.screen_stack) if isinstance(screen, WorkScreen)), None)
        if screen is None:
            return
        told = self.player and _told(self.player)
        if self.follower is not None:
            told = (self.past, self.follower.trouble, self.follower.damage)
        seen = (self.snapshot, screen, self.units, told)
        if seen == self._drawn:
            return
        self._drawn = seen
        try:
            with self.batch_update():
                screen.show(self.snapshot, self.units)
        except NoMatches:
            self._drawn = ()  # the screen is not composed yet; the next tick draws it
        except Exception:
            # The screen's banner says it; the next tick tries again.
            self._drawn = ()

    @property
    def bell_muted(self) -> bool:
        return self._bell.muted

    def mute(self) -> None:
        """The bell off, or on again."""
        self._bell.muted = not self._bell.muted
        screen = self.screen
        if isinstance(screen, WorkScreen):
            screen.say("the bell is off: alarms show, and wait for an answer" if self._bell.muted else "the bell is on")
        self.redraw()

    def _ring(self, now_s: float) -> None:
        if self.player is None and self._bell.due(standing(self.snapshot.state), now_s):
            self.bell()

    def _say_once(self) -> None:
        if isinstance(self.screen, WorkScreen):
            self.screen.say(self._said)

    def redraw(self) -> None:
        self._drawn = ()
        self.call_later(self.tick)

    def told(self, kept: Kept) -> str:
        """An entry in words, in the units of the screen."""
        return formats.plain(words.said(row(self.snapshot.state, kept).sentence, self.units))

    def action_place(self, place: str) -> None:
        if isinstance(self.screen, ModalScreen):
            return
        match place:
            case "units":
                self.units = "us" if self.units == "metric" else "metric"
            case "theme":
                self.next_theme()
            case "leave":
                self._leave()
            case _:
                self._follow = False
                self.switch_mode(place)
        self.redraw()

    def action_replay(self, action: str) -> None:
        player = self.player
        if player is None or isinstance(self.screen, ModalScreen):
            return
        match action:
            case "play":
                player.playing = not player.playing
            case "step":
                player.step()
            case "back":
                player.step(-1)
            case "next-alarm":
                player.next_alarm()
            case "alarm-before":
                player.next_alarm(-1)
            case "difference":
                player.next_difference()
            case "faster":
                player.faster(1)
            case "slower":
                player.faster(-1)
            case "start":
                player.to_start()
            case "end":
                player.to_end()
        self.redraw()

    def action_go(self, digit: str) -> None:
        """Asks where the replay should go; `digit` is the first of the answer."""
        player = self.player
        if player is None or isinstance(self.screen, ModalScreen):
            return
        player.playing = False
        self.push_screen(GoScreen(player, digit), lambda _: self.redraw())

    def _leave(self) -> None:
        if self.player is not None or self.follower is not None:
            self.exit()
            return

        state, under = self.snapshot.state, self.screen
        ready = not state.closed and state.grout.stage is None and isinstance(under, WorkScreen)

        def chosen(place: int | str | None) -> None:
            if place == 0:
                self.exit()
            elif place == 2 and isinstance(under, WorkScreen):
                under.sign_off()

        self.push_screen(
            PickScreen(
                "Stop recording?",
                ["yes, leave", "no, go on", *(["sign off: the job is done, nothing more follows"] if ready else [])],
                remark="Everything up to now is saved. The session can be taken up again later.",
            ),
            chosen,
        )


def _told(player: Player) -> tuple[object, ...]:
    """What the time bar tells besides the snapshot."""
    return player.playing, player.speed, len(player.differences), player.checked
