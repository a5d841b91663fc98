"""Seasonal messages: written, looked at on real recipients, tested, approved by a second person."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.console.desk import officer_words as words
from service.console.desk.access import or_again, signed_in, takes_files
from service.console.desk.frame import DeskPages
from service.console.desk.officer_common import (
    crop_choices,
    district_choices,
    names,
    stage_names,
)
from service.console.desk.watch_words import state_words
from service.desk.office import limited
from service.desk.refusals import DeskRefused, unknown
from service.outreach import LEFT_OUT
from service.outreach.seasonal_texts import LONGEST, MOST_PARTS
from service.phrases import say
from service.records import Audience, SeasonalMessage
from service.text.languages import LANGUAGES

ONE, LIST = "desk.officer.seasonal_message", "desk.officer.seasonal"
MOST_SENT = 256 * 1024
"""Texts in ten languages, percent-encoded by the browser, are longer than other forms [octets]."""
SHOWN = 5


def seasonal_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the pages on which a message is prepared."""
    _list(desk, pages)
    _writing(desk, pages)
    _looking(desk, pages)
    _second_eyes(desk, pages)


def _list(desk: DeskPages, pages: Blueprint) -> None:
    @pages.get("/seasonal")
    @signed_in("officer")
    def seasonal() -> tuple[str, int]:
        return desk.page(
            "officer_seasonal.html",
            messages=desk.jobs.drafts.all(desk.account),
            states=words.seasonal_states(),
            **names(desk),
        )


def _writing(desk: DeskPages, pages: Blueprint) -> None:
    drafts = desk.jobs.drafts

    @pages.get("/seasonal/new")
    @signed_in("officer")
    def new_seasonal() -> tuple[str, int]:
        return _form_page(desk, None)

    @pages.post("/seasonal/new")
    @signed_in("officer")
    @takes_files(MOST_SENT)
    @or_again(new_seasonal)
    def write_seasonal() -> Response:
        form = request.form
        made = drafts.prepare(
            desk.account, form.get("title", ""), _audience(desk), _texts(), desk.now(),
            moment(desk, form.get("starts_at", "")),
        )  # fmt: skip
        return desk.go(ONE, seasonal_id=made.id)

    @pages.get("/seasonal/<seasonal_id>/edit")
    @signed_in("officer")
    def edit_seasonal(seasonal_id: str) -> tuple[str, int]:
        return _form_page(desk, drafts.see(desk.account, seasonal_id).message)

    @pages.post("/seasonal/<seasonal_id>/edit")
    @signed_in("officer")
    @takes_files(MOST_SENT)
    @or_again(edit_seasonal)
    def change_seasonal(seasonal_id: str) -> Response:
        drafts.see(desk.account, seasonal_id)
        form = request.form
        drafts.edit(
            desk.account, seasonal_id, desk.now(), revision=revision(), title=form.get("title"),
            audience=_audience(desk), texts=_texts(),
            starts_at=moment(desk, form.get("starts_at", "")),
        )  # fmt: skip
        desk.notice(say("The message is changed. It is a draft until it is given for approval."))
        return desk.go(ONE, seasonal_id=seasonal_id)


def _form_page(desk: DeskPages, message: SeasonalMessage | None) -> tuple[str, int]:
    first = desk.language if desk.language in LANGUAGES else "en"
    groups = [(line.name, line.name) for line in desk.jobs.roster.groups(desk.account)]
    known = {name for name, _ in groups}
    kept = message.audience.groups if message else ()
    return desk.page(
        "officer_seasonal_form.html",
        message=message,
        audience=message.audience if message else Audience(districts=limited(desk.account)),
        districts=district_choices(desk),
        crops=crop_choices(desk),
        stages=list(stage_names().items()),
        spoken=[(code, one.own_name) for code, one in LANGUAGES.items()],
        groups=[*groups, *((name, name) for name in kept if name not in known)],
        text_codes=[first, *(code for code in LANGUAGES if code != first)],
        starts_at=local_text(desk, message.starts_at if message else None),
        **_about_texts(),
    )


def _about_texts() -> Mapping[str, Any]:
    place_words = words.place_words()
    places = [(name, place_words[name], longest) for name, longest in LONGEST.items()]
    return {"places": places, "most_parts": MOST_PARTS}


def _looking(desk: DeskPages, pages: Blueprint) -> None:
    drafts = desk.jobs.drafts

    @pages.get("/seasonal/<seasonal_id>")
    @signed_in("officer")
    def seasonal_message(seasonal_id: str) -> tuple[str, int]:
        return message_page(desk, seasonal_id)

    @pages.get("/seasonal/<seasonal_id>/look")
    @signed_in("officer")
    def look_at_seasonal(seasonal_id: str) -> tuple[str, int]:
        seed = _seed()
        estimate = drafts.estimate(desk.account, seasonal_id, desk.now())
        return desk.page(
            "officer_seasonal_look.html",
            message=drafts.see(desk.account, seasonal_id).message,
            estimate=estimate,
            left_out=LEFT_OUT,
            previews=drafts.preview(desk.account, seasonal_id, desk.now(), SHOWN, seed),
            seed=seed,
            phone=bool(desk.account.phone),
        )

    @pages.post("/seasonal/<seasonal_id>/test")
    @signed_in("officer")
    @or_again(look_at_seasonal)
    def test_seasonal(seasonal_id: str) -> Response:
        sent = drafts.test(desk.account, seasonal_id, desk.now())
        spoken = ", ".join(LANGUAGES[one.language].own_name for one in sent)
        desk.notice(say("On its way to your own phone: {languages}.", languages=spoken))
        return desk.go("desk.officer.look_at_seasonal", seasonal_id=seasonal_id)


