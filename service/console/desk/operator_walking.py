"""The caller's conversation, walked by the operator screen by screen; and taken over half way."""

from __future__ import annotations

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.console.desk.access import or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.operator_callers import CALLER, caller_page, names
from service.desk.refusals import DeskRefused, unknown
from service.desk.walking import CHANNEL, Walked
from service.phrases import say

WALK, FORM = "desk.operator.walk", "desk.operator.form"
LONGEST_ANSWER = 182
"""Most letters of an answer: what one USSD string holds."""


def walking_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add walks. The plot stands in the address, for the ways on from a walk lead to it."""
    walking = desk.jobs.walking

    @pages.post("/callers/<phone_id>/begin")
    @signed_in("operator")
    @or_again(lambda phone_id: caller_page(desk, phone_id))
    def begin(phone_id: str) -> Response:
        flow, plot_id = request.form.get("flow", ""), request.form.get("plot") or None
        if request.form.get("as") == "form":
            if plot_id is None or flow not in desk.jobs.forms.flows:
                raise DeskRefused(say("This conversation is no form: walk it screen by screen."))
            return desk.go(FORM, phone_id=phone_id, plot_id=plot_id, flow=flow)
        walked = walking.begin(desk.account, phone_id, flow, desk.now(), plot_id)
        return desk.go(WALK, session_id=walked.session_id, plot=plot_id)

    @pages.get("/walks/<session_id>")
    @signed_in("operator")
    def walk(session_id: str) -> tuple[str, int]:
        walked = walking.see(desk.account, session_id, desk.now())
        return walk_page(desk, walked, looking="look" in request.args)

    _answers(desk, pages)
    _whose(desk, pages)


def _answers(desk: DeskPages, pages: Blueprint) -> None:
    walking = desk.jobs.walking

    def again(session_id: str) -> tuple[str, int]:
        """Return where the conversation stands now; a walk that is over only says so."""
        return walk_page(desk, walking.see(desk.account, session_id, desk.now()))

    @pages.post("/walks/<session_id>/answer")
    @signed_in("operator")
    @or_again(again)
    def answer(session_id: str) -> tuple[str, int] | Response:
        text = request.form.get("choice") or request.form.get("text", "")
        walked = walking.answer(
            desk.account, session_id, typed_revision(), text[:LONGEST_ANSWER], desk.now()
        )
        if walked.ticket_opened:
            desk.notice(say("A ticket was opened for this matter."))
        # What has ended cannot be looked up again, so it is shown at once.
        return walk_page(desk, walked) if _over(walked) else _to_walk(desk, walked)

    @pages.post("/walks/<session_id>/back")
    @signed_in("operator")
    @or_again(again)
    def back(session_id: str) -> Response:
        walked = walking.back(desk.account, session_id, typed_revision(), desk.now())
        return _to_walk(desk, walked)


def _whose(desk: DeskPages, pages: Blueprint) -> None:
    walking = desk.jobs.walking

    @pages.post("/walks/<session_id>/take-over")
    @signed_in("operator")
    def take_over(session_id: str) -> Response:
        walked = walking.take_over(desk.account, session_id, desk.now())
        desk.notice(say("You have the conversation. Hand it back when you are done."))
        return _to_walk(desk, walked)

    @pages.post("/walks/<session_id>/hand-back")
    @signed_in("operator")
    def hand_back(session_id: str) -> Response:
        phone_id = walking.see(desk.account, session_id, desk.now()).phone_id
        walking.hand_back(desk.account, session_id, desk.now())
        desk.notice(say("The caller goes on alone now."))
        return desk.go(CALLER, phone_id=phone_id)

    @pages.post("/walks/<session_id>/leave")
    @signed_in("operator")
    def leave(session_id: str) -> Response:
        phone_id = walking.see(desk.account, session_id, desk.now()).phone_id
        walking.leave(desk.account, session_id, desk.now())
        desk.notice(say("The conversation is over. The answers are kept with the plot."))
        return desk.go(CALLER, phone_id=phone_id)


def _to_walk(desk: DeskPages, walked: Walked) -> Response:
    return desk.go(WALK, session_id=walked.session_id, **_plot())


def walk_page(desk: DeskPages, walked: Walked, *, looking: bool = False) -> tuple[str, int]:
    """Return where a walk stands: the screen for the operator, and what the caller sees of it."""
    return desk.page(
        "operator_walk.html",
        walked=walked,
        told={"crop": walked.answers.get("crop"), "district": walked.answers.get("district")},
        looking=looking,
        over=_over(walked),
        own=walked.channel == CHANNEL,
        as_form=walked.flow in desk.jobs.forms.flows,
        plot_id=_plot()["plot"],
        longest=LONGEST_ANSWER,
        **names(desk, walked.language),
    )


def _over(walked: Walked) -> bool:
    return walked.ends and walked.channel == CHANNEL


def _plot() -> dict[str, str | None]:
    return {"plot": request.args.get("plot") or None}


def typed_revision() -> int:
    """Return the version of which the page was made. Raises Unknown for a form of nobody's."""
    typed = request.form.get("revision", "")
    if not (typed.isascii() and typed.isdecimal() and len(typed) < 10):
        raise unknown()
    return int(typed)
