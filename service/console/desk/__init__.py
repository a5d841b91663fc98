"""The desk in a browser: pages for operators, field officers and admins."""

from __future__ import annotations

from flask import Blueprint, Flask, request
from flask.blueprints import BlueprintSetupState
from werkzeug.wrappers import Response

from service.console.desk.admin import admin_pages
from service.console.desk.frame import DeskPages
from service.console.desk.jobs import Jobs
from service.console.desk.officer import officer_pages
from service.console.desk.operator import operator_pages
from service.console.desk.sign_in import sign_in_pages
from service.console.desk.sitting import DeskCookie
from service.desk.refusals import DeskRefused

__all__ = ["DeskCookie", "DeskPages", "Jobs", "desk_blueprint"]

_A_YEAR = "public, max-age=31536000, immutable"


def desk_blueprint(desk: DeskPages) -> Blueprint:
    """Return all pages of the desk, under /desk."""
    blueprint = Blueprint(
        "desk", __name__, url_prefix="/desk", template_folder="templates", static_folder="static",
    )  # fmt: skip
    for make in (sign_in_pages, operator_pages, officer_pages, admin_pages):
        blueprint.register_blueprint(make(desk))

    @blueprint.before_request
    def begin() -> Response | None:
        return None if request.endpoint == "desk.static" else desk.begin()

    @blueprint.after_request
    def kept_nowhere(response: Response) -> Response:
        """Pages with people on them stay in no cache; styles with a mark in their address do.

        A style without one, as the page of the handsets asks for, is kept and asked about again.
        """
        if request.endpoint != "desk.static":
            response.headers["Cache-Control"] = "no-store"
        elif "v" in request.args:
            response.headers["Cache-Control"] = _A_YEAR
        return response

    blueprint.register_error_handler(DeskRefused, desk.refused)
    blueprint.record_once(lambda state: _speak(state, desk))
    return blueprint


def _speak(state: BlueprintSetupState, desk: DeskPages) -> None:
    app = state.app
    assert isinstance(app, Flask)
    app.jinja_env.globals.update(desk.speaking().globals())
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
