"""Everything that differs from one operator's centre to another."""

from __future__ import annotations

import ssl
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, tzinfo
from typing import Literal, TypeAlias

from service.gateways.smpp.alphabet import Alphabet
from service.gateways.smpp.codec import Address, BindBody, Pdu, encode
from service.gateways.smpp.codes import Command
from service.gateways.smpp.concatenation import Concatenation
from service.gateways.smpp.times import ValidityForm

Mode: TypeAlias = Literal["transceiver", "transmitter", "receiver"]

MOST_OUTSTANDING = 10
"""Most requests without a response (SMPP 3.4, 2.7, gives ten as a guideline)."""

BIND_COMMANDS = {
    "transceiver": Command.BIND_TRANSCEIVER,
    "transmitter": Command.BIND_TRANSMITTER,
    "receiver": Command.BIND_RECEIVER,
}


@dataclass(frozen=True, slots=True)
class Timers:
    """Time limits [s]. The standard names them (7.2) and gives no values: these are ours."""

    connect: float = 10.0
    bind: float = 10.0
    response: float = 30.0
    quiet: float = 30.0
    """After this long without a PDU from the centre we ask whether it is there."""
    silence: float = 10.0
    """A centre that sends nothing for this long after it was asked is given up."""
    first_wait: float = 1.0
    longest_wait: float = 60.0
    """Waits before the next try to bind double from the first to the longest."""
    steady: float = 60.0
    """A bind that lasted this long makes the next wait the first again."""
    unbind: float = 2.0
    ussd: float = 180.0
    """A dialogue without a step for this long is over."""
    ussd_answer: float = 10.0
    """A screen that cannot leave within this is too late to be seen."""


@dataclass(frozen=True, slots=True)
class Ussd:
    """How this centre carries USSD; `abort_ops` are the operations that tell of an end."""

    service_type: str = "USSD"
    gsm7_coding: int = 0x0F
    ucs2_coding: int = 0x48
    abort_ops: frozenset[int] = frozenset()


def with_plus(number: str) -> str:
    """Read an address as E.164 where it can only be that: digits, without a leading zero."""
    plain = number.removeprefix("+")
    international = plain.isdigit() and plain.isascii() and not plain.startswith("0")
    # Shorter ones are short codes; the longest number has fifteen digits.
    return f"+{plain}" if international and 7 <= len(plain) <= 15 else number


@dataclass(frozen=True, slots=True)
class SmppOptions:
    """One bind. What the operator has not told stays at its default.

    Raises ValueError for a window outside 1 to 10, a rate that is not above 0, or a name or
    password that SMPP has no room for.
    """

    host: str
    port: int
    system_id: str
    password: str = field(repr=False)
    mode: Mode = "transceiver"
    system_type: str = ""
    name: str = "smpp"
    tls: ssl.SSLContext | None = field(default=None, repr=False)
    server_hostname: str | None = None
    sender: str = ""
    short_code_ton: int = 0
    short_code_npi: int = 0
    per_second: float = 10.0
    window: int = MOST_OUTSTANDING
    concatenation: Concatenation = "udh"
    validity: ValidityForm = "relative"
    service_type: str = ""
    gsm7_coding: int = 0
    ucs2_coding: int = 8
    default_alphabet: Alphabet = "gsm7"
    zone: tzinfo = UTC
    """Zone of the clock in the text of receipts."""
    read_number: Callable[[str], str] = field(default=with_plus, repr=False)
    lanes: int = 4
    """Deliveries worked on at the same time, each from another phone."""
    lane_room: int = 200
    """Deliveries that may wait for one lane before the centre is told to come again later."""
    silent_responses: int = 3
    """After so many missing responses in a row the link is given up and bound anew."""
    timers: Timers = Timers()
    ussd: Ussd = Ussd()

    def __post_init__(self) -> None:
        if not 1 <= self.window <= MOST_OUTSTANDING:
            raise ValueError(f"a window of {self.window}: allowed are 1 to {MOST_OUTSTANDING}")
        if not self.per_second > 0:
            raise ValueError(f"{self.per_second} messages a second: it must be more than 0")
        encode(Pdu(self.bind_command, 1, body=self.bind_body))

    def number_of(self, address: Address) -> str:
        """Return the number of a phone as the service knows it, E.164 wherever possible."""
        plus = "+" if address.ton == 1 and not address.number.startswith("+") else ""
        return self.read_number(plus + address.number)

    @property
    def bind_command(self) -> Command:
        """The request that binds in our mode."""
        return BIND_COMMANDS[self.mode]

    @property
    def bind_body(self) -> BindBody:
        """Who we are, as the centre is told."""
        return BindBody(self.system_id, self.password, self.system_type, addresses=Address())
