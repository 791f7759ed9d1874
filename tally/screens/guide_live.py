"""The port of the instrument that is asked about, listened to while it is asked about and no longer."""

from __future__ import annotations

import threading
import time

from tally.live.picture import Picture
from tally.live.trial import Trial, ports
from tally.planfile.guided.displayed import would_read
from tally.planfile.guided.heard import Heard
from tally.planfile.guided.inscribed import part
from tally.planfile.guided.question import Answers, Question
from tally.planfile.guided.wiring import wiring
from tally.screens.listening import Table

LOOK_S = 2.0
"""Between two looks for ports that were plugged in meanwhile."""
_BY_DISPLAY = (".shows", ".form", ".type", ".order", ".scale")


class Live:
    """Nothing here waits for a port but `stop`, and that no longer than the trial's own time-out."""

    def __init__(self) -> None:
        self._trial: Trial | None = None
        self._ports: dict[str, str] = {}
        self._looked_s = 0.0
        self._looking: threading.Thread | None = None
        self._picture, self._told_ports = Picture(), tuple[tuple[str, str], ...]()

    def attend(self, answers: Answers, asked: Question, prefix: str = "") -> None:
        """Listens as these answers say, while `asked` is about an instrument; else to nothing."""
        prefix = prefix or part(asked.id)
        found = wiring(answers, prefix, asked.id) if prefix else None
        if found is None and self._trial is None:
            return
        self._trial = self._trial or Trial()
        self._trial.listen(found)

    def news(self, asked: Question) -> bool:
        """Takes over what was published since; whether there was anything."""
        if asked.id.endswith(".port"):
            self._look()
        picture = self._trial.picture if self._trial is not None else Picture()
        told = tuple(self._ports.items())
        if picture is self._picture and told == self._told_ports:
            return False
        self._picture, self._told_ports = picture, told
        return True

    @property
    def picture(self) -> Picture:
        """As it was last taken over: what is drawn and what is acted on are the same."""
        return self._picture

    @property
    def heard(self) -> Heard:
        return Heard(self._told_ports, self._picture.texts, self._picture.registers)

    def table(self, asked: Question) -> Table:
        """What the registers in question would read."""
        setting = self._picture.setting
        if setting is None or not asked.id.endswith(_BY_DISPLAY) or setting.wired is not None:
            return ()
        return would_read(self._picture.registers.get(setting.address or 0, ()))

    def stop(self) -> None:
        """Frees the port."""
        if self._trial is not None:
            self._trial.stop()

    def _look(self) -> None:
        if time.monotonic() - self._looked_s < LOOK_S or (self._looking is not None and self._looking.is_alive()):
            return
        self._looked_s = time.monotonic()
        self._looking = threading.Thread(target=self._listed, name="ports", daemon=True)
        self._looking.start()

    def _listed(self) -> None:
        """New ones come last, so that no number moves under a finger."""
        found = dict(ports())
        kept = {url: found.pop(url, "unplugged") for url in self._ports}
        self._ports = {**kept, **found}
