"""What a monitor reads: figures from the database, for whoever may, without a number of a phone."""

from datetime import UTC, datetime, timedelta

import pytest
from flask import Flask
from prometheus_client.parser import text_string_to_metric_families

from service.channels import Letter, Post
from service.records import Phone, SeasonalMessage, Ticket
from service.storage import MemoryStore
from service.wiring.metrics import Standing, add_metrics

NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)


@pytest.fixture
def store():
    store = MemoryStore()
    with store.unit_of_work() as work:
        work.phones.add(Phone("p1", "+254700000001", "sw", NOW))
        for number, late in enumerate((90, 20)):
            begun = NOW - timedelta(seconds=late)
            letter = Letter("p1", "answer", f"key{number}", "Hello", "en", not_before=begun)
            Post(lambda number=number: f"m{number}").put(work, letter, begun)
        work.tickets.add(Ticket("t1", "p1", "call_back", "k1", NOW, danger="splashed"))
        work.tickets.add(Ticket("t2", "p1", "missed_call", "k2", NOW))
        work.seasonals.add(SeasonalMessage("s1", "Before the rains", NOW, "a1", state="running"))
        work.commit()
    return store


@pytest.fixture
def client(store):
    def client(token=""):
        app = Flask("test")
        add_metrics(app, Standing(store.unit_of_work, lambda: NOW), token)
        return app.test_client()

    return client


def figures(text):
    return {
        (sample.name.removeprefix("litreline_"), *sorted(sample.labels.values())): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }


def test_the_figures_are_those_of_the_database(client):
    """Read back by the parser of the format's own library."""
    text = client().get("/metrics").text
    assert figures(text) == {
        ("outbox_messages", "queued"): 2,
        ("outbox_oldest_seconds",): 90,
        ("tickets_waiting", "call_back", "yes"): 1,
        ("tickets_waiting", "missed_call", "no"): 1,
        ("seasonal_messages", "running"): 1,
    }
    assert "254700000001" not in text


def test_without_a_token_only_this_machine_may_read(client):
    assert client().get("/metrics").status_code == 200
    away = client().get("/metrics", environ_base={"REMOTE_ADDR": "192.0.2.7"})
    assert away.status_code == 404
    proxied = client().get("/metrics", headers={"X-Forwarded-For": "192.0.2.7"})
    assert proxied.status_code == 404


def test_with_a_token_only_who_knows_it(client):
    away = {"REMOTE_ADDR": "192.0.2.7"}
    known = {"Authorization": "Bearer sesame"}
    assert client("sesame").get("/metrics").status_code == 404
    assert client("sesame").get("/metrics", headers=known, environ_base=away).status_code == 200
    wrong = {"Authorization": "Bearer sesam"}
    assert client("sesame").get("/metrics", headers=wrong).status_code == 404


def test_an_empty_service_has_figures_too():
    app = Flask("test")
    add_metrics(app, Standing(MemoryStore().unit_of_work, lambda: NOW), "")
    assert figures(app.test_client().get("/metrics").text) == {("outbox_oldest_seconds",): 0}
