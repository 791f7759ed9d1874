"""The app: which screen is up, in which units and light, and the tick that redraws. Records nothing itself.

Loads at its start only what a first frame takes (`screens/opening.py` paints it); the job, and what draws it, come with
the feed.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.css.query import NoMatches
from textual.screen import ModalScreen
from textual.widget import AwaitMount

from tally import formats
from tally.formats import Units
from tally.screens import keys, themes, watchline, words
from tally.screens.base import NO_CHANGE, OurApp
from tally.screens.bell import Bell
from tally.screens.keys import Keymap
from tally.screens.pick import PickScreen

if TYPE_CHECKING:
    from tally.job.state import Kept
    from tally.live.feed import Feed
    from tally.live.follower import Follower
    from tally.live.player import Player
    from tally.live.session import Snapshot
    from tally.screens.places import Work
    from tally.screens.reporting import Paperwork
    from tally.screens.work import WorkScreen

TICK_S = 0.25


class TallyApp(OurApp[None]):
    """Draws the snapshots of a feed and sends it intents."""

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
        feed: Feed | None = None,
        *,
        units: Units = "metric",
        place: str = "casing",
        theme: str = themes.DUSK.name,
        keymap: Keymap = NO_CHANGE,
        muted: bool = False,
        said: str = "",
    ) -> None:
        """Without a `feed` nothing is drawn until `begin`."""
        super().__init__()
        self._work: Work | None = None
        if feed is not None:
            from tally.screens.places import Work

            self._work = Work(feed, units, place)
        self.paperwork: Paperwork | None = None
        self.units: Units = units
        self._follow = False
        self._theme = theme
        self.keymap = keymap
        self._bell = Bell(muted=muted)
        self._said = said
        self._drawn: tuple[object, ...] = ()
        self._sizes: tuple[object, ...] = ()
        self._ticked_s = time.monotonic()

    def on_mount(self) -> None:
        self.put_on(self._theme)
        if self._work is not None:
            self.begin(self._work)

    def begin(self, work: Work) -> AwaitMount:
        """Puts the working screens over `work`; what it gives can be waited for until the first of them stands."""
        self._work, self.units, self.paperwork, self._follow = work, work.units, work.paperwork, work.follow
        for name, screen in work.SCREENS.items():
            self.add_mode(name, screen)
        if self._said:
            self.call_after_refresh(self.say_at_first)
        self._ticked_s = time.monotonic()
        self.set_interval(TICK_S, self.tick)
        return self.switch_mode(work.place)

    @property
    def begun(self) -> bool:
        """Whether there is anything to draw yet."""
        return self._work is not None

    @property
    def feed(self) -> Feed:
        assert self._work is not None, "nothing is drawn before `begin`"
        return self._work.feed

    @property
    def player(self) -> Player | None:
        """The replay, if it is one."""
        return self._work.player if self._work is not None else None

    @property
    def follower(self) -> Follower | None:
        """What is only watched, if it is."""
        return self._work.follower if self._work is not None else None

    @property
    def past(self) -> str:
        """The word for a session that is not being recorded here; empty where it is."""
        if self.follower is not None:
            return watchline.word(self.follower)
        return self.player.word if self.player is not None else ""

    @property
    def snapshot(self) -> Snapshot:
        return self.feed.snapshot

    @property
    def _front(self) -> WorkScreen | None:
        """The working screen; None where something stands over it."""
        stack = self._working()
        return stack[-1] if stack and stack[-1] is self.screen else None

    def _working(self) -> list[WorkScreen]:
        """The working screens of the stack."""
        from tally.screens.work import WorkScreen

        return [screen for screen in self.screen_stack if isinstance(screen, WorkScreen)]

    def tick(self) -> None:
        """Draws what has changed. A fault in drawing is shown and survived: recording goes on elsewhere."""
        if not self.begun:
            return
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
        working = self._working()
        if not working:
            return
        screen = working[-1]
        told = self.player and _told(self.player)
        if self.follower is not None:
            told = (self.past, self.follower.trouble, self.follower.damage)
        seen, sizes = (self.snapshot, screen, self.units, told), screen.sizes
        if seen == self._drawn and sizes == self._sizes:
            return
        # After a change of size once more: parts take theirs one after the other, some by what was drawn in others.
        self._drawn, self._sizes = (seen if sizes == self._sizes else ()), sizes
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
        if (screen := self._front) is not None:
            screen.say("the bell is off: alarms show, and wait for an answer" if self._bell.muted else "the bell is on")
        self.redraw()

    def _ring(self, now_s: float) -> None:
        from tally.job.view.alarms import standing

        if self.player is None and self._bell.due(standing(self.snapshot.state), now_s):
            self.bell()

    def say_at_first(self) -> None:
        """What there was to be said at the start."""
        if (screen := self._front) is not None:
            screen.say(self._said)

    def redraw(self) -> None:
        self._drawn = ()
        self.call_later(self.tick)

    def told(self, kept: Kept) -> str:
        """An entry in words, in the units of the screen."""
        from tally.job.view.log import row

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
        from tally.screens.going import GoScreen

        player.playing = False
        self.push_screen(GoScreen(player, digit), lambda _: self.redraw())

    def _leave(self) -> None:
        if self.player is not None or self.follower is not None:
            self.exit()
            return

        state, under = self.snapshot.state, self._front
        ready = not state.closed and state.grout.stage is None and under is not None

        def chosen(place: int | str | None) -> None:
            if place == 0:
                self.exit()
            elif place == 2 and under is not None:
                under.sign_off()

        signed = "It is signed off: nothing more is entered. `tally run` opens it again."
        saved = "Everything up to now is saved. The session can be taken up again later."
        self.push_screen(
            PickScreen(
                "Leave?" if state.closed else "Stop recording?",
                ["yes, leave", "no, go on", *(["sign off: the job is done, nothing more follows"] if ready else [])],
                remark=signed if state.closed else saved,
            ),
            chosen,
        )


def _told(player: Player) -> tuple[object, ...]:
    """What the time bar tells besides the snapshot."""
    return player.playing, player.speed, len(player.differences), player.checked
