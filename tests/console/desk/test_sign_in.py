"""Signing in and out: who gets in, what the cookie holds, and what a refusal looks like."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

PASSWORD = "a short sentence to keep"


def cookie_of(sitter: Any) -> Any:
    return sitter.client.get_cookie("litreline_desk", path="/desk")


def test_everybody_is_sent_to_sign_in_and_back(desk: Any) -> None:
    sitter = desk.sitter()
    sitter.get("/desk/own?x=1")
    assert 'name="next" value="/desk/own?x=1"' in sitter.page
    sitter.post("/desk/sign-in", name="operator", password=PASSWORD, next="/desk/own")
    assert "<h1>Your account</h1>" in sitter.page
    assert "account.signed_in" in desk.actions()


@pytest.mark.parametrize(
    "elsewhere", ["https://example.org/", "//example.org/", "/desk//example.org", "/\\example.org"]
)
def test_nobody_is_sent_elsewhere_after_signing_in(desk: Any, elsewhere: str) -> None:
    sitter = desk.sitter()
    sitter.get("/desk/sign-in")
    form = {"token": sitter.token, "name": "operator", "password": PASSWORD, "next": elsewhere}
    answer = sitter.client.post("/desk/sign-in", data=form)
    assert answer.headers["Location"] == "/desk/"


@pytest.mark.parametrize("role", ["operator", "officer", "admin"])
def test_the_first_page_lists_what_a_role_can_do(desk: Any, role: str) -> None:
    assert "What you can do here" in desk.sitter(role).page


def test_admins_see_the_pages_of_the_office_and_others_do_not(desk: Any) -> None:
    assert "/desk/office/accounts" in desk.sitter("admin").page
    assert "/desk/office/accounts" not in desk.sitter("operator").page


def test_a_wrong_password_keeps_the_name_and_says_why(desk: Any) -> None:
    sitter = desk.sitter()
    sitter.sign_in("operator", "something else entirely")
    assert sitter.status == 422
    assert "Name or password is not right" in sitter.alert
    assert 'value="operator"' in sitter.page
    assert "something else" not in sitter.page


def test_guessing_locks_a_name_kindly_and_an_admin_unlocks_it(desk: Any) -> None:
    guesser, admin = desk.sitter(), desk.sitter("admin")
    for guess in range(6):
        guesser.sign_in("operator", f"wrong password {guess}")
    assert "rests for some minutes" in guesser.page
    guesser.sign_in("operator")
    assert guesser.status == 422
    admin.get("/desk/office/accounts")
    assert "Rests until" in admin.page
    [operator] = re.findall(r'/desk/office/accounts/(\w+)">operator', admin.page)
    admin.get(f"/desk/office/accounts/{operator}")
    admin.post(f"/desk/office/accounts/{operator}/unlock")
    assert admin.notice == "The account may try again."
    guesser.sign_in("operator")
    assert guesser.status == 200


def test_signing_out_ends_the_sitting(desk: Any) -> None:
    sitter = desk.sitter("operator")
    sitter.post("/desk/sign-out")
    assert sitter.notice == "You have signed out."
    sitter.get("/desk/own")
    assert "<h1>Sign in</h1>" in sitter.page


def test_a_sitting_ends_when_nothing_was_done_for_long(desk: Any) -> None:
    sitter = desk.sitter("operator")
    desk.later(minutes=119)
    sitter.get("/desk/own")
    assert "<h1>Your account</h1>" in sitter.page
    desk.later(minutes=119)
    sitter.get("/desk/own")
    assert "<h1>Your account</h1>" in sitter.page
    desk.later(minutes=121)
    sitter.get("/desk/own")
    assert "<h1>Sign in</h1>" in sitter.page


def test_a_sitting_ends_after_a_long_day(desk: Any) -> None:
    sitter = desk.sitter("operator")
    for _ in range(12):
        desk.later(minutes=59)
        sitter.get("/desk/own")
    assert "<h1>Your account</h1>" in sitter.page
    desk.later(minutes=15)
    sitter.get("/desk/own")
    assert "<h1>Sign in</h1>" in sitter.page


def test_a_form_after_the_sitting_says_so(desk: Any) -> None:
    sitter = desk.sitter("operator")
    desk.later(hours=3)
    sitter.post("/desk/own/language", language="sw")
    assert "Your sitting is over" in sitter.notice


def test_signing_out_everywhere_ends_other_browsers(desk: Any) -> None:
    here, there = desk.sitter("operator"), desk.sitter("operator")
    here.get("/desk/own")
    here.post("/desk/own/end-all")
    for sitter in (here, there):
        sitter.get("/desk/own")
        assert "<h1>Sign in</h1>" in sitter.page


def test_an_account_that_is_switched_off_is_out_at_once(desk: Any) -> None:
    sitter = desk.sitter("operator")
    with desk.unit_of_work() as work:
        account = work.accounts.named("operator")
        work.accounts.save(replace(account, active=False))
        work.commit()
    sitter.get("/desk/own")
    assert "<h1>Sign in</h1>" in sitter.page


def test_ones_own_password_is_changed_and_this_browser_stays(desk: Any) -> None:
    here, there = desk.sitter("operator"), desk.sitter("operator")
    here.get("/desk/own")
    here.post("/desk/own/password", old_password="not it at all", new_password="x" * 12)
    assert here.alert == "The old password is not right."
    here.post("/desk/own/password", old_password=PASSWORD, new_password="too short")
    assert "at least 12 letters" in here.alert
    here.post("/desk/own/password", old_password=PASSWORD, new_password="another long sentence")
    assert here.notice.startswith("Your password is changed.")
    there.get("/desk/own")
    assert "<h1>Sign in</h1>" in there.page


def test_the_language_of_the_pages_is_ones_own(desk: Any) -> None:
    sitter = desk.sitter("operator")
    sitter.get("/desk/own")
    sitter.post("/desk/own/language", language="ar")
    assert '<html lang="ar" dir="rtl">' in sitter.page
    sitter.post("/desk/own/language", language="xx")
    assert sitter.status == 422


def test_the_language_of_a_guest_is_asked_of_the_browser_and_can_be_chosen(desk: Any) -> None:
    sitter = desk.sitter()
    page = sitter.client.get("/desk/sign-in", headers={"Accept-Language": "sw, en;q=0.5"}).text
    assert '<html lang="sw"' in page
    sitter.get("/desk/sign-in?language=fr")
    assert '<html lang="fr"' in sitter.page
    assert '<html lang="fr"' in sitter.get("/desk/sign-in")


@pytest.mark.parametrize("read", [None, "by somebody"])
def test_a_draft_of_a_translation_says_that_it_is_one(
    desk: Any, monkeypatch: Any, read: str | None
) -> None:
    monkeypatch.setattr("service.console.desk.frame.DeskPages.is_draft", lambda *_: read is None)
    sitter = desk.sitter("operator")
    assert ("no speaker has read them" in sitter.page) == (read is None)


def test_the_cookie_is_of_the_desk_alone(desk: Any) -> None:
    sitter = desk.sitter()
    answer = sitter.client.get("/desk/sign-in")
    cookie = answer.headers["Set-Cookie"]
    assert cookie.startswith("litreline_desk=")
    assert "Path=/desk" in cookie
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert "Secure" not in cookie


def test_over_https_the_cookie_never_leaves_without(desk: Any) -> None:
    answer = desk.sitter().client.get("/desk/sign-in", base_url="https://desk.example")
    assert "; Secure" in answer.headers["Set-Cookie"]
    assert "max-age" in answer.headers["Strict-Transport-Security"]


def test_a_cookie_of_the_handset_page_opens_nothing(desk: Any) -> None:
    sitter = desk.sitter("operator")
    forged = desk.app.session_interface._page.get_signing_serializer(desk.app)
    kept = desk.app.session_interface._desk.get_signing_serializer(desk.app)
    values = kept.loads(cookie_of(sitter).value)
    sitter.client.set_cookie("litreline_desk", forged.dumps(values), path="/desk")
    sitter.get("/desk/own")
    assert "<h1>Sign in</h1>" in sitter.page


def test_no_cache_keeps_a_page_and_every_cache_a_style(desk: Any) -> None:
    sitter = desk.sitter("operator")
    answer = sitter.client.get("/desk/own")
    assert answer.headers["Cache-Control"] == "no-store"
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
    assert "frame-ancestors 'none'" in answer.headers["Content-Security-Policy"]
    [style] = re.findall(r'href="(/desk/static/style.css\?v=\w+)"', answer.text)
    with sitter.client.get(style) as sheet:
        assert "immutable" in sheet.headers["Cache-Control"]
        assert "Set-Cookie" not in sheet.headers


def test_pages_are_small(desk: Any) -> None:
    """60 kB is what a page may weigh on a weak link (our bound)."""
    admin = desk.sitter("admin")
    for path in ("/desk/", "/desk/own", "/desk/office/tables", "/desk/office/prices"):
        assert len(admin.get(path).encode()) < 60_000, path


def test_an_unknown_address_has_a_page_of_its_own(desk: Any) -> None:
    sitter = desk.sitter("operator")
    sitter.get("/desk/nothing/here")
    assert sitter.status == 404
    assert "<h1>Nothing here</h1>" in sitter.page


def test_a_failure_tells_nothing_of_its_inside(desk: Any, monkeypatch: Any) -> None:
    sitter = desk.sitter("admin")

    def fail(*_: Any, **__: Any) -> None:
        raise RuntimeError("secret words")

    monkeypatch.setattr("service.desk.accounts.Accounts.all", fail)
    sitter.get("/desk/office/accounts")
    assert sitter.status == 500
    assert "<h1>Something failed</h1>" in sitter.page
    assert "secret words" not in sitter.page


def test_a_form_that_is_too_large_is_refused(desk: Any) -> None:
    sitter = desk.sitter("operator")
    sitter.get("/desk/own")
    sitter.post("/desk/own/language", language="x" * 70_000)
    assert sitter.status == 413
    assert "<h1>Too large</h1>" in sitter.page
