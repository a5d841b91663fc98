"""Words about an unexpected fault that give nothing away."""

from __future__ import annotations

import traceback
from pathlib import PurePath

_FRAMES = 4


def bare(fault: BaseException) -> str:
    """Return the kind of a fault and where it rose; its message may hold a number or a text."""
    frames = traceback.extract_tb(fault.__traceback__)[-_FRAMES:]
    places = [f"{PurePath(frame.filename).name}:{frame.lineno}" for frame in frames]
    return f"{type(fault).__name__} ({' > '.join(places)})"
