"""The handset page: what it shows, what its forms do, and what it refuses."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.sessions import SecureCookieSessionInterface

import service.console
from service.channels import cost_of
from service.console.visit import KEPT_SCREENS, Exchange, Handheld, Visit
from service.console.words import cost_words, page_words


def test_the_first_visit_offers_to_begin_and_says_what_is_invented(visitor: Any) -> None:
    page = visitor.open()
    assert "Begin" in page
    assert "are invented" in page
    assert 'id="a-screen"' not in page


def test_a_conversation_is_held_by_forms_alone(visitor: Any, reach_the_plan: Any) -> None:
    visitor.begin()
    assert visitor.screen
    reach_the_plan(visitor)
    assert visitor.screen.startswith("How long is the plot?")
    visitor.answer("25 paces")
    assert "How wide is the plot?" in visitor.screen
    assert not re.search(r"<script(?! src=)", visitor.page)


def test_how_much_of_a_message_the_screen_takes_is_shown(visitor: Any) -> None:
    visitor.begin()
    cost = re.search(r'id="a-cost">([^<]*)<', visitor.page)
    assert cost
    assert cost[1] == f"{len(visitor.screen)} of 160 characters · 1 text message"


def test_earlier_screens_and_answers_stay_in_sight(visitor: Any, reach_the_plan: Any) -> None:
    visitor.begin()
    reach_the_plan(visitor)
    visitor.answer("<b>25</b> m & more" + "x" * 100)
    assert "How long is the plot?" in visitor.page.split('id="a-earlier"')[1]
    assert "&lt;b&gt;25&lt;/b&gt; m &amp; more" in visitor.page
    assert "x" * 41 not in visitor.page
    assert visitor.page.count("<li>") <= KEPT_SCREENS


def test_a_reload_shows_the_same_screen(visitor: Any) -> None:
    visitor.begin()
    before = visitor.screen
    visitor.open()
    assert visitor.screen == before


def test_the_same_form_sent_twice_at_once_counts_once(visitor: Any, reach_the_plan: Any) -> None:
    visitor.begin()
    reach_the_plan(visitor)
    token, step = visitor.hidden("token"), visitor.hidden("step")
    cookie = visitor.client.get_cookie("litreline")
    form = {"token": token, "step": step, "text": "25"}
    visitor.client.post("/answer", data=form)
    # The second one leaves before the answer to the first has come back with a new cookie.
    visitor.client.set_cookie("litreline", cookie.value)
    visitor.client.post("/answer", data=form)
    visitor.open()
    assert visitor.screen.startswith("How wide is the plot?")


def test_an_old_page_changes_nothing_and_says_so(visitor: Any, reach_the_plan: Any) -> None:
    visitor.begin()
    reach_the_plan(visitor)
    old_step = visitor.hidden("step")
    visitor.answer("25")
    visitor.send("/answer", step=old_step, text="30")
    assert "That was an old page" in visitor.page
    assert visitor.screen.startswith("How wide is the plot?")
    assert "That was an old page" not in visitor.open()


def test_a_cookie_that_lags_behind_begins_a_new_call(visitor: Any, reach_the_plan: Any) -> None:
    visitor.begin()
    reach_the_plan(visitor)
    cookie = visitor.client.get_cookie("litreline")
    step = visitor.hidden("step")
    visitor.answer("25")
    visitor.client.set_cookie("litreline", cookie.value)
    visitor.open()
    assert visitor.hidden("step") == step
    visitor.answer("30")
    assert "That was an old page" in visitor.page
    assert "Go on where you stopped" in visitor.screen
    visitor.answer("1")
    assert visitor.screen.startswith("How wide is the plot?")


def test_beginning_again_offers_to_go_on(visitor: Any, reach_the_plan: Any) -> None:
    visitor.begin()
    reach_the_plan(visitor)
    visitor.answer("25")
    visitor.send("/begin")
    assert "Go on where you stopped" in visitor.screen


def test_the_language_changes_page_and_screen(visitor: Any) -> None:
    visitor.begin()
    visitor.send("/language", language="sw")
    assert '<html lang="sw"' in visitor.page
    assert re.search(r'value="sw"[^>]*selected', visitor.page)
    visitor.send("/language", language="en")
    assert '<html lang="en"' in visitor.page


def test_a_language_chosen_in_the_conversation_is_that_of_the_page(
    visitor: Any, reach_the_plan: Any
) -> None:
    visitor.begin()
    reach_the_plan(visitor)
    visitor.answer("**")
    visitor.answer("Change language")
    visitor.answer("Kiswahili")
    assert '<html lang="sw"' in visitor.page


def test_the_language_can_be_chosen_before_beginning(visitor: Any) -> None:
    visitor.open()
    visitor.send("/language", language="fr")
    assert '<html lang="fr"' in visitor.page
    assert 'id="a-screen"' not in visitor.page


def test_a_language_that_is_not_spoken_changes_nothing(visitor: Any) -> None:
    visitor.begin()
    visitor.send("/language", language="xx")
    assert '<html lang="en"' in visitor.page


def test_visitors_do_not_meet(visitor: Any, another_visitor: Any, reach_the_plan: Any) -> None:
    visitor.begin()
    reach_the_plan(visitor)
    another_visitor.begin()
    first = another_visitor.screen
    visitor.answer("25")
    another_visitor.open()
    assert another_visitor.screen == first


@pytest.mark.parametrize("address", ["/begin", "/answer", "/language", "/channel"])
def test_a_form_of_another_page_is_refused(visitor: Any, address: str) -> None:
    visitor.begin()
    for token in ("", "wrong", "é"):
        refused = visitor.client.post(address, data={"token": token, "step": "1", "text": "1"})
        assert refused.status_code == 400
        assert "not from your page" in refused.text


def test_a_changed_cookie_is_a_new_visitor(visitor: Any) -> None:
    visitor.begin()
    cookie = visitor.client.get_cookie("litreline")
    visitor.client.set_cookie("litreline", cookie.value[:-2] + "xx")
    assert 'id="a-screen"' not in visitor.open()


def test_the_cookie_is_kept_from_scripts_and_other_sites(visitor: Any) -> None:
    answer = visitor.client.get("/")
    assert "HttpOnly" in answer.headers["Set-Cookie"]
    assert "SameSite=Lax" in answer.headers["Set-Cookie"]


def test_the_page_loads_nothing_from_elsewhere(visitor: Any) -> None:
    answer = visitor.client.get("/")
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self'" in policy
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert not re.search(r"(?:src|href)=\"(?:https?:)?//", answer.text)
    sheet = re.search(r'href="([^"]+\.css)"', answer.text)
    assert sheet
    with visitor.client.get(sheet[1]) as style:
        assert style.status_code == 200


def test_every_field_has_a_label(visitor: Any) -> None:
    visitor.begin()
    fields = re.findall(r"<(?:input|select) (?!type=\"hidden\")[^>]*id=\"([\w-]+)\"", visitor.page)
    assert set(fields) == {
        *("a-text", "a-channel", "a-language"),
        *("b-channel", "b-language"),
    }
    for field in fields:
        assert f'<label for="{field}">' in visitor.page


def test_a_full_cookie_stays_below_what_browsers_keep() -> None:
    """4096 octets is what every browser keeps; the worst screen has 70 letters of Hindi."""
    # Letters in no order, so that compressing helps as little as it can.
    letters = "".join(chr(0x0905 + (place * place * 7) % 50) for place in range(70))
    earlier = tuple(
        Exchange(letters[shift:] + letters[:shift], letters[:40]) for shift in range(KEPT_SCREENS)
    )
    phone = Handheld("f" * 32, "hi", "ussd", 99, 99, letters, True, earlier, 99)
    visit = Visit("t" * 22, {"a": phone, "b": replace(phone, visitor="e" * 32)}, "b", "stale")
    app = Flask("size")
    app.secret_key = "k"
    signer = SecureCookieSessionInterface().get_signing_serializer(app)
    assert signer is not None
    assert len(signer.dumps({"visit": visit.to_cookie()})) < 4000
    assert Visit.from_cookie(visit.to_cookie()) == visit


@pytest.mark.parametrize(
    "values", [None, {}, {"phones": {}}, {"phones": {"a": {"earlier": [{"x": 1}]}}}, [], "x", 7]
)
def test_a_cookie_of_another_kind_is_no_visit(values: Any) -> None:
    assert Visit.from_cookie(values) is None


def test_the_template_uses_every_word_of_the_page(visitor: Any) -> None:

    template = (Path(service.console.__file__).parent / "templates" / "handset.html").read_text()
    assert set(re.findall(r"words\.(\w+)", template)) == set(page_words())


def test_the_cost_of_two_messages_is_said_in_the_plural() -> None:
    full, parts = cost_words(cost_of("a" * 161))
    assert dict(full.values) == {"units": 161, "room": 160}
    assert (parts.plural, parts.values["parts"]) == ("{parts} text messages", 2)


def test_two_phones_are_two_farmers(visitor: Any, reach_the_plan: Any) -> None:
    visitor.begin()
    reach_the_plan(visitor)
    visitor.answer("25")
    assert visitor.screen.startswith("How wide is the plot?")
    visitor.phone = "b"
    assert visitor.screen == ""
    visitor.send("/begin")
    first = visitor.screen
    assert first
    assert not first.startswith("How wide is the plot?")
    visitor.phone = "a"
    assert visitor.screen.startswith("How wide is the plot?")


def texting(visitor: Any) -> Any:
    visitor.open()
    visitor.send("/channel", channel="sms")
    return visitor


def test_a_phone_can_text(visitor: Any, app: Flask) -> None:
    texting(visitor)
    assert visitor.screen == ""
    visitor.answer("aru")
    assert visitor.screen
    assert "<q" in visitor.section
    visitor.open()
    assert "aru" in visitor.section


def test_a_text_sent_twice_counts_once(visitor: Any) -> None:
    texting(visitor).answer("kot")
    token, step = visitor.hidden("token"), visitor.hidden("step")
    cookie = visitor.client.get_cookie("litreline")
    form = {"token": token, "phone": "a", "step": step, "text": "1"}
    visitor.client.post("/answer", data=form)
    visitor.client.set_cookie("litreline", cookie.value)
    visitor.client.post("/answer", data=form)
    visitor.open()
    assert visitor.section.count('<q dir="auto">1</q>') == 1
    visitor.client.set_cookie("litreline", cookie.value)
    visitor.client.post("/answer", data={**form, "text": "2"})
    assert "That was an old page" in visitor.open()


def test_replies_on_the_page_wait_for_no_gateway(visitor: Any, app: Flask) -> None:
    texting(visitor).answer("kot")
    with app.extensions["litreline"].database.unit_of_work() as work:
        assert work.outbox.counts() == {"delivered": 1}
        assert not work.outbox.due(datetime(2027, 1, 1, tzinfo=UTC))


def test_a_texting_phone_is_answered_in_its_language(visitor: Any) -> None:
    texting(visitor)
    visitor.send("/language", language="sw")
    visitor.answer("kot")
    swahili = visitor.screen
    visitor.send("/language", language="fr")
    visitor.answer("zzzz")
    assert 'id="a"' in visitor.page
    assert swahili
    assert visitor.screen != swahili
    assert 'lang="fr"' in visitor.section.split(">")[0]


def test_what_was_told_by_text_is_known_in_a_call(visitor: Any, reach_the_plan: Any) -> None:
    texting(visitor)
    for answer in ("good day", "1", "kot", "1"):
        visitor.answer(answer)
    visitor.send("/channel", channel="ussd")
    visitor.send("/begin")
    assert "first three letters of your district" not in visitor.screen


@pytest.mark.parametrize("channel", ["", "fax"])
def test_a_way_that_is_none_changes_nothing(visitor: Any, channel: str) -> None:
    visitor.begin()
    screen = visitor.screen
    visitor.send("/channel", channel=channel)
    assert visitor.screen == screen
