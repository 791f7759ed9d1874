"""What a command cannot do."""

from __future__ import annotations

WRONG = 2
"""Exit code for what the user has to mend."""


class CommandFault(Exception):
    """A command cannot do what was asked; the text says why and what to do next."""
