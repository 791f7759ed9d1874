"""A rig's script: lines `at SECONDS COMMAND`, or TOML with the rig's settings before its steps."""

import tomllib
from pathlib import Path
from typing import Any

from tally.meters.simulated_rig import Command, CommandFault, parsed_command, parsed_script

# key of [rig] -> option of the simulator that it stands for
SETTINGS = {
    "seed": "--seed", "hz": "--hz", "speed": "--speed", "line": "--line", "litres_per_pulse": "--litres-per-pulse",
    "start_total_l": "--start-total", "rollover_l": "--rollover", "rate_l_min": "--rate", "hole_l": "--hole",
    "rate_noise_percent": "--rate-noise-percent",
}  # fmt: skip
_STEPS = 'steps such as [[step]] with at_s = 60 and do = "rate 60"'


def read_script(path: Path) -> tuple[list[str], list[tuple[float, Command]]]:
    """Options that the script sets, as a shell would give them, and its steps in order of time."""
    text = path.read_text(encoding="utf-8")
    return _from_toml(text) if path.suffix.lower() == ".toml" else ([], parsed_script(text))


def _from_toml(text: str) -> tuple[list[str], list[tuple[float, Command]]]:
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CommandFault(f"the script is not TOML: {error}") from error
    if unknown := sorted(document.keys() - {"rig", "step"}):
        raise CommandFault(f"the script has {unknown[0]!r}; accepted are a table [rig] and {_STEPS}")
    settings, steps = document.get("rig", {}), document.get("step", [])
    if not isinstance(settings, dict) or not isinstance(steps, list):
        raise CommandFault(f"accepted are a table [rig] and {_STEPS}")
    return _options(settings), sorted((_step(number, step) for number, step in enumerate(steps, 1)), key=_time)


def _options(settings: dict[str, Any]) -> list[str]:
    found = []
    for key, value in settings.items():
        if key not in SETTINGS:
            raise CommandFault(f"[rig] has {key!r}; accepted are {', '.join(SETTINGS)}")
        found += [SETTINGS[key], str(value)]
    return found


def _step(number: int, step: Any) -> tuple[float, Command]:
    if not isinstance(step, dict) or step.keys() != {"at_s", "do"} or not isinstance(step["at_s"], int | float):
        raise CommandFault(f"step {number} is not one; accepted are {_STEPS}")
    try:
        return float(step["at_s"]), parsed_command(str(step["do"]))
    except CommandFault as fault:
        raise CommandFault(f"step {number}: {fault}") from fault


def _time(step: tuple[float, Command]) -> float:
    return step[0]