def _second_eyes(desk: DeskPages, pages: Blueprint) -> None:
    drafts = desk.jobs.drafts

    def again(seasonal_id: str) -> tuple[str, int]:
        return message_page(desk, seasonal_id)

    @pages.post("/seasonal/<seasonal_id>/submit")
    @signed_in("officer")
    @or_again(again)
    def submit_seasonal(seasonal_id: str) -> Response:
        done = drafts.submit(desk.account, seasonal_id, desk.now())
        if done.state == "approved":
            desk.notice(say("So few plots need no second person: it can be started."))
        else:
            desk.notice(say("Another person must now look at it and approve."))
        return desk.go(ONE, seasonal_id=seasonal_id)

    @pages.post("/seasonal/<seasonal_id>/approve")
    @signed_in("officer")
    @or_again(again)
    def approve_seasonal(seasonal_id: str) -> Response:
        drafts.see(desk.account, seasonal_id)
        drafts.approve(desk.account, seasonal_id, revision(), desk.now())
        desk.notice(say("Approved. It can be started."))
        return desk.go(ONE, seasonal_id=seasonal_id)

    @pages.post("/seasonal/<seasonal_id>/send-back")
    @signed_in("officer")
    @or_again(again)
    def send_back_seasonal(seasonal_id: str) -> Response:
        why = request.form.get("why", "")
        drafts.send_back(desk.account, seasonal_id, why, desk.now())
        desk.notice(say("It is a draft again."))
        return desk.go(ONE, seasonal_id=seasonal_id)


def message_page(desk: DeskPages, seasonal_id: str) -> tuple[str, int]:
    """Return the page of one message: how it stands and what can be done with it next."""
    seen = desk.jobs.drafts.see(desk.account, seasonal_id)
    message, runs = seen.message, desk.jobs.runs
    begun = bool(message.cursor) or message.state in ("running", "paused", "done", "cancelled")
    return desk.page(
        "officer_seasonal_message.html",
        seen=seen,
        message=message,
        history=runs.history(desk.account, seasonal_id),
        steps=words.step_words(),
        mine=desk.account.id in (message.created_by, message.changed_by),
        starts_at=local_text(desk, message.starts_at),
        now_local=local_text(desk, desk.now()),
        zone=str(desk.zone),
        **(
            progress_values(desk, seasonal_id)
            if begun
            else {"progress": None, "states": words.seasonal_states()}
        ),
        **names(desk),
    )


def progress_values(desk: DeskPages, seasonal_id: str) -> Mapping[str, Any]:
    """Return how far a message has come, as its page and the script's piece of it show it."""
    runs = desk.jobs.runs
    progress = runs.progress(desk.account, seasonal_id)
    return {
        "progress": progress,
        "seasonal_id": seasonal_id,
        "states": words.seasonal_states(),
        "message_states": state_words(),
        "left_out": runs.left_out(desk.account, seasonal_id),
        "left_out_words": LEFT_OUT,
        "done_plots": progress.planned + progress.skipped,
    }


def revision() -> int:
    """Return the version of the message that the page showed. Raises Unknown."""
    try:
        return int(request.form.get("revision", ""))
    except ValueError:
        raise unknown() from None


def moment(desk: DeskPages, text: str) -> datetime | None:
    """Return a moment as typed by the clock of the service; None for an empty field."""
    if not text.strip():
        return None
    try:
        found = datetime.fromisoformat(text.strip().replace(" ", "T", 1))
    except ValueError:
        raise DeskRefused(say("Write the moment as 2026-11-25 14:30.")) from None
    return found.replace(tzinfo=desk.zone) if found.utcoffset() is None else found


def local_text(desk: DeskPages, at: datetime | None) -> str:
    """Return a moment as a field for date and time takes it."""
    return at.astimezone(desk.zone).strftime("%Y-%m-%dT%H:%M") if at else ""


def _audience(desk: DeskPages) -> Audience:
    def ticked(name: str) -> tuple[str, ...]:
        return tuple(dict.fromkeys(request.form.getlist(name)))

    stages = ticked("stages")
    if set(stages) - set(stage_names()):
        raise unknown()
    return Audience(
        districts=ticked("districts"),
        crops=ticked("crops"),
        stages=stages,
        languages=ticked("languages"),
        groups=ticked("groups"),
    )


def _texts() -> Mapping[str, str]:
    return {code: request.form.get(f"text_{code}", "") for code in LANGUAGES}


def _seed() -> int:
    """Return which recipients are shown: another number shows others."""
    given: Sequence[str] = request.args.getlist("seed")
    return int(given[0]) if given and given[0].isdecimal() and len(given[0]) < 10 else 0
