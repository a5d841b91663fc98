"""What a USSD gateway sends."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from service.channels import Incoming
from service.gateways.body import Allowed, Body, Number, read_body


class UssdRequest(Body):
    """The body of `POST /gateway/ussd`."""

    session: Annotated[str, Field(min_length=1, max_length=128, pattern=r"^[!-~]+$")]
    step: Annotated[int, Field(ge=0, le=1_000_000)]
    number: Annotated[Number, Field(alias="from")]
    service_code: Annotated[str, Field(max_length=32)] = ""
    input: Annotated[str, Field(max_length=182)] = ""
    phase: Literal["begin", "continue", "abort"]

    def incoming(self) -> Incoming:
        """Return the request as the channels take it."""
        return Incoming(
            channel="ussd",
            number=self.number,
            gateway_session=self.session,
            step=self.step,
            text=self.input,
            phase=self.phase,
            service_code=self.service_code,
        )


ALLOWED: dict[str, Allowed] = {
    "session": Allowed("1 to 128 letters without spaces, the same through one session", "a81f3"),
    "step": Allowed("a whole number: 0 at begin, one more with each answer", 0),
    "from": Allowed("the caller's number: + and 4 to 15 digits", "+10005550100"),
    "service_code": Allowed("the code dialled, at most 32 letters", "*123#"),
    "input": Allowed("what the caller sent, at most 182 letters", "25"),
    "phase": Allowed("one of begin, continue, abort", "begin"),
}


def read_ussd_request(body: bytes, region: str = "") -> UssdRequest:
    """Read the body of a request. Raises BadRequest with every problem found."""
    return read_body(UssdRequest, ALLOWED, body, region)
