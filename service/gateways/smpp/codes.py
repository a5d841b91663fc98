"""The numbers of SMPP: commands, status codes, tags, and what a status asks us to do.

SMPP v3.4 Issue 1.2 (5.1.2 to 5.1.3, 5.3.1, 5.3.2) and the status codes added by v5.0 (4.7.6).
What to do on a status is our own judgement.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import IntEnum
from typing import Literal, TypeAlias

RESPONSE_BIT = 0x80000000
INTERFACE_VERSION = 0x34


class Command(IntEnum):
    """Requests; a response carries the same number with the highest bit set."""

    BIND_RECEIVER = 0x01
    BIND_TRANSMITTER = 0x02
    SUBMIT_SM = 0x04
    DELIVER_SM = 0x05
    UNBIND = 0x06
    BIND_TRANSCEIVER = 0x09
    OUTBIND = 0x0B
    ENQUIRE_LINK = 0x15
    ALERT_NOTIFICATION = 0x102
    GENERIC_NACK = 0x80000000

    @property
    def response(self) -> int:
        """Number of the response to this request."""
        return self | RESPONSE_BIT


class Tag(IntEnum):
    """Optional parameters that we read or write; any other is carried along untouched."""

    RECEIPTED_MESSAGE_ID = 0x001E
    USER_MESSAGE_REFERENCE = 0x0204
    SAR_MSG_REF_NUM = 0x020C
    SAR_TOTAL_SEGMENTS = 0x020E
    SAR_SEGMENT_SEQNUM = 0x020F
    SC_INTERFACE_VERSION = 0x0210
    NETWORK_ERROR_CODE = 0x0423
    MESSAGE_PAYLOAD = 0x0424
    DELIVERY_FAILURE_REASON = 0x0425
    MORE_MESSAGES_TO_SEND = 0x0426
    MESSAGE_STATE = 0x0427
    CONGESTION_STATE_V50 = 0x0428
    USSD_SERVICE_OP = 0x0501
    ITS_SESSION_INFO = 0x1383


class Status(IntEnum):
    """command_status; a centre may also send numbers of its own."""

    ESME_ROK = 0x00
    ESME_RINVMSGLEN = 0x01
    ESME_RINVCMDLEN = 0x02
    ESME_RINVCMDID = 0x03
    ESME_RINVBNDSTS = 0x04
    ESME_RALYBND = 0x05
    ESME_RINVPRTFLG = 0x06
    ESME_RINVREGDLVFLG = 0x07
    ESME_RSYSERR = 0x08
    ESME_RINVSRCADR = 0x0A
    ESME_RINVDSTADR = 0x0B
    ESME_RINVMSGID = 0x0C
    ESME_RBINDFAIL = 0x0D
    ESME_RINVPASWD = 0x0E
    ESME_RINVSYSID = 0x0F
    ESME_RCANCELFAIL = 0x11
    ESME_RREPLACEFAIL = 0x13
    ESME_RMSGQFUL = 0x14
    ESME_RINVSERTYP = 0x15
    ESME_RINVNUMDESTS = 0x33
    ESME_RINVDLNAME = 0x34
    ESME_RINVDESTFLAG = 0x40
    ESME_RINVSUBREP = 0x42
    ESME_RINVESMCLASS = 0x43
    ESME_RCNTSUBDL = 0x44
    ESME_RSUBMITFAIL = 0x45
    ESME_RINVSRCTON = 0x48
    ESME_RINVSRCNPI = 0x49
    ESME_RINVDSTTON = 0x50
    ESME_RINVDSTNPI = 0x51
    ESME_RINVSYSTYP = 0x53
    ESME_RINVREPFLAG = 0x54
    ESME_RINVNUMMSGS = 0x55
    ESME_RTHROTTLED = 0x58
    ESME_RINVSCHED = 0x61
    ESME_RINVEXPIRY = 0x62
    ESME_RINVDFTMSGID = 0x63
    ESME_RX_T_APPN = 0x64
    ESME_RX_P_APPN = 0x65
    ESME_RX_R_APPN = 0x66
    ESME_RQUERYFAIL = 0x67
    ESME_RINVOPTPARSTREAM = 0xC0
    ESME_ROPTPARNOTALLWD = 0xC1
    ESME_RINVPARLEN = 0xC2
    ESME_RMISSINGOPTPARAM = 0xC3
    ESME_RINVOPTPARAMVAL = 0xC4
    ESME_RDELIVERYFAILURE = 0xFE
    ESME_RUNKNOWNERR = 0xFF
    ESME_RSERTYPUNAUTH = 0x100
    ESME_RPROHIBITED = 0x101
    ESME_RSERTYPUNAVAIL = 0x102
    ESME_RSERTYPDENIED = 0x103
    ESME_RINVDCS = 0x104
    ESME_RINVSRCADDRSUBUNIT = 0x105
    ESME_RINVDSTADDRSUBUNIT = 0x106


Action: TypeAlias = Literal[
    "throttle",
    "retry_later",
    "rebind",
    "stop_and_alert",
    "fail_this_recipient",
    "retry_few_then_fail",
    "bug_in_our_request",
]

ACTIONS: Mapping[Action, tuple[Status, ...]] = {
    "throttle": (Status.ESME_RTHROTTLED, Status.ESME_RMSGQFUL),
    "retry_later": (
        Status.ESME_RSYSERR,
        Status.ESME_RX_T_APPN,
        Status.ESME_RUNKNOWNERR,
        Status.ESME_RSERTYPUNAVAIL,
    ),
    "rebind": (Status.ESME_RINVBNDSTS, Status.ESME_RALYBND),
    "stop_and_alert": (
        Status.ESME_RBINDFAIL,
        Status.ESME_RINVPASWD,
        Status.ESME_RINVSYSID,
        Status.ESME_RINVSYSTYP,
        Status.ESME_RINVSERTYP,
        Status.ESME_RSERTYPUNAUTH,
        Status.ESME_RSERTYPDENIED,
        Status.ESME_RPROHIBITED,
        Status.ESME_RINVSRCADR,
        Status.ESME_RINVSRCTON,
        Status.ESME_RINVSRCNPI,
    ),
    "fail_this_recipient": (
        Status.ESME_RINVDSTADR,
        Status.ESME_RINVDSTTON,
        Status.ESME_RINVDSTNPI,
        Status.ESME_RX_P_APPN,
        Status.ESME_RX_R_APPN,
        Status.ESME_RDELIVERYFAILURE,
    ),
    "retry_few_then_fail": (Status.ESME_RSUBMITFAIL,),
    "bug_in_our_request": (
        Status.ESME_RINVMSGLEN,
        Status.ESME_RINVCMDLEN,
        Status.ESME_RINVCMDID,
        Status.ESME_RINVPRTFLG,
        Status.ESME_RINVREGDLVFLG,
        Status.ESME_RINVESMCLASS,
        Status.ESME_RINVREPFLAG,
        Status.ESME_RINVSCHED,
        Status.ESME_RINVEXPIRY,
        Status.ESME_RINVDFTMSGID,
        Status.ESME_RINVOPTPARSTREAM,
        Status.ESME_ROPTPARNOTALLWD,
        Status.ESME_RINVPARLEN,
        Status.ESME_RMISSINGOPTPARAM,
        Status.ESME_RINVOPTPARAMVAL,
        Status.ESME_RINVDCS,
    ),
}
_ACTION_OF: Mapping[int, Action] = {
    status: action for action, statuses in ACTIONS.items() for status in statuses
}


def action_of(status: int) -> Action:
    """What a refusal asks us to do; one that no list names may pass, so it is tried again."""
    return _ACTION_OF.get(status, "retry_few_then_fail")


def status_name(status: int) -> str:
    """Name of a status, or its number in hexadecimal where the centre invented it."""
    try:
        return Status(status).name
    except ValueError:
        return f"0x{status:X}"
