"""The headers of a request, whichever library holds them."""

from __future__ import annotations

from typing import Protocol


class Headers(Protocol):
    """Headers by name, case aside where they come from the wire."""

    def get(self, name: str, default: str, /) -> str:
        """Return a header, or the default when there is none."""

    def __contains__(self, name: str, /) -> bool:
        """Whether there is such a header."""
