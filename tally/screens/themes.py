"""Themes of our own: dark for dusk and cab, sunlight for outdoors, one without colour. Text stands at 7:1 or better."""

from __future__ import annotations

from textual.theme import Theme

DUSK = Theme(
    name="dusk",
    primary="#8fd3ff",
    secondary="#c8c8c8",
    warning="#ffd75f",
    error="#ff9c8f",
    success="#9be29b",
    accent="#ffd75f",
    foreground="#f2f2f2",
    background="#101418",
    surface="#101418",
    panel="#1c242c",
    dark=True,
)
SUNLIGHT = Theme(
    name="sunlight",
    primary="#003a70",
    secondary="#333333",
    warning="#5c3d00",
    error="#8a0000",
    success="#004d1a",
    accent="#5c3d00",
    foreground="#000000",
    background="#ffffff",
    surface="#ffffff",
    panel="#e6e6e6",
    dark=False,
)
PLAIN = Theme(
    name="plain",
    primary="#ffffff",
    secondary="#ffffff",
    warning="#ffffff",
    error="#ffffff",
    success="#ffffff",
    accent="#ffffff",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#1a1a1a",
    dark=True,
)
ALL = (DUSK, SUNLIGHT, PLAIN)
