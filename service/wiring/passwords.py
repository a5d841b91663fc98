"""Passwords hashed with Argon2id, the parameters kept beside each hash."""

from __future__ import annotations

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError


class Argon2:
    """Hashes by RFC 9106's second recommended option unless told otherwise."""

    def __init__(self, hasher: PasswordHasher | None = None) -> None:
        self._hasher = hasher or PasswordHasher()

    def hash(self, password: str) -> str:
        """Return what is kept of a password."""
        return self._hasher.hash(_octets(password))

    def verify(self, kept: str, password: str) -> bool:
        """Whether a password is the one that was kept."""
        try:
            return self._hasher.verify(kept, _octets(password))
        except (VerificationError, InvalidHashError):
            return False

    def stale(self, kept: str) -> bool:
        """Whether it was hashed with other parameters than today's."""
        return self._hasher.check_needs_rehash(kept)


def _octets(password: str) -> bytes:
    # Half a character, as a broken form may send, must not raise at whoever signs in.
    return password.encode("utf-8", "surrogatepass")
