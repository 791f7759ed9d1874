"""The rule files that ship with the program: their names and texts."""

from importlib import resources


def names() -> tuple[str, ...]:
    """In the order of the alphabet."""
    folder = resources.files("tally.catalogue").joinpath("rules")
    return tuple(sorted(file.name.removesuffix(".toml") for file in folder.iterdir() if file.name.endswith(".toml")))


def text(name: str) -> str | None:
    """The file of that name; None where there is none."""
    if name not in names():
        return None
    return resources.files("tally.catalogue").joinpath("rules", f"{name}.toml").read_text(encoding="utf-8")
