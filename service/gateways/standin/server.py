"""The stand-in network as a server of its own, to be run in a thread or a process."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from http.server import ThreadingHTTPServer

from service.gateways.standin.faults import Dice, Faults
from service.gateways.standin.network import Network
from service.gateways.standin.phones import Phones, ReceiptQueue
from service.gateways.standin.web import Handler, Switchboard


class _Server(ThreadingHTTPServer):
    """A thread for each connection; none outlives the process."""

    daemon_threads = True
    # Whoever plays a thousand phones opens many connections at once.
    request_queue_size = 256

    def handle_error(self, request: object, client_address: object) -> None:
        """A connection broke: the other side, or a fault of ours on purpose."""


@dataclass
class NetworkServer:
    """A network that can be started, played with and stopped."""

    network: Network
    phones: Phones
    receipts: ReceiptQueue | None
    _host: str
    _server: ThreadingHTTPServer
    _thread: threading.Thread | None = None

    @property
    def url(self) -> str:
        """Where the service finds it."""
        return f"http://{self._host}:{self._server.server_port}"

    def start(self) -> None:
        """Answer in a thread."""
        self._thread = threading.Thread(target=self.serve, name="network", daemon=True)
        self._thread.start()

    def serve(self) -> None:
        """Answer until stopped."""
        self._server.serve_forever(0.1)

    def stop(self) -> None:
        """Stop answering."""
        self._server.shutdown()
        if self._thread is not None:
            self._thread.join(5)
        self._server.server_close()
        if self.receipts is not None:
            self.receipts.close()


def network_server(
    service_url: str,
    *,
    clock: Callable[[], datetime],
    secret: str = "",
    faults: Faults | None = None,
    receipts: bool = True,
    host: str = "127.0.0.1",
    port: int = 0,
    told: Callable[[str, str], None] = lambda number, text: None,
) -> NetworkServer:
    """Return a network that speaks to the service at an address.

    `told` is called with the number and the words of each text that reaches a phone.
    """
    faults = faults or Faults()
    dice = Dice(faults)
    phones = Phones(service_url.rstrip("/"), secret, dice, clock)
    queue = ReceiptQueue(phones, faults.delay_s) if receipts else None

    def delivered(message_id: str, number: str, text: str) -> None:
        told(number, text)
        if queue is not None:
            queue.put(message_id)

    network = Network(delivered)
    board = Switchboard(network, phones, dice, faults, secret, clock)
    handler = type("NetworkHandler", (Handler,), {"board": board})
    return NetworkServer(network, phones, queue, host, _Server((host, port), handler))
