"""The wire of the simulated meter: a pseudo-terminal or a listening socket, which can be pulled and put back."""

import contextlib
import errno
import os
import socket
import struct
from pathlib import Path
from typing import Protocol

_UNREAD_LIMIT = 2048  # more than this unread on the pseudo-terminal means that nobody listens


class SimulatedLine(Protocol):
    def open(self) -> str:
        """Puts the plug in; the URL at which a client finds it."""

    def send(self, data: bytes) -> None:
        """Sends what the wire takes; what it does not take is lost, as on a real one."""

    def receive(self) -> bytes:
        """What has arrived; never waits."""

    def close(self) -> None:
        """Pulls the plug."""


class PtyLine:
    """A pseudo-terminal; with `link`, a symbolic link that points at it while it is plugged in."""

    def __init__(self, link: Path | None = None) -> None:
        self._link = link
        self._master = self._slave = -1

    def open(self) -> str:
        import pty
        import tty

        self._master, self._slave = pty.openpty()  # the slave stays open, so that the master never hangs up first
        tty.setraw(self._slave)  # nothing is echoed or translated
        os.set_blocking(self._master, False)
        name = os.ttyname(self._slave)
        if self._link is None:
            return name
        fresh = self._link.with_name(self._link.name + ".new")
        fresh.unlink(missing_ok=True)
        fresh.symlink_to(name)
        fresh.replace(self._link)
        return str(self._link)

    def send(self, data: bytes) -> None:
        if self._master < 0:
            return
        if self._unread() > _UNREAD_LIMIT:
            self._forget_unread()
        with contextlib.suppress(BlockingIOError):
            os.write(self._master, data)

    def receive(self) -> bytes:
        if self._master < 0:
            return b""
        try:
            return os.read(self._master, 4096)
        except OSError:  # nothing there
            return b""

    def _unread(self) -> int:
        import fcntl
        import termios

        count: int = struct.unpack("i", fcntl.ioctl(self._slave, termios.FIONREAD, b"\0" * 4))[0]
        return count

    def _forget_unread(self) -> None:
        """A client that opens later must not get lines from long ago."""
        import termios

        termios.tcflush(self._slave, termios.TCIFLUSH)

    def close(self) -> None:
        if self._link is not None and self._link.is_symlink():
            self._link.unlink()
        for fd in (self._master, self._slave):
            if fd >= 0:
                os.close(fd)
        self._master = self._slave = -1


class SocketLine:
    """A TCP port on which one client at a time is served; it keeps its number when it is put back."""

    def __init__(self, host: str, port: int) -> None:
        self._host = host
        self._port = port
        self._listener: socket.socket | None = None
        self._client: socket.socket | None = None
        self._rest = b""

    def open(self) -> str:
        self._listener = socket.create_server((self._host, self._port))
        self._listener.setblocking(False)
        self._port = self._listener.getsockname()[1]
        return f"socket://{self._host}:{self._port}"

    def send(self, data: bytes) -> None:
        self._accept()
        if self._client is None:
            return
        if len(self._rest) > 65536:  # the client does not read: what follows is lost, whole lines of it
            data = b""
        try:
            self._rest += data
            self._rest = self._rest[self._client.send(self._rest) :]
        except BlockingIOError:
            return
        except OSError:
            self._drop_client()

    def receive(self) -> bytes:
        self._accept()
        if self._client is None:
            return b""
        try:
            return self._client.recv(4096)
        except OSError:
            return b""

    def _accept(self) -> None:
        if self._listener is None:
            return
        try:
            client, _ = self._listener.accept()
        except OSError as error:
            if error.errno in (errno.EAGAIN, errno.EWOULDBLOCK, errno.ECONNABORTED):
                return
            raise
        self._drop_client()
        client.setblocking(False)
        self._client = client

    def _drop_client(self) -> None:
        if self._client is not None:
            self._client.close()
        self._client = None
        self._rest = b""

    def close(self) -> None:
        self._drop_client()
        if self._listener is not None:
            self._listener.close()
        self._listener = None
