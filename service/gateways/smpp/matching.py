"""Which message of ours a receipt means that carries none of the ids we were told.

A centre whose response was lost knows the message by an id that we never saw; some tell only our
own reference, and some tell ids in another form than before. What is left is our reference, and
after it the phone and the first words. In doubt none is meant: a message wrongly held to have
arrived is lost.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol

from service.gateways.smpp.ports import Receipt, reference_of
from service.text.measure import split

ENOUGH_LETTERS = 8
"""So many plain letters and digits must agree: our own judgement."""


class Awaited(Protocol):
    """A message to the phone of the receipt, of which the end is not known yet."""

    @property
    def id(self) -> str:
        """Our id."""

    @property
    def text(self) -> str:
        """Its words."""

    @property
    def state(self) -> str:
        """Where it stands."""


def meant(receipt: Receipt, awaited: Sequence[Awaited]) -> str | None:
    """Return the id of the message that is meant; None when that is not certain."""
    if receipt.user_reference is not None:
        return _only(one for one in awaited if reference_of(one.id) == receipt.user_reference)
    quoted = _plain(receipt.quoted)
    if len(quoted) < ENOUGH_LETTERS:
        return None
    alike = [one for one in awaited if _begins(one.text, quoted)]
    # The same words twice to one phone: the receipt may be that of the one we know has left.
    return alike[0].id if len(alike) == 1 and alike[0].state != "accepted" else None


def _only(found: Iterable[Awaited]) -> str | None:
    ids = [one.id for one in found]
    return ids[0] if len(ids) == 1 else None


def _begins(text: str, quoted: str) -> bool:
    return any(_plain(part).startswith(quoted) for part in split(text))


def _plain(text: str) -> str:
    """The letters and digits that every centre's alphabet agrees on."""
    return "".join(letter for letter in text if letter.isascii() and letter.isalnum())
