"""One port listened to without any job, and what is wrong with it.

A thread of its own opens the port, and opens it again where it fails or another is wanted; what it last knew stands in
`picture`, which never changes once it is published. After `stop` the port is free again.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from dataclasses import replace
from types import MappingProxyType

from tally.job.wired import Wiring
from tally.live.instruments import opener
from tally.live.picture import Picture, Row, bench_of, row_of
from tally.meters.bench import Bench, PacketBench
from tally.meters.probe import Probe
from tally.meters.transport import PortFault, known_ports, open_port

AGAIN_S = 1.0
QUIET_S = 3.0
ASK_S = 0.5
"""Between two questions to a device that is only looked at."""
PUBLISH_S = 0.1
"""A flood of lines is drawn no more often than that."""
ROWS = 24
TEXTS = 60
_CHUNK = 4096
_KEPT = 64
"""Chunks that are read anew when another way of reading is tried."""
_QUIET = "nothing arrives: check power and the two data wires (swap them); some meters speak only when asked"
_GARBAGE = "mostly garbage: another speed or parity, or it is Modbus"
_UNREAD = "lines come, but none can be read like that"


class Trial:
    """Listens from `listen` to `stop`."""

    def __init__(self) -> None:
        self._wanted: Wiring | None = None
        self._changed = threading.Condition()
        self._over = False
        self._thread: threading.Thread | None = None
        self.picture = Picture()

    def listen(self, setting: Wiring | None) -> None:
        """From now on with this setting, or with none; the same again changes nothing."""
        with self._changed:
            if setting == self._wanted or self._over:
                return
            self._wanted = setting
            self._changed.notify()
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="trial of a meter", daemon=True)
            self._thread.start()

    def stop(self, timeout_s: float = 1.0) -> None:
        """Ends within `timeout_s`. A port that is stuck while opening is left to close itself when it comes free."""
        with self._changed:
            self._over = True
            self._changed.notify()
        if self._thread is not None:
            self._thread.join(timeout_s)

    def _run(self) -> None:
        while not self._over:
            setting = self._wanted
            if setting is None:
                self.picture = Picture()
                self.pause(None, None)
                continue
            if (self.picture.state, self.picture.setting) != ("fault", setting):
                self.picture = Picture(setting, "opening")
            try:
                _Sitting(self, setting).run()
            except PortFault as fault:
                self.picture = Picture(setting, "fault", str(fault))
                self.pause(setting, AGAIN_S)
            except Exception as error:  # whatever a port or a driver does, the plan goes on
                self.picture = Picture(setting, "fault", f"the port failed: {type(error).__name__}: {error}"[:300])
                self.pause(setting, AGAIN_S)

    def goes_on(self, setting: Wiring | None) -> bool:
        return not self._over and self._wanted == setting

    def other_reading(self, setting: Wiring) -> Wiring | None:
        """What is wanted now, where that only reads otherwise what the same port sends."""
        wanted = self._wanted
        if self._over or wanted is None or wanted.modbus or setting.modbus:
            return None
        return replace(setting, wired=wanted.wired, pattern=wanted.pattern) if _line(wanted) == _line(setting) else None

    def pause(self, setting: Wiring | None, wait_s: float | None) -> None:
        """Until something else is wanted, or `wait_s` has passed."""
        with self._changed:
            self._changed.wait_for(lambda: not self.goes_on(setting), wait_s)


class _Sitting:
    """One port with one setting, from opening to closing."""

    def __init__(self, trial: Trial, setting: Wiring) -> None:
        self._trial, self._setting = trial, setting
        self._rows: deque[Row] = deque(maxlen=ROWS)
        self._chunks: deque[tuple[float, bytes]] = deque(maxlen=_KEPT)
        self._registers: dict[int, tuple[int, ...]] = {}
        self._bench: Bench = bench_of(setting)
        self._opened_s = self._published_s = time.monotonic()

    def run(self) -> None:
        """Until another setting is wanted; raises `PortFault`."""
        if self._setting.modbus and self._setting.wired is None:
            self._probe()
        else:
            self._read()

    def _read(self) -> None:
        setting = self._setting
        if setting.modbus and setting.wired is not None:
            port = opener(setting.wired)(setting.port, setting.baud)
        else:
            port = open_port(setting.port, setting.baud, bits=setting.bits)
        try:
            self._bench.opened()
            self._publish()
            while self._goes_on():
                data = port.read(_CHUNK)
                if data:
                    self._chunks.append((time.monotonic(), data))
                    self._take(*self._chunks[-1])
                self._publish(soon=bool(data))
        finally:
            port.close()

    def _goes_on(self) -> bool:
        """With the port open, reads otherwise where that is wanted: what came before is read anew."""
        if self._trial.goes_on(self._setting):
            return True
        other = self._trial.other_reading(self._setting)
        if other is None:
            return False
        self._setting, self._bench = other, bench_of(other)
        self._rows.clear()
        for mono_s, data in self._chunks:
            self._take(mono_s, data)
        self._publish()
        return True

    def _take(self, mono_s: float, data: bytes) -> None:
        for heard in self._bench.feed(mono_s, data):
            self._rows.append(row_of(heard, self._setting))

    def _probe(self) -> None:
        setting = self._setting
        assert setting.address is not None
        # A manual that counts from 1 is one too far.
        firsts = [first for first in (setting.address, setting.address - 1) if first >= 0]
        with Probe(setting.port, setting.baud, bits=setting.bits, unit=setting.unit, bank=setting.bank) as probe:
            self._publish()
            while self._trial.goes_on(setting):
                for first in firsts:
                    answer = probe.ask(first)
                    if first == setting.address:
                        hexed = " ".join(f"{word:04X}" for word in answer.words)
                        self._rows.append(Row(f"register {first}: {hexed or '–'}", why=answer.why))
                        self._bench.lines += bool(answer.words)
                        self._bench.garbage += not answer.words
                    self._registers.pop(first, None)
                    if answer.words:
                        self._registers[first] = answer.words
                    elif not answer.heard:
                        break
                self._publish()
                self._trial.pause(setting, ASK_S)

    def _publish(self, *, soon: bool = False) -> None:
        """`soon`: more may follow at once."""
        now_s = time.monotonic()
        if soon and now_s - self._published_s < PUBLISH_S:
            return
        self._published_s = now_s
        bench = self._bench
        unanswered = bench.unanswered + bench.refused if isinstance(bench, PacketBench) else 0
        read = bench.read if self._setting.wired or self._setting.pattern else 0
        self._trial.picture = Picture(
            self._setting,
            "open",
            self._trouble(now_s),
            bench.lines,
            read,
            bench.garbage + unanswered,
            bench.lines_a_second,
            tuple(self._rows),
            tuple(bench.texts[-TEXTS:]) if not self._setting.modbus else (),
            MappingProxyType(dict(self._registers)),
        )

    def _trouble(self, now_s: float) -> str:
        bench, setting = self._bench, self._setting
        if setting.modbus:
            last = self._rows[-1] if self._rows else None
            return (last.why or "") if last is not None and not last.values else ""
        if not bench.bytes:
            return _QUIET if now_s - self._opened_s > QUIET_S else ""
        if bench.garbage > bench.lines or (not bench.lines and now_s - self._opened_s > QUIET_S):
            return _GARBAGE
        if (setting.wired or setting.pattern) and bench.lines and not bench.read:
            return _UNREAD
        return ""


def _line(setting: Wiring) -> tuple[str, int, str]:
    return setting.port, setting.baud, setting.bits


def ports() -> tuple[tuple[str, str], ...]:
    """The ports that the system lists, with what it says of each."""
    return tuple((port.url, port.description) for port in known_ports())
