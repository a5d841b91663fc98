"""How a group adds its command, so that every command looks and helps alike."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TypeAlias

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"
Run: TypeAlias = Callable[[argparse.Namespace], int]


def add_command(
    commands: Commands, name: str, run: Run, help_text: str, more: str = ""
) -> argparse.ArgumentParser:
    """Add one command and return its parser. `more` follows the sentence in its own help."""
    sentence = f"{help_text[0].upper()}{help_text[1:]}."
    parser = commands.add_parser(
        name,
        help=help_text,
        description=f"{sentence} {more}".strip(),
    )
    parser.set_defaults(run=run)
    return parser
