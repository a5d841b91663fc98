"""Seasonal messages on the officer's pages: from writing over approval to what became of each."""

from __future__ import annotations

import random
import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from service.records import Consent
from service.settings import read_settings
from service.wiring.outreach import make_outreach

TEXT = "Rain is near, {name}. Water {minutes} min today."
MESSAGE = r"/desk/field/seasonal/(\w{32})"


@pytest.fixture
def officer(desk: Any) -> Any:
    return desk.sitter("officer")


@pytest.fixture
def farmers(desk: Any) -> list[Any]:
    """Three who agreed to reminders, and one who never did."""
    found = []
    for n, name in enumerate(("Asha", "Ben", "Cara", "Dina")):
        phone, plot = desk.caller(f"+1000555010{n}", name)
        if name != "Dina":
            desk.keep("consents", Consent(desk.new_id(), phone.id, desk.now, True, "yes", "paper"))
        found.append((phone, plot))
    return found


def write(sitter: Any, **more: Any) -> str:
    sitter.get("/desk/field/seasonal/new")
    fields = {"title": "Rain is near", "text_en": TEXT, **more}
    sitter.post("/desk/field/seasonal/new", **fields)
    found = re.search(MESSAGE, sitter.page)
    return found[1] if found else ""


def act(sitter: Any, key: str, what: str, **fields: Any) -> str:
    sitter.get(f"/desk/field/seasonal/{key}")
    return str(sitter.post(f"/desk/field/seasonal/{key}/{what}", **fields))


def kept(desk: Any, key: str) -> Any:
    with desk.unit_of_work() as work:
        return work.seasonals.get(key)


def revision(page: str) -> str:
    found = re.search(r'name="revision" value="(\d+)"', page)
    return found[1] if found else ""


@pytest.fixture
def go_on(desk: Any) -> Any:
    """Do what `litreline work` does for a message, a step."""
    settings = read_settings({"LITRELINE_DATA_DIR": str(desk.data_dir), "LITRELINE_REGION": "KE"})
    outreach = make_outreach(settings, desk.app.extensions["litreline"])

    def step(key: str) -> Any:
        return outreach.seasonal.continue_batch(key, kept(desk, key).cursor, desk.now)

    return step


def numbers(page: str) -> dict[str, str]:
    """Return the figures of a page by their names."""
    return dict(re.findall(r"<dt>([^<]*)</dt><dd>\s*([^<]*?)\s*</dd>", page))


def test_a_message_is_written_looked_at_and_says_what_it_amounts_to(
    desk: Any, officer: Any, farmers: list[Any]
) -> None:
    key = write(officer, districts=["kotsindo"], crops=["tomato"], languages=["en"])
    assert "<h1>Rain is near</h1>" in officer.page
    assert "Kotsindo, Tomato, English" in " ".join(officer.page.split())
    assert "4 plots" in officer.page
    officer.get(f"/desk/field/seasonal/{key}/look")
    told = numbers(officer.page)
    assert (told["Plots"], told["Would get a text"], told["Text messages in all"]) == (
        "4", "3", "3",
    )  # fmt: skip
    assert "No consent to reminders" in officer.page
    assert re.search(r"Rain is near, (Asha|Ben|Cara)\. Water \d+ min today\.", officer.page)
    assert "0005550100" not in officer.page
    assert "***" in officer.page
    assert "seasonal.previewed" in desk.actions()


def test_other_recipients_are_shown_by_another_number(
    desk: Any, officer: Any, monkeypatch: Any
) -> None:
    # Ids are random in a deployment, and recipients are shown from a random one on.
    chance = random.Random(1)
    monkeypatch.setattr(desk, "new_id", lambda: f"{chance.getrandbits(128):032x}")
    for n in range(8):
        phone, _ = desk.caller(f"+1000555010{n}", f"Farmer{n}")
        desk.keep("consents", Consent(desk.new_id(), phone.id, desk.now, True, "yes", "paper"))
    key = write(officer)
    seen = set()
    for seed in range(12):
        officer.get(f"/desk/field/seasonal/{key}/look?seed={seed}")
        seen.add(tuple(re.findall(r"near, (\w+)\.", officer.page)))
    assert len(seen) > 1
    officer.get(f"/desk/field/seasonal/{key}/look?seed=x")
    assert officer.status == 200


def test_what_can_be_filled_in_is_told_and_an_unknown_place_is_refused(
    desk: Any, officer: Any, farmers: list[Any]
) -> None:
    officer.get("/desk/field/seasonal/new")
    for name in ("name", "crop", "minutes", "litres", "fills", "stage", "district", "date"):
        assert f"{{{name}}}</code>" in officer.page
    key = write(officer, text_en="Dear {nmae}", text_sw="Habari {name}")
    assert "Nothing is known to put for" in officer.page
    act(officer, key, "submit")
    assert "nmae" in officer.alert
    assert kept(desk, key).state == "draft"


