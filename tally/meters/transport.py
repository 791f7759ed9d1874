"""Bytes in and out of a port: a device node, socket://host:port, rfc2217://host:port or loop://.

The only module that uses pyserial, imported when the first port is opened so that starting the program stays light.
"""

import contextlib
import errno
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

try:
    from termios import error as _TerminalError
except ImportError:  # not every system has it
    _TerminalError = OSError  # type: ignore[misc, assignment]

# SerialException is an OSError; TypeError and the like come from a URL without its number or a handle closed meanwhile
_ERRORS: tuple[type[Exception], ...] = (OSError, ValueError, TypeError, AttributeError, _TerminalError)

READ_TIMEOUT_S = 0.25  # the longest that a read waits; it also bounds how long stopping takes


class PortFault(Exception):
    """The port cannot be opened or has gone; the text says what was given and what to check."""


class Port(Protocol):
    """An open port. `read` returns what has arrived, or b"" after READ_TIMEOUT_S; read and write raise PortFault."""

    def read(self, max_bytes: int) -> bytes: ...

    def write(self, data: bytes) -> None: ...

    def close(self) -> None: ...


@dataclass(frozen=True, slots=True)
class KnownPort:
    """A port that the system lists, in the system's words."""

    url: str
    description: str


def known_ports() -> list[KnownPort]:
    """The serial ports that the system knows, by name; network addresses and pseudo-terminals are never among them."""
    from serial.tools import list_ports

    return sorted(
        (KnownPort(port.device, _described(port)) for port in list_ports.comports()), key=lambda port: port.url
    )


def _described(port: Any) -> str:
    words = port.description if port.description not in (None, "n/a") else "no description"
    serial_number = f", serial number {port.serial_number}" if port.serial_number else ""
    return f"{words}{serial_number}"


def open_port(url: str, baud: int, *, bits: str = "8N1", read_timeout_s: float = READ_TIMEOUT_S) -> Port:
    """An open port at `url`, its data bits, parity and stop bits as in "8N1"; raises PortFault in plain words."""
    import serial

    try:
        handle = serial.serial_for_url(
            url,
            baudrate=baud,
            bytesize=int(bits[0]),
            parity=bits[1],
            stopbits=int(bits[2]),
            timeout=read_timeout_s,
            write_timeout=read_timeout_s,
            exclusive=True,
        )
    except _ERRORS as error:
        raise PortFault(_opening_words(url, baud, error)) from error
    return _SerialPort(handle, url)


class _SerialPort:
    """A pyserial handle whose failures all come out as PortFault."""

    def __init__(self, handle: Any, url: str) -> None:
        self._handle = handle
        self._url = url
        self._timeout_s = handle.timeout
        self._counts_bytes = not url.lower().startswith("socket://")  # a socket only tells "some" or "none" waiting

    def read(self, max_bytes: int) -> bytes:
        try:
            data: bytes = self._handle.read(1)
        except _ERRORS as error:
            raise PortFault(f"{self._url} has gone ({_plain(error)}): check cable, plug and power") from error
        if data and max_bytes > 1:
            with contextlib.suppress(*_ERRORS):  # the next read meets the same error again
                data += self._waiting(max_bytes - 1)
        return data

    def _waiting(self, max_bytes: int) -> bytes:
        """What is here already, without waiting for more, so that arrival times stay true."""
        if self._counts_bytes:
            count = min(max_bytes, self._handle.in_waiting)
            return bytes(self._handle.read(count)) if count else b""
        self._handle.timeout = 0
        try:
            return bytes(self._handle.read(max_bytes))
        finally:
            self._handle.timeout = self._timeout_s

    def write(self, data: bytes) -> None:
        try:
            self._handle.write(data)
        except _ERRORS as error:
            raise PortFault(f"{self._url} takes no data ({_plain(error)}): check cable, plug and power") from error

    def close(self) -> None:
        with contextlib.suppress(Exception):  # a port that has gone may refuse even this
            self._handle.close()


def port_signature(url: str) -> tuple[int, ...] | None:
    """Something that changes when a device node comes, goes or is replaced; None if absent or not a device node."""
    if not is_device(url):
        return None
    try:
        link, node = Path(url).lstat(), Path(url).stat()
    except (OSError, ValueError):
        return None
    return (link.st_ino, link.st_ctime_ns, node.st_ino, node.st_rdev, node.st_mode)


def is_device(url: str) -> bool:
    """True for a device node on a file system, whose coming back can be seen without opening it."""
    return "://" not in url and os.name == "posix"


def _opening_words(url: str, baud: int, error: BaseException) -> str:
    number, text = _errno(error), str(error).lower()
    if number in (errno.ENOENT, errno.ENXIO, errno.ENODEV) or "filenotfounderror" in text:
        return f"there is no port {url!r}: check that the meter is plugged in and how this machine names the port"
    if "lock" in text or number in (errno.EBUSY, errno.EAGAIN):
        return f"{url!r} is in use by another program: close that program"
    if number in (errno.EACCES, errno.EPERM) or "permissionerror" in text:
        return f"no permission to open {url!r}: {_group_words(url)}, or close other programs that use it"
    if number == errno.ECONNREFUSED:
        return f"nothing answers at {url!r}: check that the converter is on, and its address and port number"
    if number in (errno.ENOTTY, errno.EISDIR, errno.EINVAL):
        return f"{url!r} is not a serial port, or cannot run at {baud} baud"
    return (
        f"cannot open {url!r} at {baud} baud ({_plain(error)}): give a device such as /dev/ttyUSB0 or COM3, "
        "or socket://host:port"
    )


def _group_words(url: str) -> str:
    """How to be allowed to: on Linux a serial port belongs to a group, mostly dialout."""
    try:
        import grp

        group = grp.getgrgid(Path(url).stat().st_gid).gr_name
    except (ImportError, OSError, KeyError, ValueError):
        return "join the group that owns the port (on Linux mostly dialout)"
    return f"join the group {group!r} (on Linux: sudo usermod -aG {group} YOUR_NAME, then log in anew)"


def _errno(error: BaseException | None) -> int | None:
    """The system's error number, looked for behind the errors that hide it."""
    while error is not None:
        number = getattr(error, "errno", None) or (error.args[0] if error.args else None)
        if isinstance(number, int):
            return number
        error = error.__cause__ or error.__context__
    return None


def _plain(error: BaseException) -> str:
    text = " ".join(str(error).split())
    return text[:120] or type(error).__name__
