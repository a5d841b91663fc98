"""Writing to the terminal; commands return text or write it here, nothing else prints."""

from __future__ import annotations

import os
import sys


def tell(text: str) -> None:
    """Write what was asked for."""
    sys.stdout.write(f"{text}\n")


def warn(text: str) -> None:
    """Write what somebody should know beside the result."""
    sys.stderr.write(f"litreline: {text}\n")


def nobody_reads() -> None:
    """Turn our output to nowhere, after its reader went away."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