def test_what_was_typed_stays_when_a_message_is_refused(officer: Any) -> None:
    write(officer, title="", districts=["velmora"], stages=["mid"], text_sw="Habari")
    assert officer.status == 422
    assert "title" in officer.alert
    assert re.search(r'value="velmora" checked', officer.page)
    assert re.search(r'value="mid" checked', officer.page)
    assert TEXT in officer.page
    assert ">Habari</textarea>" in officer.page
    write(officer, starts_at="tomorrow")
    assert "Write the moment as" in officer.alert


@pytest.mark.parametrize("bad", [{"districts": ["moon"]}, {"crops": ["x"]}, {"languages": ["xx"]}])
def test_an_audience_out_of_the_lists_is_refused(officer: Any, bad: dict[str, Any]) -> None:
    write(officer, **bad)
    assert "is not in the list" in officer.alert


def test_a_bound_officer_writes_to_the_own_district(desk: Any) -> None:
    bound = desk.sitter("bound")
    bound.get("/desk/field/seasonal/new")
    assert re.search(r'value="velmora" checked', bound.page)
    write(bound)
    assert bound.status == 403
    key = write(bound, districts=["velmora"])
    assert kept(desk, key).audience.districts == ("velmora",)
    other = write(desk.sitter("officer"), districts=["kotsindo"])
    bound.get(f"/desk/field/seasonal/{other}")
    assert bound.status == 403
    bound.get("/desk/field/seasonal")
    assert bound.page.count("Rain is near</a>") == 1


def test_it_is_tried_on_the_own_phone(desk: Any, officer: Any, farmers: list[Any]) -> None:
    key = write(officer)
    officer.get(f"/desk/field/seasonal/{key}/look")
    officer.post(f"/desk/field/seasonal/{key}/test")
    assert officer.notice == "On its way to your own phone: English."
    with desk.unit_of_work() as work:
        phone = work.phones.find("+10005550999")
        history = work.farmers.history(phone.id)
    assert "Rain is near" in history.outbox[0].text


def test_a_small_message_is_ready_at_once(desk: Any, officer: Any, farmers: list[Any]) -> None:
    key = write(officer)
    act(officer, key, "submit")
    assert officer.notice.startswith("So few plots need no second person")
    assert kept(desk, key).state == "approved"


@pytest.fixture
def strict(desk: Any, monkeypatch: Any) -> None:
    """Even a message to one plot needs a second pair of eyes."""
    from service.desk.seasonal import SeasonalDrafts

    monkeypatch.setattr(SeasonalDrafts, "_needs_second", lambda self, plots: plots > 1)


def test_a_large_message_is_approved_by_somebody_else(
    desk: Any, officer: Any, farmers: list[Any], strict: None
) -> None:
    key = write(officer)
    assert "Another person must approve it" in officer.page
    act(officer, key, "submit")
    assert kept(desk, key).state == "waiting"
    assert ">Approve</button>" not in officer.page
    version = kept(desk, key).revision
    act(officer, key, "approve", revision=version)
    assert "Another person must approve" in officer.alert
    second = desk.sitter("admin")
    second.get(f"/desk/field/seasonal/{key}")
    assert ">Approve</button>" in second.page
    second.post(f"/desk/field/seasonal/{key}/approve", revision=revision(second.page))
    assert kept(desk, key).state == "approved"
    assert "Approved - admin" in " ".join(second.page.split())


def test_what_was_changed_meanwhile_is_not_approved(
    desk: Any, officer: Any, farmers: list[Any], strict: None
) -> None:
    key = write(officer)
    act(officer, key, "submit")
    second = desk.sitter("admin")
    second.get(f"/desk/field/seasonal/{key}")
    looked_at = revision(second.page)
    officer.get(f"/desk/field/seasonal/{key}/edit")
    officer.post(
        f"/desk/field/seasonal/{key}/edit", revision=revision(officer.page), title="Rain",
        text_en="Other words",
    )  # fmt: skip
    assert "It is a draft until" in officer.notice
    act(officer, key, "submit")
    second.post(f"/desk/field/seasonal/{key}/approve", revision=looked_at)
    assert second.status == 409
    assert kept(desk, key).state == "waiting"
    second.post(f"/desk/field/seasonal/{key}/approve", revision="x")
    assert second.status == 404


