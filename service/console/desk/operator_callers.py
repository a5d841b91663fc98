"""Finding a caller, and the caller's page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from flask import Blueprint, request, session
from werkzeug.wrappers import Response

from service.advice.crop_names import CROP_NAMES
from service.console.desk import operator_words as words
from service.console.desk.access import or_again, signed_in
from service.console.desk.frame import DeskPages
from service.desk.callers import LEAST_DIGITS, CallerView, Found
from service.desk.refusals import unknown
from service.phrases import Phrase, say
from service.records import Message, Plot
from service.text.languages import LANGUAGES

CALLER = "desk.operator.caller"
FIND = "find"
"""What was looked for last, in the cookie: no address may hold a number or a name."""
LONGEST_FIND = 80


def caller_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the search and the caller's page."""
    callers = desk.jobs.callers

    @pages.get("/find")
    @signed_in("operator", "officer")
    def find() -> tuple[str, int]:
        return _shown(desk, "")

    def asked() -> tuple[str, int]:
        return _shown(desk, _sought())

    @pages.get("/found")
    @signed_in("operator", "officer")
    @or_again(asked)
    def found() -> tuple[str, int] | Response:
        text = _sought()
        lines = _found(desk, text) if text else ()
        if len(lines) == 1:
            return desk.go(CALLER, phone_id=lines[0].phone_id)
        return _shown(desk, text, lines, looked=bool(text))

    @pages.post("/find")
    @signed_in("operator", "officer")
    def look() -> Response:
        session[FIND] = request.form.get("find", "").strip()[:LONGEST_FIND]
        return desk.go("desk.operator.found")

    @pages.post("/callers")
    @signed_in("operator", "officer")
    @or_again(find)
    def add_caller() -> Response:
        number, language = request.form.get("number", ""), request.form.get("language", "")
        chosen = language if language in LANGUAGES else None
        phone = callers.add(desk.account, number, desk.now(), chosen)
        return desk.go(CALLER, phone_id=phone.id)

    @pages.get("/callers/<phone_id>")
    @signed_in("operator", "officer")
    def caller(phone_id: str) -> tuple[str, int]:
        return caller_page(desk, phone_id)


def _sought() -> str:
    return str(session.get(FIND, ""))


def _shown(
    desk: DeskPages, text: str, found: tuple[Found, ...] = (), *, looked: bool = False
) -> tuple[str, int]:
    number = text if _digits(text) >= LEAST_DIGITS else ""
    return desk.page("operator_find.html", sought=text, found=found, looked=looked, number=number)


def _found(desk: DeskPages, text: str) -> tuple[Found, ...]:
    callers, now = desk.jobs.callers, desk.now()
    letters = sum(letter.isalpha() for letter in text)
    look = callers.by_name if letters > _digits(text) else callers.by_number
    return look(desk.account, text, now)


def _digits(text: str) -> int:
    return sum(letter.isdecimal() for letter in text)


def caller_page(desk: DeskPages, phone_id: str) -> tuple[str, int]:
    """Return the caller's page, or the same again with a refusal on it."""
    view = desk.jobs.callers.see(desk.account, phone_id, desk.now())
    return desk.page(
        "operator_caller.html",
        view=view,
        owners=[(one.id, one.name) for one in view.people],
        flows=named_flows(desk.jobs.walking.flows),
        messages=_messages(view),
        mine="operator" in desk.account.roles or "admin" in desk.account.roles,
        **names(desk, view.phone.language),
    )


def names(desk: DeskPages, code: str | None) -> Mapping[str, Any]:
    """Return what the templates call things, and the language of the caller."""
    spoken = code if code is not None and code in LANGUAGES else desk.language
    return {
        "spoken": spoken,
        "draft": is_draft(desk, spoken),
        "flow_names": words.flow_names(),
        "kind_names": words.kind_names(),
        "danger_names": words.danger_names(),
        "ticket_states": words.ticket_states(),
        "message_states": words.message_states(),
        "channel_names": words.channel_names(),
        "told_by_names": words.told_by_names(),
        "district_names": {key: one.name for key, one in desk.tables.districts.items()},
        "crop_names": crop_names(),
    }


def named_flows(flows: Sequence[str]) -> list[tuple[str, Phrase | str]]:
    """Return conversations with their names, in the order of the caller's own main menu."""
    known = words.flow_names()
    others = [(key, key) for key in flows if key not in known]
    return [*((key, name) for key, name in known.items() if key in flows), *others]


def is_draft(desk: DeskPages, code: str) -> bool:
    """Whether no speaker has read the texts of a caller's language yet."""
    return code != "en" and desk.reviewed(code) is None


def crop_names() -> Mapping[str, Phrase]:
    """Return the names of the crops by key."""
    return {key: say(name) for key, (name, _) in CROP_NAMES.items()}


def plot_of(view: CallerView, plot_id: str) -> Plot:
    """Return a plot of a caller. Raises Unknown when it is none of theirs."""
    for plot in view.plots:
        if plot.id == plot_id:
            return plot
    raise unknown()


def seen_plot(desk: DeskPages, phone_id: str, plot_id: str) -> tuple[CallerView, Plot]:
    """Return a caller and one of their plots, as the log then tells."""
    view = desk.jobs.callers.see(desk.account, phone_id, desk.now())
    return view, plot_of(view, plot_id)


@dataclass(frozen=True, slots=True)
class Said:
    """A text that came in or went out, in one list by time."""

    at: datetime
    text: str
    sent: Message | None = None
    """The message to the caller; None for a text of the caller's."""


def _messages(view: CallerView) -> list[Said]:
    came = [Said(one.received_at, one.text) for one in view.came_in]
    went = [Said(one.created_at, one.text, one) for one in view.went_out]
    return sorted((*came, *went), key=lambda said: said.at, reverse=True)
