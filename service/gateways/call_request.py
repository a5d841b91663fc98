"""What a gateway sends for a call that rang and was not answered."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from service.channels import MissedCall
from service.gateways.body import Allowed, At, Body, MessageId, Number, read_body
from service.gateways.sms_request import GATEWAY


class CallRequest(Body):
    """The body of `POST /gateway/calls`."""

    id: MessageId
    number: Annotated[Number, Field(alias="from")]
    to: Annotated[str, Field(max_length=32, pattern=r"^[ -~]*$")]
    at: At

    def missed(self) -> MissedCall:
        """Return the request as the channels take it."""
        return MissedCall(GATEWAY, self.id, self.number, self.to, self.at)


ALLOWED: dict[str, Allowed] = {
    "id": Allowed("your own id of the call, 1 to 80 letters without spaces", "c-81f3"),
    "from": Allowed("the caller's number: + and 4 to 15 digits", "+10005550100"),
    "to": Allowed("the number that was called, at most 32 plain letters", "+10005550199"),
    "at": Allowed("a time of this century with its zone", "2026-07-01T09:30:00Z"),
}


def read_call_request(body: bytes, region: str = "") -> CallRequest:
    """Read a call. Raises BadRequest with every problem found."""
    return read_body(CallRequest, ALLOWED, body, region)
