"""How messages reach and leave us: over HTTP, by a network operator's SMPP, or recorded."""

from service.gateways.http import Inlet, gateway_blueprint
from service.gateways.loopback import is_local_call, is_loopback
from service.gateways.outbound import HttpGateway
from service.gateways.recorded import RecordedGateway
from service.gateways.signing import check_signature, signed_headers

__all__ = [
    "HttpGateway",
    "Inlet",
    "RecordedGateway",
    "check_signature",
    "gateway_blueprint",
    "is_local_call",
    "is_loopback",
    "signed_headers",
]
