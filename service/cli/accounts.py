"""`litreline accounts`: who may sign in at the desk."""

from __future__ import annotations

import argparse
import getpass
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from service.cli.groups import Commands, add_command
from service.cli.output import tell
from service.desk.accounts import Accounts
from service.errors import LitrelineError
from service.records import ROLES, Account
from service.storage import Database
from service.text.languages import LANGUAGES
from service.wiring.demo import KEEPER
from service.wiring.desk import make_accounts
from service.wiring.environment import settings_from_environment, utc_now
from service.wiring.keys import make_data_dir, random_password


class NoAccount(LitrelineError):
    """A name that no account has."""


def add(commands: Commands) -> None:
    """Add the command with its parts."""
    parser = add_command(commands, "accounts", run, "keep the accounts of the desk")
    parts = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    new = add_command(
        parts,
        "add",
        run_add,
        "make an account",
        "The password is asked for on a terminal. With --random, and where nobody can be asked,"
        " one is made and told once.",
    )
    new.add_argument(
        "--role", action="append", required=True, choices=ROLES, help="may be given several times"
    )
    new.add_argument("--language", default="en", choices=sorted(LANGUAGES), help="of the pages")
    new.add_argument("--phone", default="", help="number to which tests of messages go")
    new.add_argument(
        "--district", action="append", default=[], help="limit a field officer to a district"
    )
    add_command(parts, "list", run_list, "list all accounts")
    password = add_command(
        parts,
        "password",
        run_password,
        "give an account a new password",
        "Its open pages end. An account that is locked after wrong passwords is free again.",
    )
    for part in (new, password):
        part.add_argument("name", metavar="NAME", help="name by which somebody signs in")
        part.add_argument("--random", action="store_true", help="make the password, ask nobody")


def run(arguments: argparse.Namespace) -> int:
    """Stand in until a part is chosen; argparse asks for one before this can run."""
    raise NoAccount("choose add, list or password")


def run_add(arguments: argparse.Namespace) -> int:
    """Make an account."""
    with _accounts() as accounts:
        password, told = _password(arguments)
        accounts.create(
            KEEPER,
            arguments.name,
            arguments.role,
            password,
            utc_now(),
            language=arguments.language,
            phone=arguments.phone,
            districts=arguments.district,
        )
    tell(f"account {arguments.name} made: {', '.join(arguments.role)}")
    if told:
        tell(f"password, told this once: {password}")
    return 0


def run_list(arguments: argparse.Namespace) -> int:
    """List all accounts."""
    with _accounts() as accounts:
        found = accounts.all(KEEPER)
    for one in found:
        tell(_line(one))
    if not found:
        tell("no accounts yet: litreline accounts add NAME --role admin")
    return 0


def run_password(arguments: argparse.Namespace) -> int:
    """Give an account a new password."""
    with _accounts() as accounts:
        named = arguments.name.casefold()
        found = [one for one in accounts.all(KEEPER) if one.name.casefold() == named]
        if not found:
            raise NoAccount(f"no account is called {arguments.name!r}")
        password, told = _password(arguments)
        accounts.reset_password(KEEPER, found[0].id, password, utc_now())
    tell(f"{found[0].name} has a new password")
    if told:
        tell(f"password, told this once: {password}")
    return 0


@contextmanager
def _accounts() -> Iterator[Accounts]:
    settings = settings_from_environment()
    make_data_dir(settings.data_dir)
    database = Database(settings.database_url)
    try:
        database.migrate()
        yield make_accounts(database.unit_of_work, settings)
    finally:
        database.close()


def _password(arguments: argparse.Namespace) -> tuple[str, bool]:
    """Return a password, and whether it was made here and must be told."""
    if arguments.random or not sys.stdin.isatty():
        return random_password(), True
    password = getpass.getpass("New password (12 letters or more): ")
    if getpass.getpass("The same again: ") != password:
        raise NoAccount("the two are not the same: nothing was changed")
    return password, False


def _line(one: Account) -> str:
    limits = f" in {', '.join(one.districts)}" if one.districts else ""
    state = "" if one.active else ", switched off"
    locked = f", locked until {one.locked_until:%H:%M} UTC" if _locked(one) else ""
    return f"{one.name}: {', '.join(one.roles)}{limits}{state}{locked}"


def _locked(one: Account) -> bool:
    return one.locked_until is not None and one.locked_until > utc_now()
