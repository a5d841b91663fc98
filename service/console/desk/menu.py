"""The menu: which pages there are, in which section, for which roles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from service.phrases import Phrase, say
from service.records import ROLES, Account, Role


@dataclass(frozen=True, slots=True)
class Entry:
    """One page of the menu: its endpoint, such as "desk.operator.queue", and its words.

    `section` is the role whose work it is; `about` is one sentence for the first page.
    """

    endpoint: str
    label: Phrase
    about: Phrase
    section: Role


@dataclass(frozen=True, slots=True)
class Section:
    """The pages of one role."""

    role: Role
    name: Phrase
    entries: tuple[Entry, ...]


def role_names() -> Mapping[Role, Phrase]:
    """Return what each role is called."""
    return {
        # Translators: a role: somebody who answers the telephone of the helpline.
        "operator": say("Operator"),
        # Translators: a role: somebody who visits plots.
        "officer": say("Field officer"),
        # Translators: a role: somebody who keeps accounts and tables.
        "admin": say("Admin"),
    }


def section_names() -> Mapping[Role, Phrase]:
    """Return what the part of the menu for each role is called."""
    return {
        # Translators: a part of the menu: the operator's pages.
        "operator": say("Helpline"),
        # Translators: a part of the menu: the field officer's pages.
        "officer": say("Field"),
        # Translators: a part of the menu: the admin's pages.
        "admin": say("Office"),
    }


def sections(entries: Iterable[Entry], account: Account) -> tuple[Section, ...]:
    """Return the part of the menu that an account may use; admins may use all."""
    entries = tuple(entries)
    mine = ROLES if "admin" in account.roles else account.roles
    return tuple(
        Section(role, name, found)
        for role, name in section_names().items()
        if role in mine and (found := tuple(one for one in entries if one.section == role))
    )
