"""Files that are no sessions, or sessions made to do harm: refused in words, in bounded time and memory."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tally.record.line import seal
from tests.live.terminal import ROOT
from tests.live.test_damage import LINES

pytestmark = pytest.mark.skipif(os.name != "posix", reason="limits and pipes are those of POSIX")
MB = 1 << 20
MOST_GROWN_KB = 24 * 1024
"""Whatever the size of the file: a line of 1 MB, its parts, and what reading the plan takes."""


def sealed(*bodies: bytes) -> bytes:
    """Lines whose digests hold, whatever is in them."""
    lines, chain = [LINES[0]], json.loads(LINES[0])["chain"]
    for body in bodies:
        line, chain = seal(body, chain)
        lines.append(line)
    return b"".join(lines)


def entry(event: bytes) -> bytes:
    return b'{"number":2,"at":"2026-05-11T12:00:00Z","mono_s":1.5,"who":"A","event":' + event + b"}"


BEGIN = b"".join(LINES[:3])
JOINT = b'{"version":1,"kind":"JointAdded","length_m":5.05,"typed":""}'
DEEP = b'{"a":' * 100_000 + b"1" + b"}" * 100_000
SMALL: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "is empty"),
    "nul bytes": (b"\0" * 5000, "not a session file"),
    "utf-16": (b"".join(LINES).decode().encode("utf-16"), "not a session file"),
    "latin-1": ("Grüße\n".encode("latin-1") * 5000, "not a session file"),
    "json of something else": (b'{"a":1}\n' * 5000, "not a session file"),
    "deep": (b"[" * 500_000, "not a session file"),
    "deep and sealed": (sealed(DEEP), "line 2: not an entry of a session"),
    "deep within an entry": (sealed(entry(DEEP)), "line 2"),
    "huge number": (sealed(entry(JOINT.replace(b"5.05", b"9" * 500_000))), "line 2"),
    "huge exponent": (sealed(entry(JOINT.replace(b"5.05", b"1e999999"))), "line 2"),
    "huge entry number": (sealed(entry(JOINT).replace(b":2,", b":" + b"9" * 4000 + b",")), "line 2"),
    "key twice": (sealed(entry(JOINT).replace(b'"number":2', b'"number":2,"number":7')), "line 2: entry 7 stands"),
    "half a letter": (sealed(entry(JOINT.replace(b'""', b'"\xc3"'))), "line 2"),
    "half a pair": (sealed(entry(JOINT.replace(b'""', b'"\\ud800"'))), "line 2"),
    "two plans": (LINES[0] + LINES[0], "line 2"),
    "kind unknown": (sealed(entry(JOINT.replace(b"Joint", b"\\u001b[31mJ"))), "line 2: \\x1b[31mJ"),
}
"""Name -> what is in the file, and what must be said of it."""


def looked_at(paths: list[Path], cpu_s: int = 120) -> list[dict[str, str]]:
    """What `tests.live.hostile` says of each file."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.live.hostile", str(cpu_s), *map(str, paths)],
        capture_output=True, encoding="utf-8", cwd=ROOT, timeout=5 * cpu_s, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    assert "Traceback" not in done.stderr, done.stderr[-2000:]
    return [json.loads(line) for line in done.stdout.splitlines()]


def repeated(path: Path, begin: bytes, block: bytes, size: int) -> Path:
    with path.open("wb") as file:
        file.write(begin)
        for _ in range(size // len(block)):
            file.write(block)
    return path


def sparse(path: Path, begin: bytes, size: int) -> Path:
    path.write_bytes(begin)
    os.truncate(path, len(begin) + size)
    return path


def large(folder: Path, size: int, behind: int) -> Iterator[tuple[Path, str]]:
    """Files of `size` bytes, or with `behind` bytes behind a good beginning, and what must be said of each."""
    garbage = bytes(range(1, 256)) * 4100
    yield sparse(folder / "zeros", b"", size), "not a session file"
    yield sparse(folder / "zeros behind", BEGIN, behind), "0 problems"
    yield repeated(folder / "garbage", b"", garbage, size), "not a session file"
    yield repeated(folder / "garbage behind", BEGIN, garbage, behind), "0 problems"
    yield repeated(folder / "endless line", b'{"number":1,"a":"', b"x" * MB, size), "not a session file"
    yield repeated(folder / "endless line behind", BEGIN + b'{"number":4,"a":"', b"x" * MB, behind), "0 problems"
    yield (
        repeated(folder / "objects behind", BEGIN, (b'{"a":' + b"[" * 500 + b"]" * 500 + b"}\n") * 1000, behind),
        "line 4",
    )
    unproven = LINES[3][:-67] + b"0" * 64 + b'"}\n'
    yield repeated(folder / "sealed garbage", BEGIN, unproven, behind // 4), "line 4"


def test_small_files_are_refused_or_told_by_their_line(tmp_path: Path) -> None:
    paths = []
    for name, (content, _) in SMALL.items():
        paths.append(tmp_path / name)
        paths[-1].write_bytes(content)
    answers = looked_at(paths)
    for (name, (_, words)), answer in zip(SMALL.items(), answers, strict=True):
        assert words in answer["opened"], (name, answer)
    assert int(answers[-1]["grown_kb"]) < MOST_GROWN_KB


def test_large_files_take_bounded_memory(tmp_path: Path) -> None:
    check_large(tmp_path, 50 * MB, 6 * MB)


@pytest.mark.long
def test_files_of_a_gigabyte_take_no_more(tmp_path: Path) -> None:
    check_large(tmp_path, 1024 * MB, 1024 * MB, cpu_s=1800)


def check_large(folder: Path, size: int, behind: int, cpu_s: int = 120) -> None:
    files = list(large(folder, size, behind))
    answers = looked_at([path for path, _ in files], cpu_s)
    for (path, words), answer in zip(files, answers, strict=True):
        assert words in answer["opened"], (path.name, answer)
        path.unlink()
    assert int(answers[-1]["grown_kb"]) < MOST_GROWN_KB, [answer["grown_kb"] for answer in answers]


def _pipe(path: Path) -> Path:
    os.mkfifo(path)
    return path


def _folder(path: Path) -> Path:
    path.mkdir()
    return path


def _link_to_itself(path: Path) -> Path:
    path.symlink_to(path)
    return path


NO_FILES: dict[str, Callable[[Path], Path]] = {
    "pipe": _pipe,
    "folder": _folder,
    "loop": _link_to_itself,
    "zero": lambda _: Path("/dev/zero"),
    "null": lambda _: Path("/dev/null"),
    "tty": lambda _: Path("/dev/tty"),
    "memory": lambda _: Path("/proc/self/mem"),
    "missing": lambda path: path,
    "long": lambda path: path.with_name("x" * 5000),
}


def test_what_is_no_file_is_refused_and_never_waited_for(tmp_path: Path) -> None:
    answers = looked_at([make(tmp_path / name) for name, make in NO_FILES.items()])
    assert len(answers) == len(NO_FILES)
    for name, answer in zip(NO_FILES, answers, strict=True):
        assert answer["opened"].startswith("refused: "), (name, answer)
        assert answer["checked"].startswith("refused: "), (name, answer)
