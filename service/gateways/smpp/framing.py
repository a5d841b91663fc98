"""PDUs out of a stream that may be cut anywhere."""

from __future__ import annotations

from collections.abc import Iterator

from service.gateways.smpp.codec import HEADER_OCTETS
from service.gateways.smpp.ports import SmppError

MOST_OCTETS = 0x11000
"""Longest PDU taken: a payload of 64 K and room for all other fields."""


class OutOfStep(SmppError):
    """A length that no PDU has: from here on nothing in the stream can be trusted."""


class Framer:
    """Holds the beginning of a PDU until the rest has come."""

    def __init__(self, most: int = MOST_OCTETS) -> None:
        self._held, self._most = bytearray(), most

    def feed(self, octets: bytes) -> Iterator[bytes]:
        """Take what came and yield each PDU that is whole.

        Raises OutOfStep on a length below a header's or above the limit. Whatever the iterator
        was not asked for stays held.
        """
        self._held += octets
        while (length := self._next_length()) and length <= len(self._held):
            whole = bytes(self._held[:length])
            del self._held[:length]
            yield whole

    def _next_length(self) -> int:
        if len(self._held) < 4:
            return 0
        length = int.from_bytes(self._held[:4], "big")
        if not HEADER_OCTETS <= length <= self._most:
            raise OutOfStep(f"command_length {length} is outside {HEADER_OCTETS}..{self._most}")
        return length
