"""What a gateway sends for a text message, and for what became of one of ours."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from service.channels import IncomingText
from service.gateways.body import Allowed, At, Body, MessageId, Number, read_body
from service.records import ReceiptState

GATEWAY = "http"
LONGEST = 1600
"""Most letters of a text: ten parts and some."""


class SmsRequest(Body):
    """The body of `POST /gateway/sms`: a text, or one part of a long one."""

    id: MessageId
    number: Annotated[Number, Field(alias="from")]
    to: Annotated[str, Field(max_length=32, pattern=r"^[ -~]*$")]
    text: Annotated[str, Field(max_length=LONGEST)]
    received_at: At | None = None
    ref: Annotated[int | None, Field(ge=0, le=65_535)] = None
    part: Annotated[int, Field(ge=1, le=255)] = 1
    parts: Annotated[int, Field(ge=1, le=255)] = 1

    @model_validator(mode="after")
    def _parts_fit(self) -> Self:
        if self.part > self.parts or (self.parts > 1 and self.ref is None):
            raise ValueError("part")
        return self

    def incoming(self) -> IncomingText:
        """Return the request as the channels take it."""
        return IncomingText(
            gateway=GATEWAY,
            id=self.id,
            number=self.number,
            recipient=self.to,
            text=self.text,
            reference=self.ref,
            part=self.part,
            parts=self.parts,
        )


SMS_ALLOWED: dict[str, Allowed] = {
    "id": Allowed("your own id of the message, 1 to 80 letters without spaces", "m-81f3"),
    "from": Allowed("the sender's number: + and 4 to 15 digits", "+10005550100"),
    "to": Allowed("the number or code it was sent to, at most 32 plain letters", "12345"),
    "text": Allowed(f"the words, at most {LONGEST} letters", "20 15 tomato 500"),
    "received_at": Allowed("a time of this century with its zone", "2026-07-01T09:30:00Z"),
    "ref": Allowed("the reference of a long text, 0 to 65535", 7),
    "part": Allowed("which part this is, 1 to 255", 1),
    "parts": Allowed("how many parts there are, 1 to 255", 1),
}


class ReceiptRequest(Body):
    """The body of `POST /gateway/receipts`."""

    id: MessageId
    state: ReceiptState
    at: At


RECEIPT_ALLOWED: dict[str, Allowed] = {
    "id": Allowed("the id under which we sent the message", "0f3a"),
    "state": Allowed("one of accepted, delivered, expired, failed", "delivered"),
    "at": Allowed("a time of this century with its zone", "2026-07-01T09:30:00Z"),
}


def read_sms_request(body: bytes, region: str = "") -> SmsRequest:
    """Read a text. Raises BadRequest with every problem found."""
    return read_body(SmsRequest, SMS_ALLOWED, body, region)


def read_receipt_request(body: bytes) -> ReceiptRequest:
    """Read a receipt. Raises BadRequest with every problem found."""
    return read_body(ReceiptRequest, RECEIPT_ALLOWED, body)
