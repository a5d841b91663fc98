"""The desk's cookie: who has signed in, since when, and the token of their forms.

It is signed, not secret: an id, a count and moments, never a name or a number.
"""

from __future__ import annotations

import hmac
import secrets
from datetime import UTC, datetime, timedelta

from flask import Flask, request, session
from flask.sessions import SecureCookieSessionInterface

from service.desk.signing_in import Sitting

COOKIE = "litreline_desk"
PATH = "/desk"
IDLE = timedelta(hours=2)
"""After so long without a page somebody signs in again: long calls must fit (our choice)."""
LONGEST = timedelta(hours=12)
"""After so long everybody signs in again: a long day's work (our choice)."""
_STEP = timedelta(minutes=1)
_ID, _EPOCH, _TOKEN, _SINCE, _SEEN = "id", "epoch", "token", "since", "seen"


class DeskCookie(SecureCookieSessionInterface):
    """A cookie of the desk's own, sent to no other page of the site."""

    salt = "litreline-desk"

    def get_cookie_name(self, app: Flask) -> str:
        """Return the name of the cookie."""
        return COOKIE

    def get_cookie_path(self, app: Flask) -> str:
        """Return the only path to which browsers send it."""
        return PATH

    def get_cookie_secure(self, app: Flask) -> bool:
        """Keep the cookie from plain HTTP once it came over HTTPS, or where a setting says so."""
        return bool(app.config["SESSION_COOKIE_SECURE"]) or request.is_secure


def begin(sitting: Sitting, now: datetime) -> None:
    """Put somebody who has just signed in into the cookie, with a new token."""
    session.clear()
    stamp = now.timestamp()
    session.update({_ID: sitting.account_id, _EPOCH: sitting.epoch, _SINCE: stamp, _SEEN: stamp})


def current(now: datetime) -> Sitting | None:
    """Return the sitting of the cookie; None without one and when it is over."""
    try:
        sitting = Sitting(str(session[_ID]), int(session[_EPOCH]))
        since, seen = _moment(session[_SINCE]), _moment(session[_SEEN])
    except (KeyError, TypeError, ValueError):
        return None
    if now - since > LONGEST or now - seen > IDLE:
        return None
    if now - seen > _STEP:
        session[_SEEN] = now.timestamp()
    return sitting


def renew(epoch: int) -> None:
    """Go on after one's own new password, which ends every other sitting."""
    session[_EPOCH] = epoch


def end() -> None:
    """Forget who has signed in; the language stays for the sign-in page."""
    language = session.get("language")
    session.clear()
    if language:
        session["language"] = language


def token() -> str:
    """Return the token that every form of this browser carries."""
    if _TOKEN not in session:
        session[_TOKEN] = secrets.token_urlsafe(16)
    return str(session[_TOKEN])


def is_own(given: str) -> bool:
    """Whether a form carries the token of this browser."""
    kept = str(session.get(_TOKEN, ""))
    return bool(kept) and hmac.compare_digest(given.encode("utf-8"), kept.encode("utf-8"))


def _moment(stamp: object) -> datetime:
    if not isinstance(stamp, (int, float)):
        raise TypeError("no moment")
    return datetime.fromtimestamp(stamp, UTC)
