"""Runs the simulated meter in a process of its own, for programs."""

import contextlib
import queue
import subprocess
import threading
from types import TracebackType

from tally import child


class SimulatorFault(Exception):
    """The simulator did not start or did not answer; the text says what it printed."""


class SimulatorProcess:
    """The simulator, started with `arguments`; ends with this object, or with this program however that ends."""

    def __init__(self, *arguments: str, timeout_s: float = 10.0) -> None:
        self._arguments = arguments
        self._timeout_s = timeout_s
        self._process: subprocess.Popen[bytes] | None = None
        self._told: queue.SimpleQueue[dict[str, float]] = queue.SimpleQueue()
        self._ports: queue.SimpleQueue[str | None] = queue.SimpleQueue()
        self._printed: list[str] = []
        self.port = ""
        self.returns = ""
        """The port of the meter in the returns, where the simulated hole has one."""

    @property
    def pid(self) -> int | None:
        return self._process.pid if self._process else None

    def start(self) -> str:
        """Starts it, unless it was launched already; the URL at which it listens."""
        if self._process is None:
            self.launch()
        try:
            port = self._ports.get(timeout=self._timeout_s)
        except queue.Empty:
            port = None
        if port is None:
            self.stop()
            raise SimulatorFault(f"the simulator did not start: {' / '.join(self._printed[-5:]) or 'it said nothing'}")
        return port

    def launch(self) -> None:
        """Has it start by itself; `start` then waits for its port, and something else can be done meanwhile."""
        # nothing may be written over a screen
        self._process = child.started("tally.meters.simulator", *self._arguments, errors=subprocess.STDOUT)
        threading.Thread(target=self._listen, args=(self._process,), daemon=True).start()

    def command(self, text: str) -> None:
        """Sends one command, such as `rate 60`."""
        process = self._process
        if process is None or process.stdin is None:
            raise SimulatorFault("the simulator is not running")
        try:
            process.stdin.write(text.encode() + b"\n")
            process.stdin.flush()
        except (OSError, ValueError) as error:
            raise SimulatorFault(f"the simulator has ended: {' / '.join(self._printed[-5:])}") from error

    def tell(self) -> dict[str, float]:
        """What is true inside it now: time_s, total_l, pumped_l, rate_l_min. Commands sent before have been obeyed."""
        self.command("tell")
        try:
            return self._told.get(timeout=self._timeout_s)
        except queue.Empty:
            raise SimulatorFault("the simulator does not answer") from None

    def stop(self) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        if process.stdin is not None:
            with contextlib.suppress(OSError):
                process.stdin.close()  # it ends by itself when its input does
        try:
            process.wait(2.0)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()

    def __enter__(self) -> "SimulatorProcess":
        self.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()

    def _listen(self, process: "subprocess.Popen[bytes]") -> None:
        assert process.stdout is not None
        with process.stdout as out:
            for raw in out:
                head, _, rest = raw.decode("utf-8", "replace").strip().partition(" ")
                if head == "port":
                    self.port = rest
                    self._ports.put(rest)
                elif head == "returns":
                    self.returns = rest
                elif head == "told":
                    self._told.put({name: float(value) for name, _, value in (w.partition("=") for w in rest.split())})
                else:
                    self._printed = [*self._printed[-19:], f"{head} {rest}"]
        self._ports.put(None)
