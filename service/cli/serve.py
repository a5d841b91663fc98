"""`litreline serve`: the web service, with the gateway's address and the handset page."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from threading import Event

from service.cli.groups import Commands, add_command
from service.cli.output import warn
from service.errors import LitrelineError
from service.gateways import is_loopback
from service.settings import Settings
from service.wiring.app import create_app
from service.wiring.build import Service, build
from service.wiring.demo import prepare_demo
from service.wiring.desk import make_jobs_of_desk
from service.wiring.environment import misspelt_settings, settings_from_environment
from service.wiring.logs import set_up_logs
from service.wiring.sending import start_sender
from service.wiring.server import Started, serve_app
from service.wiring.smpp import is_smpp
from service.wiring.working import start_worker


class ServeRefused(LitrelineError):
    """An address that must not be served with these settings."""


def add(commands: Commands) -> None:
    """Add the command."""
    parser = add_command(
        commands,
        "serve",
        run,
        "answer gateways and browsers over HTTP",
        "The database is brought up to date first. Without LITRELINE_GATEWAY_SECRET it serves"
        " this machine only.",
    )
    parser.add_argument(
        "--demo",
        action="store_true",
        help="keep invented farmers and an account per role, with new passwords each time",
    )


def run(arguments: argparse.Namespace) -> int:
    """Serve until told to stop."""
    settings = settings_from_environment()
    set_up_logs(settings.log)
    refuse_open_address(settings)
    refuse_many_binds(settings)
    for name in misspelt_settings():
        warn(f"{name} is set but is none of the settings; see docs/settings.md")
    service = build(settings)
    service.database.migrate()
    wake = Event()
    told = demo_told(settings, service) if arguments.demo else ""
    if arguments.demo:
        # Few callers to wait for it, and nobody starts a second process to try a page.
        settings = replace(settings, work=True)
    app = create_app(settings, service, wake)
    # Each worker process opens its own connections.
    service.database.close()
    sys.stdout.write(greeting(settings, service) + told)
    sys.stdout.flush()
    serve_app(app, settings, beside_answers(settings, service, wake))
    return 0


def beside_answers(settings: Settings, service: Service, wake: Event) -> Started | None:
    """Return what each process starts beside its answers: a sender, a worker, both or nothing."""
    starts: list[Started] = []
    if settings.send and settings.gateway_url:
        starts.append(partial(start_sender, settings, service, wake))
    if settings.work:
        starts.append(partial(start_worker, settings, service))

    def start() -> Callable[[], None]:
        ends = [one() for one in starts]

        def end() -> None:
            for each in ends:
                each()

        return end

    return start if starts else None


def demo_told(settings: Settings, service: Service) -> str:
    """Prepare a trial of the desk; return the names and passwords to tell, this once."""
    if not is_loopback(settings.host) or settings.gateway_url:
        return "Note: no accounts for trying were made, since others can reach this service.\n"
    demo = prepare_demo(service, make_jobs_of_desk(service, settings))
    if demo.why_none:
        return f"Note: {demo.why_none}.\n"
    lines = [f"  {name:10} {password}" for name, password in demo.passwords.items()]
    return "\n".join(["For the desk, until the next start (name, password):", *lines, ""])


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
        f"Desk:            {base}/desk/",
        f"Gateway address: {base}/gateway/ussd, /sms, /calls, /receipts",
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
