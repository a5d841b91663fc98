"""People for `load.py`: mixed calls and texts with pauses to think, for the load tool locust.

Each person holds the same conversations again and again: plan a plot, ask for today's water, look
at what is due, and now and then send a text instead. How long they think is given by the number of
people and the rate: `load.py` sets both.
"""

from __future__ import annotations

import itertools
import os
import random
import time

from locust import FastHttpUser, poisson, task

RATE = float(os.environ["LOAD_RATE_EACH"])
PLAN = ("", "1", "kot", "1", "1", "20", "15", "1", "3", "500", "1.5", "1", "1")
WATER = ("", "2", "3", "5", "1", "1", "1")
UPKEEP = ("", "2", "5", "1", "1", "1")
REMINDERS = ("", "2", "15", "1", "3", "2")
CALLS = (PLAN, WATER, WATER, UPKEEP, REMINDERS)
TEXTS = ("hello", "1", "kot", "1", "20 15 tomato 3 500 1.5", "1", "stop", "start")

_numbers = itertools.count(1)


class Person(FastHttpUser):
    """One phone."""

    # Pauses of chance, as of people who know nothing of each other. A pause of constant pace keeps
    # everybody in step with whoever was started in the same second, so that all press at once.
    wait_time = poisson(RATE)

    def on_start(self) -> None:
        self.number = f"+25471{next(_numbers):07d}"
        self.turns = self._said()
        self.texts = itertools.cycle(TEXTS)
        self.sent = 0

    def _said(self):
        for call in itertools.count():
            # Everybody plans first; what comes after is a matter of chance.
            script = PLAN if call == 0 else random.choice(CALLS)
            for step, text in enumerate(script):
                yield f"{self.number}-{call}-{time.time_ns()}" if step == 0 else None, step, text

    @task(9)
    def turn(self) -> None:
        session, step, text = next(self.turns)
        self.session = session or self.session
        body = {
            "session": self.session, "step": step, "from": self.number, "service_code": "*100#",
            "input": text, "phase": "begin" if step == 0 else "continue",
        }  # fmt: skip
        with self.client.post("/gateway/ussd", json=body, name="turn", catch_response=True) as got:
            if got.status_code != 200 or not got.json().get("text"):
                got.failure(f"{got.status_code}")

    @task(1)
    def text(self) -> None:
        self.sent += 1
        body = {
            "id": f"{self.number}-{self.sent}-{time.time_ns()}", "from": self.number, "to": "100",
            "text": next(self.texts), "received_at": "2026-11-25T09:00:00+00:00",
        }  # fmt: skip
        with self.client.post("/gateway/sms", json=body, name="text", catch_response=True) as got:
            if got.status_code != 202:
                got.failure(f"{got.status_code}")
