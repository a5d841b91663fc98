"""`litreline network`: play gateway and phones, to try the service without an operator."""

from __future__ import annotations

import argparse
import re
import signal
import sys
import threading

import requests

from service.cli.groups import Commands, add_command
from service.cli.output import tell
from service.errors import LitrelineError
from service.gateways import is_loopback
from service.gateways.standin import Faults, Phones, ServiceSilent, network_server
from service.settings import Settings
from service.wiring.environment import settings_from_environment, utc_now

_HELP = """dial [*100#]   begin a call; then every line is an answer
hang           hang up
sms WORDS      send a text
ring           ring once, to be called back
phone NUMBER   be another phone
quit           end"""


class NetworkRefused(LitrelineError):
    """An address or rate that cannot be used."""


def add(commands: Commands) -> None:
    """Add the command."""
    parser = add_command(
        commands,
        "network",
        run,
        "play the operator's gateway and a phone",
        "Start it, then `litreline serve` with LITRELINE_GATEWAY_URL set to its address. On a"
        " terminal it is a phone: type help.",
    )
    parser.add_argument(
        "--listen", default="127.0.0.1:9100", metavar="ADDRESS:PORT", help="an address of this"
        " machine (default: 127.0.0.1:9100)",
    )  # fmt: skip
    parser.add_argument("--service", metavar="URL", help="where the service answers")
    parser.add_argument(
        "--phone", default="+10005550100", metavar="NUMBER", help="the phone you are on a terminal"
    )
    parser.add_argument(
        "--delay", type=float, default=0.0, metavar="SECONDS", help="how long each message takes"
    )
    for name, meaning in _RATES.items():
        parser.add_argument(f"--{name}", type=_rate, default=0.0, metavar="RATE", help=meaning)
    parser.add_argument("--stall", type=float, default=0.0, metavar="SECONDS", help=_STALL)
    parser.add_argument("--seed", type=int, default=1, help="the same seed, the same faults")
    parser.add_argument("--no-receipts", action="store_true", help="tell no deliveries")


_STALL = "how long a connection without an answer stays open"
_RATES = {
    "loss": "share of texts that go nowhere, without an answer",
    "error-503": "share of texts refused for now",
    "duplicate": "share of messages and receipts that reach the service twice",
    "timeout-after-delivery": "share of texts delivered without an answer",
}


def _rate(text: str) -> float:
    rate = float(text)
    if not 0 <= rate <= 1:
        raise argparse.ArgumentTypeError("a rate is from 0 to 1, such as 0.05")
    return rate


def run(arguments: argparse.Namespace) -> int:
    """Serve until told to stop."""
    settings = settings_from_environment()
    host, port = _address(arguments.listen)
    server = network_server(
        arguments.service or _service_url(settings),
        clock=utc_now,
        secret=settings.gateway_secret,
        faults=_faults(arguments),
        receipts=not arguments.no_receipts,
        host=host,
        port=port,
        told=lambda number, text: tell(f"[text to {number}]\n{text}\n"),
    )
    server.start()
    tell(f"Network on {server.url}: set LITRELINE_GATEWAY_URL={server.url}")
    sys.stdout.flush()
    if sys.stdin.isatty():
        _play(server.phones, arguments.phone)
    else:
        _wait()
    server.stop()
    for name, number in sorted(server.network.summary().items()):
        tell(f"{name}: {number}")
    return 0


def _faults(arguments: argparse.Namespace) -> Faults:
    return Faults(
        delay_s=arguments.delay,
        loss=arguments.loss,
        error_503=arguments.error_503,
        duplicate=arguments.duplicate,
        timeout_after_delivery=arguments.timeout_after_delivery,
        stall_s=arguments.stall,
        seed=arguments.seed,
    )


def _address(value: str) -> tuple[str, int]:
    match = re.fullmatch(r"([^:\s]+):(\d{1,5})", value)
    if match is None or not is_loopback(match[1]):
        # Anybody who reaches it could play any phone.
        raise NetworkRefused(
            f"--listen {value}: an address of this machine, such as 127.0.0.1:9100"
        )
    return match[1], int(match[2])


def _service_url(settings: Settings) -> str:
    host = f"[{settings.host}]" if ":" in settings.host else settings.host
    return f"http://{host}:{settings.port}"


def _wait() -> None:
    told = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: told.set())
    told.wait()


def _play(phones: Phones, number: str) -> None:
    """Take lines until the end of input."""
    tell(_HELP)
    while True:
        try:
            line = input(f"{number}> ").strip()
        except (EOFError, KeyboardInterrupt):
            return
        word, _, rest = line.partition(" ")
        if word == "quit":
            return
        if word == "phone" and rest:
            number = rest
            continue
        try:
            tell(_played(phones, number, line, word, rest))
        except (ServiceSilent, requests.RequestException) as error:
            tell(f"the service: {error}")


def _played(phones: Phones, number: str, line: str, word: str, rest: str) -> str:
    if word == "sms":
        return f"sent {phones.text(number, rest)}"
    if line == "ring":
        return f"rang {phones.ring(number)}"
    if word == "dial":
        return str(phones.dial(number, rest or "*100#")["text"])
    if word == "hang":
        phones.hang_up(number)
        return "hung up"
    if number in phones.calls:
        return str(phones.answer(number, line)["text"])
    return _HELP
