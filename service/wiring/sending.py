"""The sender as a process or a thread: made from the settings, and its loop."""

from __future__ import annotations

import logging
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from threading import Event, Thread

from service.channels import Bucket, Gateway, Judge, Sender
from service.channels.sender import WINDOW
from service.errors import LitrelineError
from service.gateways import HttpGateway
from service.settings import SettingError, Settings
from service.storage import DATABASE_FAULTS
from service.wiring import smpp
from service.wiring.build import Service
from service.wiring.keys import new_id
from service.wiring.places import make_places
from service.wiring.smpp import SmppCarrier, is_smpp, smpp_options, start_smpp

POLL_S = 0.5
"""How long the outbox is left alone when nothing was in it [s]."""
FAULT_WAIT_S = 5.0
"""How long to wait after the database failed [s]."""
OVERDUE_EVERY_S = 30.0
"""How often long texts are looked for whose other parts never came [s]."""

log = logging.getLogger("litreline.sender")


@dataclass(frozen=True)
class Carrier:
    """A gateway ready to send, and how it wants to be used. `stop` ends what was started for it."""

    gateway: Gateway
    lanes: int
    window: int
    lease: timedelta
    stop: Callable[[], None] = lambda: None


def make_carrier(settings: Settings, service: Service) -> Carrier:
    """Return the gateway that the settings name; an SMPP centre is bound to at once.

    Raises SettingError when none is set.
    """
    if not settings.gateway_url:
        raise SettingError("LITRELINE_GATEWAY_URL", "", "the address of the gateway")
    if is_smpp(settings.gateway_url):
        bound = start_smpp(settings, service)
        # A doubt costs more here than over HTTP: few at a time, and long leases.
        response = smpp_options(settings).timers.response
        lease = max(settings.lease, smpp.lease(response))
        carrier = SmppCarrier(bound, smpp.begin_within(response))
        return Carrier(carrier, smpp.WINDOW, smpp.WINDOW, lease, bound.stop)
    # An answer later than half a lease would come when another sender has the message.
    wait = settings.lease.total_seconds() / 4
    gateway = HttpGateway(settings.gateway_url, settings.gateway_secret, (wait / 3, wait))
    return Carrier(gateway, settings.gateway_lanes, WINDOW, settings.lease)


def make_sender(settings: Settings, service: Service, carrier: Carrier) -> Sender:
    """Return the sender that the settings describe."""
    places = make_places(settings)
    judge = Judge(
        places.hours(),
        secrets.SystemRandom().random,
        carrier.gateway.repeatable,
        settings.retry_seconds,
        settings.settle,
        hours_of=places.hours_of,
    )
    return Sender(
        unit_of_work=service.database.unit_of_work,
        gateway=carrier.gateway,
        judge=judge,
        bucket=Bucket(settings.gateway_rate, time.monotonic()),
        new_id=new_id,
        clock=service.clock,
        seconds=time.monotonic,
        lanes=carrier.lanes,
        window=carrier.window,
        lease=carrier.lease,
    )


@dataclass
class SenderLoop:
    """Sends until told to stop. `wake` ends a pause early."""

    sender: Sender
    service: Service
    carrier: Carrier
    wake: Event
    stop: Event
    _alerted: str = ""
    _next_overdue: float = 0.0

    def run(self) -> None:
        """Send until told to stop; a database that fails is tried again."""
        while not self.stop.is_set():
            try:
                wait = self.step()
            except (*DATABASE_FAULTS, LitrelineError) as error:
                # Only the kind of fault: the words of a driver may carry a number.
                log.error("sending failed, trying again: %s", type(error).__name__)
                wait = FAULT_WAIT_S
            if wait and not self.stop.is_set():
                self.wake.wait(wait)
                self.wake.clear()
        self.close()

    def close(self) -> None:
        """End what was started for sending."""
        self.sender.close()
        self.carrier.stop()

    def step(self) -> float:
        """Do one round and return how long to pause after it [s]."""
        self._answer_incomplete()
        done = self.sender.once()
        if done.alert != self._alerted:
            self._alerted = done.alert
            if done.alert:
                log.error("the gateway takes nothing from us: %s", done.alert)
        return done.wait_s or (0.0 if done.handled else POLL_S)

    def _answer_incomplete(self) -> None:
        if time.monotonic() >= self._next_overdue:
            self._next_overdue = time.monotonic() + OVERDUE_EVERY_S
            self.service.texts.take_overdue(self.service.clock())


def make_loop(settings: Settings, service: Service, wake: Event, stop: Event) -> SenderLoop:
    """Return the loop that the settings describe. Raises SettingError."""
    carrier = make_carrier(settings, service)
    return SenderLoop(make_sender(settings, service, carrier), service, carrier, wake, stop)


def start_sender(settings: Settings, service: Service, wake: Event) -> Callable[[], None]:
    """Start the sender in a thread of this process; return what stops it."""
    stop = Event()
    loop = make_loop(settings, service, wake, stop)
    thread = Thread(target=loop.run, name="sender", daemon=True)
    thread.start()

    def end() -> None:
        stop.set()
        wake.set()
        thread.join(2)

    return end
