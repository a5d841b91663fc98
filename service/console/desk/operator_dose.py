"""Releasing a treatment by a checklist: cautions first, then what was asked and answered."""

from __future__ import annotations

from typing import cast, get_args

from flask import Blueprint, request
from werkzeug.wrappers import Response

from service.advice.upkeep_dose import RELEASED, RELEASED_FOR
from service.advice.upkeep_dose_words import acid_cautions, chlorine_cautions
from service.console.desk import operator_words as words
from service.console.desk.access import or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.operator_callers import names, seen_plot
from service.desk.dose import Checklist, Treatment, acid_choices, items
from service.desk.refusals import DeskRefused, unknown
from service.phrases import say
from service.records import Plot

TREATMENT = "desk.operator.treatment"
PLOT = "desk.operator.plot"


def dose_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the choice of a treatment and its checklist."""
    doses = desk.jobs.doses

    @pages.get("/callers/<phone_id>/plots/<plot_id>/treatment")
    @signed_in("operator")
    def treatment(phone_id: str, plot_id: str) -> tuple[str, int]:
        return _page(desk, phone_id, plot_id, request.args.get("which", ""))

    def again(phone_id: str, plot_id: str) -> tuple[str, int]:
        return _page(desk, phone_id, plot_id, request.form.get("which", ""))

    @pages.post("/callers/<phone_id>/plots/<plot_id>/treatment")
    @signed_in("operator")
    @or_again(again)
    def release(phone_id: str, plot_id: str) -> Response:
        doses.release(desk.account, plot_id, _checklist(), desk.now())
        desk.notice(say("Released for today: the caller's phone tells the amount when asked."))
        return desk.go(TREATMENT, phone_id=phone_id, plot_id=plot_id)

    @pages.post("/callers/<phone_id>/plots/<plot_id>/treatment/withdraw")
    @signed_in("operator")
    @or_again(again)
    def withdraw(phone_id: str, plot_id: str) -> Response:
        doses.withdraw(desk.account, plot_id, desk.now())
        desk.notice(say("The release is taken back: the phone tells no amount."))
        return desk.go(TREATMENT, phone_id=phone_id, plot_id=plot_id)


def _page(desk: DeskPages, phone_id: str, plot_id: str, which: str) -> tuple[str, int]:
    chosen = _treatment(which) if which else None
    view, plot = seen_plot(desk, phone_id, plot_id)
    cautions = {"acid": acid_cautions(), "chlorine": chlorine_cautions()}
    return desk.page(
        "operator_treatment.html",
        view=view,
        plot=plot,
        place=view.plots.index(plot) + 1,
        which=chosen,
        treatment_names=words.treatment_names(),
        cautions=cautions[chosen] if chosen else (),
        items=items(chosen) if chosen else (),
        acids=acid_choices(),
        released=_released_today(desk, plot),
        **names(desk, view.phone.language),
    )


def _treatment(which: str) -> Treatment:
    if which not in get_args(Treatment):
        raise unknown()
    return cast(Treatment, which)


def _released_today(desk: DeskPages, plot: Plot) -> str:
    """Return which treatment is released today; empty when none is."""
    if plot.answers.get(RELEASED) != desk.today().isoformat():
        return ""
    return str(plot.answers.get(RELEASED_FOR, "")).partition(":")[0]


def _checklist() -> Checklist:
    which = _treatment(request.form.get("which", ""))
    ticked = request.form.getlist("asked")
    return Checklist(
        treatment=which,
        strength_pct=_strength(request.form.get("strength", "")),
        acid=request.form.get("acid", "") if which == "acid" else "",
        **{name: name in ticked for name, _ in items(which)},
    )


def _strength(text: str) -> float:
    try:
        strength = float(text.replace(",", ".").replace("%", "").strip())
    except ValueError:
        strength = 0.0
    if not 0 < strength <= 100:
        raise DeskRefused(say("Type the strength from the label, in percent. Example: 32"))
    return strength
