"""The admin's pages: accounts, prices, tables, the log, and how sending stands."""

from __future__ import annotations

import io
import re
from datetime import timedelta
from typing import Any

import pytest

from service.records import Message, Phone

PASSWORD = "a short sentence to keep"
LIST = "item,price,currency,unit\nvalve_dn20,60.00,QVL,piece\nelbow_25,9.50,QVL,piece\n"


def account_id(admin: Any, name: str) -> str:
    admin.get("/desk/office/accounts")
    [found] = re.findall(rf'/desk/office/accounts/(\w+)">{name}<', admin.page)
    return str(found)


@pytest.fixture
def admin(desk: Any) -> Any:
    return desk.sitter("admin")


def test_an_account_is_made_with_a_password_shown_once(desk: Any, admin: Any) -> None:
    admin.get("/desk/office/accounts/new")
    admin.post("/desk/office/accounts/new", name="Neema", roles=["officer"],
               districts=["velmora"], language="sw", phone="", password="")  # fmt: skip
    [password] = re.findall(r'id="password"[^>]*>([\w-]+)<', admin.page)
    assert len(password) == 19
    neema = desk.sitter()
    neema.sign_in("Neema", password)
    assert '<html lang="sw"' in neema.page
    admin.get("/desk/office/accounts")
    assert password not in admin.page


def test_what_was_typed_stays_when_an_account_is_refused(admin: Any) -> None:
    admin.get("/desk/office/accounts/new")
    admin.post(
        "/desk/office/accounts/new",
        name="operator",
        roles=["officer", "operator"],
        districts=["velmora"],
        language="sw",
        phone="0",
        password="secret words here",
    )
    assert admin.status == 422
    assert "no phone number" in admin.alert
    assert 'value="operator"' in admin.page
    assert re.search(r'value="velmora" checked', admin.page)
    assert re.search(r'value="sw"[^>]*selected', admin.page)
    assert "secret words" not in admin.page
    admin.post("/desk/office/accounts/new", name="operator", roles=["officer"], language="en")
    assert admin.alert == "That name is taken: choose another."


def test_a_district_that_is_none_is_refused(admin: Any) -> None:
    admin.get("/desk/office/accounts/new")
    admin.post("/desk/office/accounts/new", name="Neema", roles=["officer"], districts=["moon"])
    assert admin.alert == "Choose districts of the list."


def test_roles_and_districts_are_changed(desk: Any, admin: Any) -> None:
    bound = account_id(admin, "bound")
    sitter = desk.sitter("bound")
    admin.get(f"/desk/office/accounts/{bound}")
    admin.post(f"/desk/office/accounts/{bound}", roles=["operator"], districts=[], phone="")
    assert admin.notice == "The account is changed."
    sitter.get("/desk/own")
    assert "<h1>Sign in</h1>" in sitter.page
    with desk.unit_of_work() as work:
        account = work.accounts.get(bound)
    assert (account.roles, account.districts) == (("operator",), ())


def test_the_last_admin_stays(admin: Any) -> None:
    own = account_id(admin, "admin")
    admin.get(f"/desk/office/accounts/{own}")
    admin.post(f"/desk/office/accounts/{own}/switch", to="off")
    assert admin.alert == "This is the last admin: make another one first."
    admin.post(f"/desk/office/accounts/{own}", roles=["operator"])
    assert admin.alert == "This is the last admin: make another one first."


def test_an_account_is_switched_off_and_on(desk: Any, admin: Any) -> None:
    officer = account_id(admin, "officer")
    admin.get(f"/desk/office/accounts/{officer}")
    admin.post(f"/desk/office/accounts/{officer}/switch", to="off")
    assert admin.notice == "The account is off."
    assert "<h1>Sign in</h1>" in desk.sitter("officer").page
    admin.post(f"/desk/office/accounts/{officer}/switch", to="on")
    assert "What you can do here" in desk.sitter("officer").page


def test_another_password_is_given(desk: Any, admin: Any) -> None:
    officer = account_id(admin, "officer")
    admin.get(f"/desk/office/accounts/{officer}")
    admin.post(f"/desk/office/accounts/{officer}/password", password="a new long sentence")
    assert "that you typed" in admin.page
    sitter = desk.sitter()
    sitter.sign_in("officer", "a new long sentence")
    assert sitter.status == 200


def send_list(admin: Any, text: bytes) -> str:
    admin.get("/desk/office/prices")
    return str(admin.post("/desk/office/prices/look", file=(io.BytesIO(text), "mine.csv")))


def test_prices_are_looked_at_before_they_are_kept(desk: Any, admin: Any) -> None:
    send_list(admin, LIST.encode())
    assert "Look at the new prices" in admin.page
    assert "have no price in this list" in admin.page
    assert "prices.kept" not in desk.actions()
    admin.post("/desk/office/prices", text=LIST)
    assert admin.notice.startswith("The prices are kept")
    assert "prices.kept" in desk.actions()
    assert (desk.data_dir / "prices.csv").read_text() == LIST


