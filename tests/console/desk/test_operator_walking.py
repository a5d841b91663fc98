"""Walking the caller's conversation at the desk, and taking a caller's own over half way."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest

from service.channels import Incoming

HELPLINE = "/desk/helpline"


class Walk:
    """Somebody who walks by forms alone."""

    def __init__(self, sitter: Any) -> None:
        self.sitter = sitter

    def begin(self, phone: Any, flow: str, **more: str) -> str:
        self.sitter.get(f"{HELPLINE}/callers/{phone.id}")
        return self.sitter.post(f"{HELPLINE}/callers/{phone.id}/begin", flow=flow, **more)

    def send(self, **fields: str) -> str:
        return self.sitter.post(self.action("answer"), **{"revision": self.revision, **fields})

    def press(self, what: str) -> str:
        return self.sitter.post(self.action(what), revision=self.revision)

    def action(self, what: str) -> str:
        found = re.search(rf'action="([^"]*/walks/[^"]*/{what}[^"]*)"', self.sitter.page)
        assert found, f"no form for {what}"
        return unescape(found[1])

    @property
    def revision(self) -> str:
        found = re.search(r'name="revision" value="(\d+)"', self.sitter.page)
        return found[1] if found else ""

    @property
    def question(self) -> str:
        found = re.search(r'id="question">(.*?)</div>', self.sitter.page, re.S)
        return unescape(re.sub("<[^>]*>", " ", found[1])) if found else ""


@pytest.fixture
def walk(desk: Any) -> Walk:
    return Walk(desk.sitter("operator"))


def dial(desk: Any, *texts: str, number: str = "+10005550100") -> str:
    """Dial as the caller and answer; return the last screen."""
    turns, reply = desk.app.extensions["litreline"].turns, None
    for step, text in enumerate(("*100#", *texts)):
        phase = "continue" if step else "begin"
        incoming = Incoming("ussd", number, f"call-{number}", step, text, phase=phase)
        reply = turns.take(incoming, desk.now)
    return str(reply.text)


def test_questions_are_asked_and_the_answers_kept_with_the_plot(desk: Any, walk: Walk) -> None:
    phone = desk.caller()[0]
    with desk.unit_of_work() as work:
        plot = work.plots.of_phone(phone.id)[0]
    walk.begin(phone, "myplot", plot=plot.id)
    assert walk.question
    walk.send(choice="4")
    walk.send(text="90")
    with desk.unit_of_work() as work:
        assert work.plots.get(plot.id).answers["laid_minutes"] == 90


def test_what_the_caller_sees_stands_beside_it_with_its_cost(desk: Any, walk: Walk) -> None:
    page = walk.begin(desk.caller()[0], "plan")
    assert "What the caller sees" in page
    assert re.search(r"\d+ of 160 characters - 1 text message", page)
    assert "How long is the plot?" in walk.question


def test_a_misread_answer_says_so_and_stays(desk: Any, walk: Walk) -> None:
    walk.begin(desk.caller()[0], "plan")
    page = walk.send(text="tall")
    assert "Not understood: ask again" in page
    assert "How long is the plot?" in walk.question


def test_one_question_back(desk: Any, walk: Walk) -> None:
    walk.begin(desk.caller()[0], "plan")
    walk.send(text="20")
    assert "How wide" in walk.question
    walk.press("back")
    assert "How long" in walk.question


def test_an_old_page_moves_nothing_and_shows_where_it_stands(desk: Any, walk: Walk) -> None:
    walk.begin(desk.caller()[0], "plan")
    old = walk.revision
    walk.send(text="20")
    walk.send(text="30", revision=old)
    assert walk.sitter.status == 409
    assert "This page is old" in walk.sitter.alert
    assert "How wide" in walk.question


def test_a_page_without_its_version_is_refused(desk: Any, walk: Walk) -> None:
    walk.begin(desk.caller()[0], "plan")
    walk.send(text="20", revision="x")
    assert walk.sitter.status == 404


def test_stop_is_not_typed_at_the_desk(desk: Any, walk: Walk) -> None:
    phone, _ = desk.caller()
    walk.begin(phone, "plan")
    page = walk.send(text="stop")
    assert walk.sitter.status == 422
    assert 'value="stop"' in page
    with desk.unit_of_work() as work:
        assert work.consents.latest(phone.id) is None


def test_a_wish_to_be_rung_opens_a_ticket(desk: Any, walk: Walk) -> None:
    phone, _ = desk.caller()
    walk.begin(phone, "helpline")
    for text in ("6", "the last line is dry"):
        walk.send(text=text)
    page = walk.send(text="1")
    with desk.unit_of_work() as work:
        (ticket,) = work.tickets.of_phone(phone.id)
    assert ticket.matter == "the last line is dry"
    assert "A ticket was opened for this matter." in page


def test_leaving_ends_the_walk_and_keeps_the_answers(desk: Any, walk: Walk) -> None:
    phone, plot = desk.caller()
    walk.begin(phone, "plan", plot=plot.id)
    walk.send(text="25")
    address = walk.action("answer").replace("/answer", "").split("?")[0]
    walk.press("leave")
    assert "<h1>Asha</h1>" in walk.sitter.page
    with desk.unit_of_work() as work:
        assert work.plots.get(plot.id).answers["plot_length_m"] == 25
        assert work.sessions.open_of_phone(phone.id) == ()
    walk.sitter.get(address)
    assert walk.sitter.status == 422


def test_the_last_screen_is_shown_when_a_walk_ends(desk: Any, walk: Walk) -> None:
    phone, plot = desk.caller(language="en", laid="no")
    walk.begin(phone, "plan", plot=plot.id)
    answers = ("20", "15", "tomato", "3", "500", "1.5", "See the plan", "Next", "Next", "Short")
    for text in answers:
        page = walk.send(text=text)
    assert "The conversation has ended" in page
    assert "min a day" in walk.question
    assert 'name="text"' not in page
    with desk.unit_of_work() as work:
        assert work.sessions.open_of_phone(phone.id) == ()


def test_the_first_plot_of_a_new_caller_is_made_by_the_walk(desk: Any, walk: Walk) -> None:
    walk.sitter.get(f"{HELPLINE}/find")
    walk.sitter.post(f"{HELPLINE}/callers", number="+254711000111")
    with desk.unit_of_work() as work:
        phone = work.phones.find("+254711000111")
    walk.begin(phone, "plan")
    walk.send(text="25")
    with desk.unit_of_work() as work:
        assert work.plots.of_phone(phone.id)[0].answers["plot_length_m"] == 25


def test_a_menu_is_no_form(desk: Any, walk: Walk) -> None:
    phone, plot = desk.caller()
    walk.begin(phone, "start", plot=plot.id, **{"as": "form"})
    assert walk.sitter.status == 422
    assert "walk it screen by screen" in walk.sitter.alert


def test_an_unknown_conversation_is_not_found(desk: Any, walk: Walk) -> None:
    walk.begin(desk.caller()[0], "nonsense")
    assert walk.sitter.status == 404


# --- the caller's own -----------------------------------------------------------------------------


def test_a_callers_conversation_is_looked_at_taken_and_handed_back(desk: Any, walk: Walk) -> None:
    phone, _ = desk.caller()
    seen = dial(desk, "3")
    page = walk.sitter.get(f"{HELPLINE}/callers/{phone.id}")
    look = unescape(re.findall(r'href="([^"]*walks/[^"]*look=1)"', page)[0])
    page = walk.sitter.get(look)
    assert seen.splitlines()[0] in walk.question
    assert "Nothing moves while you look." in page
    assert 'name="text"' not in page
    walk.press("take-over")
    assert "in your hands" in walk.sitter.page
    walk.send(text="1")
    with desk.unit_of_work() as work:
        (session,) = work.sessions.open_of_phone(phone.id)
    assert session.owner == "operator"
    walk.press("hand-back")
    assert "The caller goes on alone now." in walk.sitter.notice
    with desk.unit_of_work() as work:
        assert work.sessions.open_of_phone(phone.id)[0].owner == "caller"


def test_when_the_caller_goes_on_the_desk_is_told_and_may_take_over_again(
    desk: Any, walk: Walk
) -> None:
    phone, _ = desk.caller()
    dial(desk, "3")
    walk.sitter.get(f"{HELPLINE}/callers/{phone.id}")
    walk.press("take-over")
    answer = walk.action("answer")
    walk.press("hand-back")
    walk.sitter.post(answer, revision="9", text="1")
    assert walk.sitter.status == 422
    assert "The caller goes on alone" in walk.sitter.alert
    walk.press("take-over")
    assert "You have the conversation." in walk.sitter.notice
