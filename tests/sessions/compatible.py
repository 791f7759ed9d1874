"""Whether what one description accepts is accepted by the next, as far as fields, types and bounds can tell."""

from typing import Any

from tally.job.upcast import UPCASTS

_WORDS = {"title", "description"}
_UPPER = {"maximum", "exclusiveMaximum", "maxLength", "maxItems"}
_LOWER = {"minimum", "exclusiveMinimum", "minLength", "minItems"}


def breaks(pinned: dict[str, Any], now: dict[str, Any]) -> list[str]:
    """In plain words, what an old line may hold that would no longer be read, or would mean something else."""
    found: list[str] = []
    for name, old in pinned.items():
        new = now.get(name)
        if new is None:
            if _version(old) is None or (name, _version(old)) not in UPCASTS:
                found.append(f"{name} is gone: keep it, or upcast it")
        elif _version(old) != _version(new):
            if (name, _version(old)) not in UPCASTS:
                found.append(f"{name} has a new version and no upcast from version {_version(old)}")
        else:
            found += [f"{name}: {words}" for words in _fields(old, new)]
    return found


def _version(part: dict[str, Any]) -> int | None:
    version = part.get("properties", {}).get("version", {}).get("const")
    return version if isinstance(version, int) else None


def _fields(old: dict[str, Any], new: dict[str, Any]) -> list[str]:
    before, after = old.get("properties", {}), new.get("properties", {})
    found = [f"{name} is gone, and an old line has it" for name in before if name not in after]
    found += [
        f"{name} is described otherwise" for name in before if name in after and not accepts(before[name], after[name])
    ]
    required = set(new.get("required", ())) - set(old.get("required", ()))
    return found + [f"{name} needs a default: old lines lack it" for name in sorted(required)]


def accepts(old: Any, new: Any) -> bool:
    """Whether all that `old` describes is described by `new`."""
    if not isinstance(old, dict) or not isinstance(new, dict):
        return bool(old == new)
    old, new = _listed(old), _listed(new)
    if "enum" in old and new.get("type") == "string" and "enum" not in new:
        return all(len(str(value)) <= new.get("maxLength", len(str(value))) for value in old["enum"])
    for name in (old.keys() | new.keys()) - _WORDS:
        before, after = old.get(name), new.get(name)
        if name in _UPPER | _LOWER:
            if after is not None and (before is None or (after < before if name in _UPPER else after > before)):
                return False
        elif name in ("enum", "anyOf", "oneOf"):
            if before is None or after is None or not all(_among(each, after) for each in before):
                return False
        elif name == "mapping" or (name == "default" and isinstance(before, dict) and isinstance(after, dict)):
            if not (before or {}).items() <= (after or {}).items():
                return False
        elif not accepts(before, after):
            return False
    return True


def _listed(part: dict[str, Any]) -> dict[str, Any]:
    """A single value as a list of one."""
    if "const" not in part:
        return part
    return {**{name: what for name, what in part.items() if name != "const"}, "enum": [part["const"]]}


def _among(each: Any, kinds: list[Any]) -> bool:
    return any(accepts(each, kind) for kind in kinds)