def test_it_is_given_back_with_a_word_why(
    desk: Any, officer: Any, farmers: list[Any], strict: None
) -> None:
    key = write(officer)
    act(officer, key, "submit")
    second = desk.sitter("admin")
    act(second, key, "send-back", why="Say which <day>")
    assert kept(desk, key).state == "draft"
    officer.get(f"/desk/field/seasonal/{key}")
    assert "<q>Say which &lt;day&gt;</q>" in officer.page


def test_two_who_change_a_message_do_not_overwrite_each_other(desk: Any, officer: Any) -> None:
    key = write(officer)
    officer.get(f"/desk/field/seasonal/{key}/edit")
    old = revision(officer.page)
    for n, status in ((1, 200), (2, 409)):
        officer.post(
            f"/desk/field/seasonal/{key}/edit", revision=old, title=f"Title {n}",
            text_en=f"Words {n}",
        )  # fmt: skip
        assert officer.status == status
    assert kept(desk, key).title == "Title 1"
    assert "Words 2" in officer.page


def test_it_goes_out_is_watched_and_the_results_are_told(
    desk: Any, officer: Any, farmers: list[Any], go_on: Any
) -> None:
    key = write(officer)
    act(officer, key, "submit")
    act(officer, key, "start", when="now")
    assert officer.notice == "Started."
    assert "within a minute or two" in officer.page
    assert 'data-going="yes"' in officer.page
    go_on(key)
    officer.get(f"/desk/field/seasonal/{key}/progress")
    assert "<html" not in officer.page
    told = numbers(officer.page)
    assert (told["Texts written"], told["Wait to be sent"], told["Plots left out"]) == (
        "3", "3", "1",
    )  # fmt: skip
    assert "No consent to reminders" in officer.page
    answer = officer.client.get(f"/desk/field/seasonal/{key}/results.csv")
    assert answer.text.count("queued") == 3
    assert answer.text.count("no_consent") == 1
    assert "+1000555" not in answer.text
    with desk.unit_of_work() as work:
        texts = [one.text for phone, _ in farmers for one in work.farmers.history(phone.id).outbox]
    assert sorted(re.findall(r"near, (\w+)", " ".join(texts))) == ["Asha", "Ben", "Cara"]


def test_it_is_paused_resumed_and_cancelled(
    desk: Any, officer: Any, farmers: list[Any], go_on: Any
) -> None:
    key = write(officer)
    act(officer, key, "submit")
    act(officer, key, "start", when="now")
    act(officer, key, "pause")
    assert kept(desk, key).state == "paused"
    assert "Nothing leaves until it goes on." in officer.page
    assert type(go_on(key)).__name__ == "Wait"
    act(officer, key, "resume")
    go_on(key)
    act(officer, key, "cancel")
    assert "Tick that you are sure" in officer.alert
    act(officer, key, "cancel", sure="yes")
    assert officer.notice == "Cancelled. 3 texts were still taken back."
    assert kept(desk, key).state == "cancelled"
    act(officer, key, "resume")
    assert officer.status == 422
    assert go_on(key) is None


def test_it_begins_at_a_moment_by_the_clock_of_the_service(
    desk: Any, officer: Any, farmers: list[Any], go_on: Any
) -> None:
    key = write(officer)
    act(officer, key, "submit")
    act(officer, key, "start", when="later", starts_at="")
    assert officer.alert == "Say at which moment it begins."
    act(officer, key, "start", when="later", starts_at="2026-11-27T10:00")
    assert kept(desk, key).starts_at == datetime(2026, 11, 27, 10, tzinfo=UTC)
    assert type(go_on(key)).__name__ == "Wait"
    officer.get("/desk/field/calendar")
    row = officer.page.split("27 Nov")[1].split("</tr>")[0]
    assert "Rain is near" in row
    assert "10:00" in row
    desk.later(days=2, hours=2)
    assert isinstance(go_on(key), str)


def test_now_means_now_whatever_was_thought_of_while_writing(
    desk: Any, officer: Any, farmers: list[Any], go_on: Any
) -> None:
    key = write(officer, starts_at="2026-12-24T10:00")
    act(officer, key, "submit")
    act(officer, key, "start", when="now")
    assert kept(desk, key).starts_at - desk.now < timedelta(minutes=1)
    assert isinstance(go_on(key), str)


def test_only_officers_and_admins_write_to_many(desk: Any, officer: Any) -> None:
    key = write(officer)
    operator = desk.sitter("operator")
    for path in ("seasonal", "seasonal/new", f"seasonal/{key}", f"seasonal/{key}/results.csv"):
        operator.get(f"/desk/field/{path}")
        assert operator.status == 403, path
