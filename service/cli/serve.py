"""`litreline serve`: the web service, with the gateway's address and the handset page."""

from __future__ import annotations

import argparse
import json
import sys
from functools import partial
from threading import Event

from service.cli.groups import Commands, add_command
from service.cli.output import warn
from service.errors import LitrelineError
from service.gateways import is_loopback
from service.settings import Settings
from service.wiring.app import create_app
from service.wiring.build import Service, build
from service.wiring.environment import misspelt_settings, settings_from_environment
from service.wiring.sending import start_sender
from service.wiring.server import serve_app
from service.wiring.smpp import is_smpp


class ServeRefused(LitrelineError):
    """An address that must not be served with these settings."""


def add(commands: Commands) -> None:
    """Add the command."""
    add_command(
        commands,
        "serve",
        run,
        "answer gateways and browsers over HTTP",
        "The database is brought up to date first. Without LITRELINE_GATEWAY_SECRET it serves"
        " this machine only.",
    )


def run(arguments: argparse.Namespace) -> int:
    """Serve until told to stop."""
    settings = settings_from_environment()
    refuse_open_address(settings)
    refuse_many_binds(settings)
    for name in misspelt_settings():
        warn(f"{name} is set but is none of the settings; see docs/settings.md")
    service = build(settings)
    service.database.migrate()
    wake = Event()
    app = create_app(settings, service, wake)
    # Each worker process opens its own connections.
    service.database.close()
    sys.stdout.write(greeting(settings, service))
    sys.stdout.flush()
    sends = settings.send and bool(settings.gateway_url)
    beside = partial(start_sender, settings, service, wake) if sends else None
    serve_app(app, settings, beside)
    return 0


def refuse_open_address(settings: Settings) -> None:
    """Raise ServeRefused when anybody who finds the address could pose as the gateway."""
    if settings.gateway_secret or is_loopback(settings.host):
        return
    raise ServeRefused(
        f"LITRELINE_LISTEN={settings.host}:{settings.port} is open to others, so set"
        " LITRELINE_GATEWAY_SECRET first; without it only 127.0.0.1, ::1 or localhost is served"
    )


def refuse_many_binds(settings: Settings) -> None:
    """Raise ServeRefused when each worker would bind to the operator's centre."""
    if settings.send and is_smpp(settings.gateway_url) and settings.workers > 1:
        raise ServeRefused(
            "one process only may bind to an SMPP centre: set LITRELINE_WORKERS=1, or"
            " LITRELINE_SEND=no and run `litreline send` beside this"
        )


def greeting(settings: Settings, service: Service) -> str:
    """Return what is told at the start: where to look, and a first request to copy."""
    host = f"[{settings.host}]" if ":" in settings.host else settings.host
    base = f"http://{host}:{settings.port}"
    lines = [
        f"Litreline is serving on {base}",
        f"Handset page:    {base}/",
        f"Gateway address: {base}/gateway/ussd, /gateway/sms, /gateway/receipts",
    ]
    if settings.gateway_secret:
        lines.append("Requests to the gateway address must be signed with the gateway secret.")
    else:
        lines += ["Try it from another terminal:", f"  {_curl(base)}"]
    if not settings.gateway_url:
        lines.append("Replies to texts wait in the outbox: LITRELINE_GATEWAY_URL is not set.")
    if service.loaded.notice:
        lines.append(f"Note: {service.loaded.notice}.")
    return "\n".join(lines) + "\n"


def _curl(base: str) -> str:
    body = {
        "session": "try-1",
        "step": 0,
        "from": "+10005550100",
        "service_code": "*100#",
        "input": "",
        "phase": "begin",
    }
    return (
        f"curl -s {base}/gateway/ussd -H 'Content-Type: application/json' -d '{json.dumps(body)}'"
    )
