"""The stream to the centre."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Awaitable, Callable
from typing import Protocol, TypeAlias

from service.gateways.smpp.options import SmppOptions

_CLOSING_S = 1.0
_READ_OCTETS = 65_536


class Wire(Protocol):
    """Octets both ways. Losing the connection raises OSError from any of these."""

    async def read(self) -> bytes:
        """Return what came; nothing at the end."""

    def write(self, octets: bytes) -> None:
        """Send, without waiting for it."""

    async def drain(self) -> None:
        """Wait while the other side does not take what we write."""

    async def shut(self) -> None:
        """Close, and do not wait long for it."""


Connect: TypeAlias = Callable[[], Awaitable[Wire]]


class SocketWire:
    """A TCP connection, with or without TLS."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._reader, self._writer = reader, writer

    async def read(self) -> bytes:
        """Return what came; nothing at the end."""
        return await self._reader.read(_READ_OCTETS)

    def write(self, octets: bytes) -> None:
        """Send, without waiting for it."""
        self._writer.write(octets)

    async def drain(self) -> None:
        """Wait while the other side does not take what we write."""
        await self._writer.drain()

    async def shut(self) -> None:
        """Close; what a dead peer does not take within a second is thrown away."""
        self._writer.close()
        with contextlib.suppress(OSError, TimeoutError):
            async with asyncio.timeout(_CLOSING_S):
                await self._writer.wait_closed()
        self._writer.transport.abort()


def connector(options: SmppOptions) -> Connect:
    """Return what connects to the centre of these options."""

    async def connect() -> Wire:
        streams = await asyncio.open_connection(
            options.host,
            options.port,
            ssl=options.tls,
            server_hostname=options.server_hostname if options.tls else None,
        )
        return SocketWire(*streams)

    return connect
