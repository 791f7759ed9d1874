"""The crew's own settings: one small file that never stops a job, whatever stands in it."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from platformdirs import user_config_path

LARGEST_BYTES = 100_000
THEMES = ("dark", "sunlight", "plain")
LEAST_FPS, MOST_FPS = 1, 60
KEY = re.compile(r"[a-z]|f([1-9]|1[0-2])")
KEY_WORDS = "a letter from a to z, or a key from f1 to f12"

EXAMPLE = """\
# Settings of tally. A line that begins with "# " does nothing; take the mark away to use it.

# units = "metric"        # or "us": what screens show, whatever the plan says; F7 changes it meanwhile
# theme = "dark"          # or "sunlight", or "plain" (no colour); F8 changes it meanwhile
# mute = false            # true: no bell while an alarm waits for an answer
# fps = 15                # pictures a second at most, for a slow link

# [keys]                  # a letter or a function key for what another stands for now
{keys}"""


@dataclass(frozen=True, slots=True)
class Settings:
    units: Literal["metric", "us"] | None = None
    """None: as the plan says."""
    theme: str = THEMES[0]
    mute: bool = False
    fps: int | None = None
    keys: Mapping[str, str] = field(default_factory=dict)
    """Action to key, in the file's words; whether they go together is for the table of keys to say."""
    problems: tuple[str, ...] = ()
    """What stands in the file and was not taken, in words."""


def place() -> Path:
    """Where the settings are looked for: `TALLY_SETTINGS`, else the user's own place for them."""
    said = os.environ.get("TALLY_SETTINGS", "").strip()
    return Path(said).expanduser() if said else user_config_path("tally", appauthor=False) / "settings.toml"


def read(path: Path | None = None) -> Settings:
    """The settings in a file; whatever is wrong is told and left at its default. No file is no problem."""
    path = place() if path is None else path
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_BYTES + 1)
        if len(raw) > LARGEST_BYTES:
            return Settings(problems=(f"{path}: given a file of more than 100 kB; a short text is accepted",))
        return taken(tomllib.loads(raw.decode("utf-8-sig")), path.name)
    except FileNotFoundError:
        return Settings()
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as fault:
        words = f"given text that is not TOML ({fault}); `tally settings` prints an example"
        return Settings(problems=(f"{path}: {words}",))
    except (OSError, ValueError) as fault:
        return Settings(problems=(f"{path} cannot be read: {getattr(fault, 'strerror', None) or fault}",))


def taken(values: Mapping[str, Any], name: str = "settings.toml") -> Settings:
    """What of these values is sound."""
    problems: list[str] = []

    def wrong(key: str, given: object, accepted: str) -> None:
        problems.append(f"{name}, {key}: given {str(given)[:40]}; accepted: {accepted}")

    known: dict[str, Any] = {}
    for key, value in values.items():
        match key:
            case "units" if value in ("metric", "us", "US"):
                known[key] = str(value).lower()
            case "units":
                wrong(key, value, '"metric" or "us"')
            case "theme" if value in THEMES:
                known[key] = value
            case "theme":
                wrong(key, value, " or ".join(f'"{theme}"' for theme in THEMES))
            case "mute" if isinstance(value, bool):
                known[key] = value
            case "mute":
                wrong(key, value, "true or false")
            case "fps" if isinstance(value, int) and not isinstance(value, bool) and LEAST_FPS <= value <= MOST_FPS:
                known[key] = value
            case "fps":
                wrong(key, value, f"a whole number from {LEAST_FPS} to {MOST_FPS}")
            case "keys" if isinstance(value, dict):
                known[key] = {action: key for action, key in value.items() if _is_key(action, key, wrong)}
            case "keys":
                wrong(key, value, "a table [keys]")
            case _:
                wrong(key, "a setting that is not known", "units, theme, mute, fps, [keys]")
    return Settings(**known, problems=tuple(problems))


def _is_key(action: str, key: object, wrong: Any) -> bool:
    if isinstance(key, str) and KEY.fullmatch(key):
        return True
    wrong(f"keys.{action}", key, KEY_WORDS)
    return False
