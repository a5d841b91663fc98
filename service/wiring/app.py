"""The web service: the gateway's address, the handset page, and whether all is well."""

from __future__ import annotations

from functools import partial
from threading import Event

from flask import Flask, Request, Response, jsonify, request
from flask.sessions import SecureCookieSessionInterface, SessionInterface, SessionMixin
from werkzeug.exceptions import HTTPException

from service.console import Handset, handset_blueprint
from service.console.desk import DeskCookie, DeskPages, desk_blueprint
from service.desk.passwords import Hasher
from service.errors import LitrelineError
from service.gateways import Inlet, gateway_blueprint
from service.settings import Settings
from service.storage import Database
from service.text.languages import LANGUAGES
from service.wiring.build import Service, build
from service.wiring.desk import desk_pages, make_jobs_of_desk
from service.wiring.handset_texts import HandsetTexts
from service.wiring.keys import new_id, secret_key
from service.wiring.metrics import Standing, add_metrics

MOST_BYTES = 64 * 1024
"""Most octets of any request; the gateway's addresses allow less."""

_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self';"
        " connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}


def create_app(
    settings: Settings,
    service: Service | None = None,
    wake: Event | None = None,
    hasher: Hasher | None = None,
) -> Flask:
    """Return the web application. Raises LitrelineError for settings that cannot be used.

    `wake` is set whenever there may be something to send; `hasher` keeps the desk's passwords.
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
        SESSION_COOKIE_SECURE=settings.https,
    )
    # Letters of every script as they are: a third of the size, and readable in a log.
    app.json.ensure_ascii = False  # type: ignore[attr-defined]
    app.extensions["litreline"] = made
    app.session_interface = _Cookies()
    inlet = Inlet(
        made.turns, made.texts, made.calls, made.receipts, made.clock, settings.region, wake.set
    )
    app.register_blueprint(gateway_blueprint(inlet, settings.secrets))
    app.register_blueprint(handset_blueprint(_handset(made, settings)))
    pages = desk_pages(made, settings, make_jobs_of_desk(made, settings, hasher=hasher))
    app.register_blueprint(desk_blueprint(pages))
    _health(app, made.database)
    standing = Standing(made.database.unit_of_work, made.clock)
    add_metrics(app, standing, settings.metrics_token)
    app.after_request(_protected)
    app.after_request(partial(_woken, wake))
    app.register_error_handler(HTTPException, partial(_refusal, pages))
    return app


class _Cookies(SessionInterface):
    """A cookie for the handset page, one for the desk, none for programs."""

    def __init__(self) -> None:
        self._page, self._desk = SecureCookieSessionInterface(), DeskCookie()

    def open_session(self, app: Flask, request: Request) -> SessionMixin | None:
        """Read the cookie of a page; None, so an empty one that cannot be written, for programs."""
        if request.path.startswith("/gateway/"):
            return None
        return self._of(request.path).open_session(app, request)

    def save_session(self, app: Flask, session: SessionMixin, response: Response) -> None:
        """Send the cookie of a page when it changed."""
        self._of(request.path).save_session(app, session, response)

    def _of(self, path: str) -> SecureCookieSessionInterface:
        return self._desk if path.startswith("/desk") else self._page


def _handset(service: Service, settings: Settings) -> Handset:
    return Handset(
        turns=service.turns,
        texts=HandsetTexts(service, settings),
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
    """Tell browsers what a page may do; the gateway's programs are no browsers."""
    if not request.path.startswith("/gateway/"):
        for name, value in _HEADERS.items():
            response.headers.setdefault(name, value)
        if request.is_secure:
            response.headers.setdefault("Strict-Transport-Security", "max-age=31536000")
    return response


def _woken(wake: Event, response: Response) -> Response:
    """What somebody sends from the desk leaves at once, as answers to texts do."""
    if request.method == "POST" and request.path.startswith("/desk/"):
        wake.set()
    return response


def _refusal(
    pages: DeskPages, error: HTTPException
) -> HTTPException | tuple[Response, int] | tuple[str, int]:
    """Programs get JSON, people a page in their language."""
    if not request.path.startswith("/gateway"):
        # Redirects of the router, such as for a missing slash, are no errors.
        return pages.error_page(error) if error.code and error.code >= 400 else error
    if error.code == 500:
        sentence = "something failed here and nothing was changed: send the same step again"
    else:
        sentence = error.description or error.name
    return jsonify(error=sentence), error.code or 500
