"""Walking the caller's conversation at the desk, and taking a caller's own one over."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from service.desk.refusals import Clash, DeskRefused, NotYours
from service.desk.walking import Walking

GO_ON = "Go on where you stopped"


@pytest.fixture
def walking(desk: Any) -> Walking:
    return Walking(desk.office, desk.dialogue, desk.speech, desk.context_for)


def walk(walking: Walking, desk: Any, walked: Any, *texts: str) -> Any:
    for text in texts:
        walked = walking.answer(desk.operator, walked.session_id, walked.revision, text, desk.now)
    return walked


def questions(walked: Any) -> str:
    return " ".join(phrase.text for phrase in walked.screen.lines)


PLAN = ("20", "15", "tomato", "3", "500", "1.5")


def test_the_desk_walks_the_same_questions_and_keeps_the_same_answers(
    desk, walking, make_telephone
):
    at_desk, on_phone = desk.phone(), desk.phone("+10005550101")
    walked = walking.begin(desk.operator, at_desk.id, "plan", desk.now)
    caller = make_telephone(desk, on_phone.number)
    caller.dial()
    for text in ("kot", "1", "1"):
        caller.say(text)
    screens = [caller.say(text) for text in PLAN]
    walked_screens = []
    for text in PLAN:
        walked = walk(walking, desk, walked, text)
        walked_screens.append(walked.seen.ussd[0].text)
    assert (walked.flow, walked.state) == ("plan", "taken")
    # The last screen hangs on the district, which only the caller was asked for.
    assert walked_screens[:-1] == screens[:-1]
    with desk.unit_of_work() as work:
        (mine,), (theirs,) = work.plots.of_phone(at_desk.id), work.plots.of_phone(on_phone.id)
    asked = ("plot_length_m", "plot_width_m", "crop", "tank_volume_l", "stand_height_m")
    assert [mine.answers[name] for name in asked] == [theirs.answers[name] for name in asked]


def test_a_page_sent_twice_moves_nothing_twice(desk, walking):
    walked = walking.begin(desk.operator, desk.phone().id, "plan", desk.now)
    walking.answer(desk.operator, walked.session_id, walked.revision, "20", desk.now)
    with pytest.raises(Clash, match="moved on"):
        walking.answer(desk.operator, walked.session_id, walked.revision, "20", desk.now)
    again = walking.see(desk.operator, walked.session_id, desk.now)
    assert again.answers["plot_length_m"] == 20
    assert again.state == "width"


def test_back_and_a_misread_answer(desk, walking):
    walked = walking.begin(desk.operator, desk.phone().id, "plan", desk.now)
    walked = walk(walking, desk, walked, "20")
    walked = walking.back(desk.operator, walked.session_id, walked.revision, desk.now)
    assert walked.state == "length"
    walked = walk(walking, desk, walked, "tall")
    assert not walked.understood
    assert walked.state == "length"


def test_the_screen_comes_with_what_it_costs_in_the_callers_language(desk, walking):
    walked = walking.begin(desk.operator, desk.phone(language="hi").id, "plan", desk.now)
    page = walked.seen.ussd[0]
    assert walked.language == "hi"
    assert page.room == 70
    assert 0 < page.units <= 70


def test_a_walk_about_a_named_plot_keeps_its_answers_there(desk, walking):
    phone = desk.phone()
    current = desk.plot(phone)
    other = desk.plot(phone, current=False, answers={"tank_volume_l": 200})
    walked = walking.begin(desk.operator, phone.id, "myplot", desk.now, other.id)
    walk(walking, desk, walked, "4", "60")
    assert desk.stored_plot(other.id).answers["laid_minutes"] == 60
    assert desk.stored_plot(current.id).answers["laid_minutes"] == 0


def test_a_wish_to_be_rung_opens_a_ticket_at_the_desk_too(desk, walking):
    phone = desk.phone()
    walked = walking.begin(desk.operator, phone.id, "helpline", desk.now)
    walked = walk(walking, desk, walked, "6", "the last line is dry", "1")
    assert walked.ticket_opened
    with desk.unit_of_work() as work:
        (ticket,) = work.tickets.of_phone(phone.id)
    assert (ticket.kind, ticket.matter, ticket.danger) == ("call_back", "the last line is dry", "")


def test_stop_typed_at_the_desk_stops_nothing(desk, walking):
    phone = desk.phone()
    walked = walking.begin(desk.operator, phone.id, "plan", desk.now)
    with pytest.raises(DeskRefused, match="caller's page"):
        walk(walking, desk, walked, "stop")
    with desk.unit_of_work() as work:
        assert work.consents.latest(phone.id) is None


def test_only_an_operator_walks(desk, walking):
    with pytest.raises(NotYours):
        walking.begin(desk.officer, desk.phone().id, "plan", desk.now)


def test_one_left_is_over(desk, walking):
    walked = walking.begin(desk.operator, desk.phone().id, "plan", desk.now)
    walking.leave(desk.operator, walked.session_id, desk.now)
    with pytest.raises(DeskRefused, match="has ended"):
        walking.see(desk.operator, walked.session_id, desk.now)


# --- taken over ----------------------------------------------------------------------------------


@pytest.fixture
def half_way(desk: Any, make_telephone: Any) -> Any:
    """A caller in the middle of the plan: the crop is asked."""
    phone = desk.phone()
    caller = make_telephone(desk)
    caller.dial()
    for text in ("kot", "1", "1", "20", "15"):
        caller.say(text)
    with desk.unit_of_work() as work:
        (session,) = work.sessions.open_of_phone(phone.id)
    return caller, session


def test_the_operator_goes_on_where_the_caller_stood(desk, walking, half_way):
    _, session = half_way
    walked = walking.take_over(desk.operator, session.id, desk.now)
    assert (walked.flow, walked.state) == ("plan", "crop")
    walked = walk(walking, desk, walked, "tomato", "3")
    assert walked.answers["plot_length_m"] == 20
    with desk.unit_of_work() as work:
        (plot,) = work.plots.of_phone(session.phone_id)
    assert (plot.answers["crop"], plot.answers["weeks_since_planting"]) == ("tomato", 3)


def test_what_the_caller_sends_meanwhile_answers_nothing_and_offers_to_go_on(
    desk, walking, half_way
):
    caller, session = half_way
    walked = walking.take_over(desk.operator, session.id, desk.now)
    walked = walk(walking, desk, walked, "tomato")
    told = caller.say("2")
    assert "helpline is filling this in for you" in told
    assert GO_ON in told
    walked = walking.see(desk.operator, session.id, desk.now)
    walked = walk(walking, desk, walked, "3")
    assert (walked.answers["crop"], walked.state) == ("tomato", "tank")
    # The operator went on, so the offer has not been answered: it is put again.
    assert GO_ON in caller.say("500")
    assert "litres" in caller.say("1")
    with pytest.raises(DeskRefused, match="goes on alone"):
        walk(walking, desk, walking.see(desk.operator, session.id, desk.now), "400")
    assert "foot of the tank" in caller.say("500")


def test_a_caller_who_dials_again_is_told_and_may_go_on(desk, walking, half_way):
    caller, session = half_way
    walked = walking.take_over(desk.operator, session.id, desk.now)
    walk(walking, desk, walked, "tomato")
    told = caller.dial()
    assert "helpline is filling this in for you" in told
    assert "weeks" in caller.say("1")
    with pytest.raises(DeskRefused, match="newer one"):
        walking.answer(desk.operator, session.id, walked.revision + 1, "3", desk.now)


def test_stop_is_heeded_while_the_operator_has_the_conversation(desk, walking, half_way):
    caller, session = half_way
    walking.take_over(desk.operator, session.id, desk.now)
    caller.say("stop")
    with desk.unit_of_work() as work:
        latest = work.consents.latest(session.phone_id)
    assert latest is not None
    assert not latest.given


def test_handed_back_the_caller_sees_the_new_question_before_any_key_is_an_answer(
    desk, walking, half_way
):
    caller, session = half_way
    walked = walking.take_over(desk.operator, session.id, desk.now)
    walk(walking, desk, walked, "tomato")
    walking.hand_back(desk.operator, session.id, desk.now)
    shown = caller.say("7")
    assert "weeks" in shown
    with desk.unit_of_work() as work:
        (plot,) = work.plots.of_phone(session.phone_id)
    assert "weeks_since_planting" not in plot.answers
    assert "litres" in caller.say("3")


def test_a_repeated_step_still_gets_its_old_reply_after_a_takeover(desk, walking, half_way):
    caller, session = half_way
    with desk.unit_of_work() as work:
        before = work.sessions.get(session.id)
    walked = walking.take_over(desk.operator, session.id, desk.now)
    walk(walking, desk, walked, "tomato")
    assert before is not None
    assert caller._send("15") == before.last_reply


def test_whoever_texts_gets_the_question_when_handed_back(desk, walking, half_way):
    _, session = half_way
    with desk.unit_of_work() as work:
        stored = work.sessions.get(session.id)
        assert stored is not None
        texted = replace(
            stored, id="text", channel="sms", gateway_session="text", revision=0, last_step=0
        )
        work.sessions.add(texted)
        work.commit()
    walked = walking.take_over(desk.operator, "text", desk.now)
    walk(walking, desk, walked, "tomato")
    walking.hand_back(desk.operator, "text", desk.now)
    (text,) = desk.outbox(session.phone_id)
    assert "weeks" in text
    assert desk.actions()[-3:] == ["session.taken_over", "walk.answered", "session.handed_back"]
