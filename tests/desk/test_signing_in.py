"""Signing in: who may, what a guesser learns, and when a name is locked."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from argon2 import PasswordHasher

from service.desk.accounts import Accounts
from service.desk.refusals import DeskRefused, NotYours
from service.desk.signing_in import FIRST_LOCK, LONGEST_LOCK, SigningIn, locked_until
from service.wiring.passwords import Argon2

PASSWORD = "three wet fingers"


@pytest.fixture
def accounts(desk: Any, hasher: Any) -> Accounts:
    return Accounts(desk.office, hasher, ("en", "sw", "fr", "hi"), "KE")


@pytest.fixture
def signing(desk: Any, hasher: Any) -> SigningIn:
    return SigningIn(desk.office, hasher)


@pytest.fixture
def amina(desk: Any, accounts: Accounts) -> Any:
    return accounts.create(desk.admin, "Amina", ["operator"], PASSWORD, desk.now)


def refusal(signing: SigningIn, name: str, password: str, now: Any) -> str:
    with pytest.raises(DeskRefused) as told:
        signing.sign_in(name, password, now)
    return told.value.phrase.text


def test_the_right_password_opens_a_sitting_whatever_the_case_of_the_name(desk, signing, amina):
    sitting = signing.sign_in(" amina ", PASSWORD, desk.now)
    account = signing.account(sitting)
    assert account is not None
    assert account.id == amina.id


def test_unknown_wrong_and_switched_off_are_told_alike_and_cost_the_same(
    desk, accounts, signing, amina, hasher
):
    bob = accounts.create(desk.admin, "Bob", ["operator"], PASSWORD, desk.now)
    accounts.set_active(desk.admin, bob.id, desk.now, active=False)
    told, work = set(), set()
    for name, password in (("Nobody", PASSWORD), ("Amina", "wrong"), ("Bob", PASSWORD)):
        before = hasher.verified
        told.add(refusal(signing, name, password, desk.now))
        work.add(hasher.verified - before)
    assert len(told) == 1
    assert work == {1}


def test_five_wrong_passwords_lock_the_name_even_for_the_right_one(desk, signing, amina):
    for _ in range(5):
        refusal(signing, "Amina", "wrong", desk.now)
    refusal(signing, "Amina", PASSWORD, desk.now)
    refusal(signing, "Amina", PASSWORD, desk.now + FIRST_LOCK - timedelta(seconds=1))
    assert signing.sign_in("Amina", PASSWORD, desk.now + FIRST_LOCK)


def test_four_wrong_ones_are_forgotten_by_a_right_one(desk, signing, amina):
    for _ in range(2):
        for _ in range(4):
            refusal(signing, "Amina", "wrong", desk.now)
        signing.sign_in("Amina", PASSWORD, desk.now)


def test_locks_grow_up_to_an_hour(desk):
    locks = [locked_until(failures, desk.now) for failures in range(4, 60)]
    assert locks[0] is None
    waits = [lock - desk.now for lock in locks[1:] if lock is not None]
    assert waits[:3] == [FIRST_LOCK, 2 * FIRST_LOCK, 4 * FIRST_LOCK]
    assert waits == sorted(waits)
    assert waits[-1] == LONGEST_LOCK


def test_guesses_made_side_by_side_all_count(desk, signing, amina):
    stale = amina
    for _ in range(5):
        # Each of them read the account before any of the others was counted.
        assert signing._counted(stale, False, "wrong", desk.now) is None
    with desk.unit_of_work() as work:
        kept = work.accounts.get(amina.id)
    assert kept is not None
    assert (kept.failures, kept.locked_until) == (5, desk.now + FIRST_LOCK)
    assert signing._counted(stale, True, PASSWORD, desk.now) is None


def test_an_admin_lets_a_locked_name_try_again(desk, accounts, signing, amina):
    for _ in range(5):
        refusal(signing, "Amina", "wrong", desk.now)
    accounts.unlock(desk.admin, amina.id, desk.now)
    assert signing.sign_in("Amina", PASSWORD, desk.now)


@pytest.mark.parametrize("change", ["password", "reset", "off", "roles", "out"])
def test_sittings_end_with_a_new_password_new_roles_or_an_end(
    desk, accounts, signing, amina, change
):
    sitting = signing.sign_in("Amina", PASSWORD, desk.now)
    account = signing.account(sitting)
    assert account is not None
    if change == "password":
        accounts.new_password(account, PASSWORD, "another long one", desk.now)
    elif change == "reset":
        accounts.reset_password(desk.admin, amina.id, "another long one", desk.now)
    elif change == "off":
        accounts.set_active(desk.admin, amina.id, desk.now, active=False)
    elif change == "roles":
        accounts.change(desk.admin, amina.id, desk.now, roles=["officer"])
    else:
        signing.end_all(account, desk.now)
    assert signing.account(sitting) is None


@pytest.mark.parametrize(("password", "taken"), [("a" * 11, False), ("a" * 12, True)])
def test_only_the_length_of_a_password_counts(desk, accounts, password, taken):
    if taken:
        assert accounts.create(desk.admin, "New", ["officer"], password, desk.now)
    else:
        with pytest.raises(DeskRefused, match="at least 12"):
            accounts.create(desk.admin, "New", ["officer"], password, desk.now)


def test_a_wrong_old_password_changes_nothing(desk, accounts, signing, amina):
    with pytest.raises(DeskRefused, match="old password"):
        accounts.new_password(amina, "wrong", "another long one", desk.now)
    assert signing.sign_in("Amina", PASSWORD, desk.now)


def test_the_last_admin_stays(desk, accounts):
    with pytest.raises(DeskRefused, match="last admin"):
        accounts.set_active(desk.admin, desk.admin.id, desk.now, active=False)
    with pytest.raises(DeskRefused, match="last admin"):
        accounts.change(desk.admin, desk.admin.id, desk.now, roles=["officer"])


def test_a_name_is_taken_once_whatever_its_case(desk, accounts, amina):
    with pytest.raises(DeskRefused, match="taken"):
        accounts.create(desk.admin, "AMINA", ["officer"], PASSWORD, desk.now)


def test_only_an_admin_makes_or_sees_accounts_and_the_log(desk, accounts, amina):
    for account in (desk.operator, desk.officer):
        with pytest.raises(NotYours):
            accounts.create(account, "New", ["admin"], PASSWORD, desk.now)
        with pytest.raises(NotYours):
            accounts.all(account)
        with pytest.raises(NotYours):
            accounts.lines(account)
        with pytest.raises(NotYours):
            accounts.reset_password(account, desk.admin.id, PASSWORD, desk.now)


def test_the_first_admin_is_made_once(make_desk, any_unit_of_work, hasher, desk, accounts):
    with pytest.raises(DeskRefused, match="accounts already"):
        accounts.first("Root", PASSWORD, desk.now)


def test_the_log_holds_no_password_and_no_name_that_was_tried(desk, accounts, signing, amina):
    refusal(signing, "my secret by mistake", PASSWORD, desk.now)
    signing.sign_in("Amina", PASSWORD, desk.now)
    whole = repr(accounts.lines(desk.admin))
    assert "account.sign_in_refused" in whole
    assert "account.signed_in" in whole
    assert "secret" not in whole
    assert PASSWORD not in whole


def test_argon2_keeps_a_password_and_knows_old_parameters():
    weak = Argon2(PasswordHasher(time_cost=1, memory_cost=64, parallelism=1))
    kept = weak.hash(PASSWORD)
    assert kept.startswith("$argon2id$")
    assert PASSWORD not in kept
    assert weak.verify(kept, PASSWORD)
    assert not weak.verify(kept, PASSWORD + "x")
    assert not weak.verify("no hash at all", PASSWORD)
    assert not weak.stale(kept)
    assert Argon2().stale(kept)
