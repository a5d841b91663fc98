"""A conversation as one form: every question at once, what it leads to beside it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from flask import Blueprint, g, request
from werkzeug.wrappers import Response

from service.console.desk.access import or_again, signed_in
from service.console.desk.frame import DeskPages
from service.console.desk.operator_callers import names, seen_plot
from service.console.desk.operator_sheet import weakest_share
from service.console.desk.operator_walking import typed_revision
from service.desk.fields import Field
from service.desk.form import Form
from service.desk.refusals import Clash
from service.desk.results import ResultScreen
from service.phrases import Phrase, say

FORM = "desk.operator.form"
CUP = re.compile(r"check_(\d+)_(\d+)")
OWN_FIELDS = frozenset({"token", "revision", "do"})


def form_pages(desk: DeskPages, pages: Blueprint) -> None:
    """Add the form. It is reckoned by a button; a script of our own does so while one types."""
    forms = desk.jobs.forms

    @pages.get("/callers/<phone_id>/plots/<plot_id>/form/<flow>")
    @signed_in("operator", "officer")
    def form(phone_id: str, plot_id: str, flow: str) -> tuple[str, int]:
        made = forms.show(desk.account, plot_id, flow, desk.now())
        return _page(desk, phone_id, made)

    def again(phone_id: str, plot_id: str, flow: str) -> tuple[str, int]:
        made = forms.preview(desk.account, plot_id, flow, _typed(), desk.now())
        if not isinstance(g.get("refused"), Clash):
            return _page(desk, phone_id, made)
        stored = forms.show(desk.account, plot_id, flow, desk.now())
        return _page(desk, phone_id, made, stored=stored)

    @pages.post("/callers/<phone_id>/plots/<plot_id>/form/<flow>")
    @signed_in("operator", "officer")
    @or_again(again)
    def fill(phone_id: str, plot_id: str, flow: str) -> tuple[str, int] | Response:
        if request.form.get("do") != "keep":
            return again(phone_id, plot_id, flow)
        made = forms.fill(desk.account, plot_id, flow, _typed(), desk.now(), typed_revision())
        if not made.saved:
            return _page(desk, phone_id, made, 422)
        desk.notice(say("The answers are kept with the plot."))
        return desk.go(FORM, phone_id=phone_id, plot_id=plot_id, flow=flow)

    @pages.post("/plots/<plot_id>/form/<flow>/result")
    @signed_in("operator", "officer")
    def form_result(plot_id: str, flow: str) -> tuple[str, int]:
        """Return only what the form leads to, for the script that puts it into the page."""
        made = forms.preview(desk.account, plot_id, flow, _typed(), desk.now())
        language = request.args.get("language")
        return desk.page("operator_form_result.html", **_result(made), **names(desk, language))


def _page(
    desk: DeskPages, phone_id: str, form: Form, status: int = 200, stored: Form | None = None
) -> tuple[str, int]:
    """Return the page of a form.

    `stored` is what somebody else kept meanwhile: it is shown beside what was typed, and whoever
    keeps the form after that has seen it.
    """
    revision = form.revision if stored else request.form.get("revision", form.revision)
    view, plot = seen_plot(desk, phone_id, form.plot_id)
    return desk.page(
        "operator_form.html",
        status,
        view=view,
        plot=plot,
        place=view.plots.index(plot) + 1,
        revision=revision,
        stored={one.name: _in_words(one) for one in stored.fields} if stored else {},
        cups=_cups(form),
        **_result(form),
        **names(desk, view.phone.language),
    )


def _result(form: Form) -> Mapping[str, Any]:
    layout = form.plan.layouts[form.plan.recommended] if form.plan else None
    return {
        "form": form,
        "layout": layout,
        "weakest": weakest_share(layout) if layout else 0.0,
        "results": _unlike(form.results),
    }


def _unlike(results: Sequence[ResultScreen]) -> Sequence[ResultScreen]:
    """Return the results without those that say the same again."""
    return list({tuple(page.text for page in one.seen.sms): one for one in results}.values())


def _in_words(field: Field) -> Phrase | str:
    """Return what stands in a field as people read it."""
    chosen = [one.label for one in field.choices if one.key == field.typed]
    return chosen[0] if chosen else field.typed


def _cups(form: Form) -> Mapping[str, tuple[int, int]]:
    """Return which line and cup the fields of a cup test are about: their questions are alike."""
    found = ((one.name, CUP.fullmatch(one.name)) for one in form.fields)
    return {name: (int(cup[1]), int(cup[2])) for name, cup in found if cup}


def _typed() -> Mapping[str, str]:
    return {name: text for name, text in request.form.items() if name not in OWN_FIELDS}
