"""The web service: the gateway's address, the handset page, and whether all is well."""

from __future__ import annotations

from threading import Event

from flask import Flask, Request, Response, jsonify, request
from flask.sessions import SecureCookieSession, SecureCookieSessionInterface
from werkzeug.exceptions import HTTPException

from service.console import Handset, handset_blueprint
from service.errors import LitrelineError
from service.gateways import Inlet, gateway_blueprint
from service.settings import Settings
from service.storage import Database
from service.text.languages import LANGUAGES
from service.wiring.build import Service, build
from service.wiring.keys import new_id, secret_key

MOST_BYTES = 64 * 1024
"""Most octets of any request; the gateway's addresses allow less."""

_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self';"
        " base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
}


def create_app(
    settings: Settings, service: Service | None = None, wake: Event | None = None
) -> Flask:
    """Return the web application. Raises LitrelineError for settings that cannot be used.

    `wake` is set whenever there may be something to send.
    """
    wake = wake or Event()
    made = service or build(settings)
    app = Flask("litreline", static_folder=None)
    app.config.update(
        SECRET_KEY=secret_key(settings.secret_key, settings.data_dir),
        MAX_CONTENT_LENGTH=MOST_BYTES,
        SESSION_COOKIE_NAME="litreline",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
    )
    # Letters of every script as they are: a third of the size, and readable in a log.
    app.json.ensure_ascii = False  # type: ignore[attr-defined]
    app.extensions["litreline"] = made
    app.session_interface = _CookieOfThePage()
    inlet = Inlet(made.turns, made.texts, made.receipts, made.clock, settings.region, wake.set)
    app.register_blueprint(gateway_blueprint(inlet, settings.secrets))
    app.register_blueprint(handset_blueprint(_handset(made, settings)))
    _health(app, made.database)
    app.after_request(_protected)
    app.register_error_handler(HTTPException, _refusal)
    return app


class _CookieOfThePage(SecureCookieSessionInterface):
    """Programs that call the gateway's addresses carry no cookie, so none is looked for."""

    def open_session(self, app: Flask, request: Request) -> SecureCookieSession | None:
        """Read the visitor's cookie; None, so an empty one that cannot be written, for programs."""
        if request.path.startswith("/gateway/"):
            return None
        return super().open_session(app, request)


def _handset(service: Service, settings: Settings) -> Handset:
    return Handset(
        turns=service.turns,
        translate=service.catalogues.translate,
        languages={code: language.own_name for code, language in LANGUAGES.items()},
        language=settings.language,
        invented=bool(service.loaded.invented),
        clock=service.clock,
        new_id=new_id,
    )


def _health(app: Flask, database: Database) -> None:
    @app.get("/healthz")
    def healthy() -> Response:
        """The process answers."""
        return jsonify(status="ok")

    @app.get("/readyz")
    def ready() -> tuple[Response, int]:
        """The process can take turns: its database answers and has the right schema."""
        try:
            database.check()
        except LitrelineError as error:
            app.logger.error("not ready: %s", error)
            return jsonify(status="not ready", why=type(error).__name__), 503
        return jsonify(status="ready"), 200


def _protected(response: Response) -> Response:
    for name, value in _HEADERS.items():
        response.headers.setdefault(name, value)
    return response


def _refusal(error: HTTPException) -> HTTPException | tuple[Response, int]:
    """Programs get JSON, people the usual page."""
    if not request.path.startswith("/gateway"):
        return error
    if error.code == 500:
        sentence = "something failed here and nothing was changed: send the same step again"
    else:
        sentence = error.description or error.name
    return jsonify(error=sentence), error.code or 500
