"""Where screens get what they draw, whether it happens now or happened once."""

from __future__ import annotations

from concurrent.futures import Future
from typing import Protocol

from tally.job.intents import Intent
from tally.live.session import Outcome, Snapshot


class Feed(Protocol):
    """A session to look at. `submit` asks for an entry; a replay refuses every one."""

    @property
    def snapshot(self) -> Snapshot: ...

    def submit(self, intent: Intent) -> Future[Outcome]: ...
