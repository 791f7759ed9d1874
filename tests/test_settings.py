"""The settings file: what it may say, what is told of the rest, and that nothing in it stops a command."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tally import settings
from tally.screens import keys

ROOT = Path(__file__).resolve().parents[1]


def kept(folder: Path, text: str) -> Path:
    path = folder / "settings.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_no_file_is_no_problem(tmp_path: Path) -> None:
    assert settings.read(tmp_path / "none.toml") == settings.Settings()


def test_what_is_sound_is_taken(tmp_path: Path) -> None:
    text = 'units = "US"\ntheme = "sunlight"\nmute = true\nfps = 15\n[keys]\nnote = "y"\ncasing = "f10"\n'
    found = settings.read(kept(tmp_path, text))
    assert found == settings.Settings(
        units="us", theme="sunlight", mute=True, fps=15, keys={"note": "y", "casing": "f10"}
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('units = "imperial"', 'units: given imperial; accepted: "metric" or "us"'),
        ('theme = "night"', 'theme: given night; accepted: "dark" or "sunlight" or "plain"'),
        ('mute = "yes"', "mute: given yes; accepted: true or false"),
        ("fps = 0", "fps: given 0; accepted: a whole number from 1 to 60"),
        ("fps = true", "fps: given True; accepted"),
        ('keys = "a"', "keys: given a; accepted: a table [keys]"),
        ('[keys]\nnote = "ctrl+n"', "keys.note: given ctrl+n; accepted: a letter from a to z"),
        ("[keys]\nnote = 7", "keys.note: given 7; accepted: a letter"),
        ('colour = "red"', "colour: given a setting that is not known; accepted: units"),
        ("units = ", "given text that is not TOML"),
        ("a = " + "[" * 9_000, "given text that is not TOML"),
    ],
)
def test_what_is_wrong_is_told_and_the_rest_is_taken(tmp_path: Path, text: str, says: str) -> None:
    found = settings.read(kept(tmp_path, text))
    assert says in found.problems[0]
    assert (found.units, found.theme, found.mute, found.fps, dict(found.keys)) == (None, "dark", False, None, {})
    if "not TOML" not in says:
        both = settings.read(kept(tmp_path, f'{"theme" if "theme" not in text else "units"} = "sunlight"\n{text}'))
        assert any(says in problem for problem in both.problems)
        assert both.theme == ("sunlight" if "theme" not in text else "dark")


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    assert "cannot be read" in settings.read(tmp_path).problems[0]
    assert "100 kB" in settings.read(kept(tmp_path, "#" * 200_000)).problems[0]
    (tmp_path / "latin.toml").write_bytes(b'theme = "\xe9"')
    assert "not TOML" in settings.read(tmp_path / "latin.toml").problems[0]


def _command(folder: Path, *arguments: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", "tally", *arguments],
        capture_output=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": str(ROOT), "TALLY_SETTINGS": str(folder / "settings.toml")},
        timeout=60,
        check=False,
    )


def test_the_command_prints_the_place_and_an_example_that_reads(tmp_path: Path) -> None:
    printed = _command(tmp_path, "settings")
    assert (printed.returncode, printed.stderr) == (0, "")
    assert f"{tmp_path / 'settings.toml'} (not there" in printed.stdout
    lines = printed.stdout.splitlines()[3:]
    taken = tomllib.loads("\n".join(line.removeprefix("# ") for line in lines))
    found = settings.taken(taken)
    assert found.problems == ()
    # Every key as it stands now: nothing clashes, nothing is unknown.
    assert keys.remapped(found.keys) == (dict(found.keys), [])
    kept(tmp_path, '[keys]\nnote = "a"\n')
    wrong = _command(tmp_path, "settings")
    assert wrong.returncode == 1
    assert "keys.note: given a, which stands for answer on the casing screen" in wrong.stderr
