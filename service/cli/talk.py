"""`litreline talk`: hold a conversation in the terminal, or with answers from standard input."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import replace

from service.channels import Incoming, Reply, cost_of
from service.cli.groups import Commands, add_command
from service.cli.output import tell, warn
from service.text.languages import LANGUAGES
from service.wiring.build import Service, build
from service.wiring.environment import settings_from_environment
from service.wiring.keys import new_id

CHANNEL = "terminal"


def add(commands: Commands) -> None:
    """Add the command."""
    parser = add_command(
        commands,
        "talk",
        run,
        "hold a conversation here, as by phone",
        "On a terminal it asks; otherwise each line of standard input is one answer. After each"
        " screen stands how much of one message it takes. What you say is kept under the name of"
        " the phone, so a conversation broken off is offered again.",
    )
    parser.add_argument(
        "--language", choices=sorted(LANGUAGES), help="speak this language from the first screen"
    )
    parser.add_argument(
        "--phone", default="me", metavar="NAME", help="a name for the phone (default: me)"
    )
    parser.add_argument("--database", metavar="URL", help="where the conversation is kept")


def run(arguments: argparse.Namespace) -> int:
    """Hold one conversation until it or the input ends."""
    settings = settings_from_environment()
    if arguments.database:
        settings = replace(settings, database_url=arguments.database)
    service = build(settings)
    service.database.migrate()
    if service.loaded.notice:
        warn(service.loaded.notice)
    call = _Call(service, arguments.phone, arguments.language)
    try:
        _talk(call, _typed() if sys.stdin.isatty() else _piped())
    finally:
        service.database.close()
    return 0


class _Call:
    """One call from the terminal: counts its steps."""

    def __init__(self, service: Service, phone: str, language: str | None) -> None:
        self._service, self._step = service, -1
        self._begin = Incoming(
            channel=CHANNEL,
            number=f"{CHANNEL}:{phone}",
            gateway_session=new_id(),
            step=0,
            phase="begin",
            language=language,
        )

    def send(self, text: str) -> Reply:
        """Send the next text of the call and return the next screen."""
        self._step += 1
        begins = self._step == 0
        incoming = replace(
            self._begin,
            step=self._step,
            text=text,
            phase="begin" if begins else "continue",
            language=self._begin.language if begins else None,
        )
        return self._service.turns.take(incoming, self._service.clock())


def _talk(call: _Call, answers: Iterator[str]) -> None:
    reply = call.send("")
    _show(reply)
    while reply.more:
        answer = next(answers, None)
        if answer is None:
            return
        reply = call.send(answer)
        _show(reply)


def _show(reply: Reply) -> None:
    cost = cost_of(reply.text)
    tell(f"{reply.text}\n[{cost.units} of {cost.room}]\n")


def _typed() -> Iterator[str]:
    """Yield what is typed at a prompt until the end of input."""
    while True:
        try:
            yield input("> ")
        except EOFError:
            tell("")
            return


def _piped() -> Iterator[str]:
    """Yield the lines of standard input, repeating each as it is used."""
    for line in sys.stdin:
        answer = line.rstrip("\r\n")
        tell(f"> {answer}")
        yield answer