def test_prices_that_were_kept_are_in_use_at_the_next_start(desk: Any, admin: Any) -> None:
    from service.settings import read_settings
    from service.wiring.own_prices import prices_file
    from service.wiring.tables import load_tables

    send_list(admin, LIST.encode())
    admin.post("/desk/office/prices", text=LIST)
    settings = read_settings({"LITRELINE_DATA_DIR": str(desk.data_dir)})
    prices = load_tables(None, prices_file(settings)).tables.prices
    assert prices is not None
    assert prices.by_item == {"valve_dn20": 60.0, "elbow_25": 9.5}


def test_every_bad_row_of_a_price_list_is_told_and_none_kept(desk: Any, admin: Any) -> None:
    bad = LIST + 'valve_dn20,"1,5",QVL,piece\nnothing,1.00,QVL,piece\n<b>,1,QVL,piece\n'
    send_list(admin, bad.encode())
    assert admin.status == 422
    assert "4 rows must be put right" in admin.page or "5 rows must be put right" in admin.page
    assert "&lt;b&gt;" in admin.page
    admin.post("/desk/office/prices", text=bad)
    assert admin.alert == "The list has bad rows: look at it again."
    assert not (desk.data_dir / "prices.csv").exists()


@pytest.mark.parametrize(
    ("sent", "why"),
    [(b"\xff\xfe\x00", "not UTF-8"), (b"", "Choose a file"), (b"item", "put right")],
)
def test_a_file_that_is_no_list_is_refused(admin: Any, sent: bytes, why: str) -> None:
    if sent:
        send_list(admin, sent)
    else:
        admin.get("/desk/office/prices")
        admin.post("/desk/office/prices/look")
    assert admin.status == 422
    assert why in admin.page


def test_the_list_in_use_can_be_taken_as_a_start(admin: Any) -> None:
    answer = admin.client.get("/desk/office/prices.csv")
    assert answer.mimetype == "text/csv"
    assert answer.text.startswith("item,price,currency,unit")
    send_list(admin, answer.data)
    assert "Look at the new prices" in admin.page


def test_tables_show_where_their_figures_are_from(admin: Any) -> None:
    admin.get("/desk/office/tables")
    assert "from memory, not verified" in admin.page
    admin.get("/desk/office/tables/crops/tomato")
    assert "FAO-56 Table 12 (p.110-113); read" in admin.page
    admin.get("/desk/office/tables/crops/moon")
    assert admin.status == 404
    admin.get("/desk/office/tables/districts/velmora")
    assert "no real place" in admin.page


def test_the_log_tells_who_did_what(desk: Any, admin: Any) -> None:
    desk.sitter("operator")
    admin.get("/desk/office/log")
    assert re.search(r"operator</td>\s*<td[^>]*>account: signed in", admin.page)
    admin.get(f"/desk/office/log?account={account_id(admin, 'officer')}")
    assert "Nothing yet." in admin.page


def lost(desk: Any, **more: Any) -> Message:
    phone = desk.keep("phones", Phone(desk.new_id(), "+10005550177", "en", desk.now))
    at = desk.now - timedelta(hours=1)
    values = {
        "id": desk.new_id(), "phone_id": phone.id, "channel": "sms", "kind": "reminder",
        "dedupe_key": "k", "text": "Water 14 minutes", "language": "en", "encoding": "gsm7",
        "parts": 1, "priority": 3, "created_at": at, "place": 0, "not_before": at,
        "not_after": at, "next_try": at, "state": "failed", "open": False,
        "reason": "refused", "settled_at": at,
    }  # fmt: skip
    return desk.keep("outbox", Message(**{**values, **more}))


def test_a_lost_message_is_sent_again_or_let_go(desk: Any, admin: Any) -> None:
    message = lost(desk)
    admin.get("/desk/office/sending")
    assert "Last trouble: refused" in admin.page
    assert "Water 14 minutes" in admin.page
    assert "0005550177" not in admin.page
    admin.post(f"/desk/office/sending/{message.id}/again")
    assert admin.notice == "It is sent again."
    assert "Nothing is lost." in admin.page


def test_letting_go_is_logged(desk: Any, admin: Any) -> None:
    message = lost(desk)
    admin.get("/desk/office/sending")
    admin.post(f"/desk/office/sending/{message.id}/let-go")
    assert admin.notice == "It is not sent again."
    assert "message.let_go" in desk.actions()


def test_what_does_harm_twice_is_not_sent_again(desk: Any, admin: Any) -> None:
    message = lost(desk, kind="alert", state="unknown", uncertain_since=desk.now)
    admin.get("/desk/office/sending")
    admin.post(f"/desk/office/sending/{message.id}/again")
    assert "ring the caller instead" in admin.alert
    assert admin.status == 422
