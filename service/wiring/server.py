"""The web server around the application: gunicorn where it runs, else the one Werkzeug brings."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

from flask import Flask

from service.settings import Settings

_IN_MEMORY = "/dev/shm"  # noqa: S108
TIMEOUT_S = 30
"""A worker that has been silent for so long is replaced."""


Started: TypeAlias = Callable[[], Callable[[], None]]
"""Starts what runs beside the answers in each process, and returns what ends it."""


def serve_app(app: Flask, settings: Settings, beside: Started | None = None) -> None:
    """Serve until told to stop."""
    try:
        from gunicorn.app.base import BaseApplication  # type: ignore[import-untyped]
    except ImportError:
        # gunicorn needs a Unix; elsewhere the service can at least be tried.
        _serve_simply(app, settings, beside)
        return
    _gunicorn(BaseApplication, app, settings, beside).run()


def options(settings: Settings) -> dict[str, Any]:
    """Return gunicorn's settings.

    One thread means sync workers: quickest, but a caller who connects and says nothing holds a
    worker up, so they belong behind a proxy that hands on whole requests. Browsers do just that.
    """
    host = f"[{settings.host}]" if ":" in settings.host else settings.host
    return {
        "bind": f"{host}:{settings.port}",
        "workers": settings.workers,
        "worker_class": "sync" if settings.threads == 1 else "gthread",
        "threads": settings.threads,
        "timeout": TIMEOUT_S,
        "graceful_timeout": 5,
        "loglevel": "warning",
        "proc_name": "litreline",
        "preload_app": True,
        # Each request touches a worker's sign of life; on a disk that gets in the way of the
        # database's own writes. None leaves the place to gunicorn.
        "worker_tmp_dir": _IN_MEMORY if Path(_IN_MEMORY).is_dir() else None,
        # A door for remote control that newer versions open in the home folder: not needed here.
        "control_socket_disable": True,
    }


def _hooks(beside: Started | None) -> dict[str, Any]:
    """Threads do not survive the fork into workers, so each worker starts its own."""
    if beside is None:
        return {}
    ends: list[Callable[[], None]] = []

    def started(worker: Any) -> None:
        ends.append(beside())

    def ended(server: Any, worker: Any) -> None:
        for end in ends:
            end()

    return {"post_worker_init": started, "worker_exit": ended}


def _gunicorn(base: Any, app: Flask, settings: Settings, beside: Started | None) -> Any:
    class Server(base):  # type: ignore[misc]
        """gunicorn with our settings instead of its command line."""

        def load_config(self) -> None:
            for name, value in {**options(settings), **_hooks(beside)}.items():
                # Older versions do not have every setting.
                if name in self.cfg.settings:
                    self.cfg.set(name, value)

        def load(self) -> Flask:
            return app

    return Server()


def _serve_simply(app: Flask, settings: Settings, beside: Started | None) -> None:
    from werkzeug.serving import run_simple

    if beside is not None:
        beside()
    run_simple(settings.host, settings.port, app, threaded=True)
