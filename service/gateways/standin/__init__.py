"""A stand-in for the network: gateway and phones over real HTTP, with faults on request."""

from service.gateways.standin.faults import Faults
from service.gateways.standin.network import Network
from service.gateways.standin.phones import Phones, ServiceSilent
from service.gateways.standin.server import network_server

__all__ = ["Faults", "Network", "Phones", "ServiceSilent", "network_server"]
