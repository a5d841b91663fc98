"""The named places in a sentence: `{name}`, small letters, digits and underscores, nothing else.

No format codes and no attribute access: a catalogue is data that a stranger may have edited.
"""

from __future__ import annotations

import re

PLACEHOLDER = re.compile(r"\{([a-z][a-z0-9_]*)\}")


def placeholders(text: str) -> frozenset[str]:
    """Return the names of the places in a sentence."""
    return frozenset(PLACEHOLDER.findall(text))


def without_placeholders(text: str, stand_in: str = "") -> str:
    """Return the sentence with `stand_in` in each place."""
    return PLACEHOLDER.sub(lambda _: stand_in, text)
