"""Whether somebody who calls is this machine itself."""

from __future__ import annotations

import ipaddress
from functools import lru_cache

from service.gateways.headers import Headers

# A proxy on this machine calls from loopback for somebody who is not here, and says so in one of
# these; a page in a browser that was led to our address says where it comes from in Origin.
_FOR_SOMEBODY_ELSE = ("Forwarded", "X-Forwarded-For", "X-Real-Ip", "Origin")


@lru_cache(maxsize=1024)
def is_loopback(host: str | None) -> bool:
    """Whether an address or host name means this machine only."""
    if host == "localhost":
        return True
    try:
        address = ipaddress.ip_address((host or "").strip("[]"))
    except ValueError:
        return False
    mapped = getattr(address, "ipv4_mapped", None)
    return (mapped or address).is_loopback


def is_local_call(peer: str | None, headers: Headers) -> bool:
    """Whether a request comes from a program on this machine, and on nobody else's behalf.

    The Host header must be loopback too: a name that an attacker points here is not.
    """
    host = headers.get("Host", "")
    name = host if host.endswith("]") else host.rpartition(":")[0] or host
    elsewhere = any(header in headers for header in _FOR_SOMEBODY_ELSE)
    return is_loopback(peer) and is_loopback(name) and not elsewhere
