"""What the notebook says when it cannot go on."""

import errno
from pathlib import Path

_WORDS = {
    errno.ENOSPC: "the disk is full; free some space, then enter it again",
    errno.EDQUOT: "the disk quota is used up; free some space, then enter it again",
    errno.EFBIG: "the file has reached the largest size allowed here; free the limit, then enter it again",
    errno.EROFS: "the disk is read-only; choose another folder or remount it",
    errno.EACCES: "no permission; check who owns the file and its folder",
    errno.EPERM: "no permission; check who owns the file and its folder",
    errno.EIO: "the disk reported an error; copy the session elsewhere soon",
    errno.ENOENT: "no such file or folder; check the path",
    errno.ENOTDIR: "a part of the path is not a folder; check the path",
    errno.EISDIR: "it is a folder, and a session is a file; name the file inside it",
    errno.ENAMETOOLONG: "the name is too long; choose a shorter one",
}


class RecordFault(Exception):
    """The record could not be read or written; the text says why, and what to do about it."""


def fault(doing: str, path: Path, error: OSError) -> RecordFault:
    """The fault that tells in plain words what the system refused."""
    words = _WORDS.get(error.errno or 0) or error.strerror or str(error) or type(error).__name__
    return RecordFault(f"{doing} {path}: {words}")
