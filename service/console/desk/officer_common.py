"""What the officer's pages share: names by key, and who is meant by a page's filter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from flask import request

from service.console.desk.frame import DeskPages
from service.console.desk.operator_callers import crop_names
from service.desk.refusals import unknown
from service.outreach.seasonal_words import STAGES
from service.phrases import Phrase, say
from service.records import Audience

GROWING = ("initial", "development", "mid", "late")
"""Stages that a message can be meant for."""


def district_choices(desk: DeskPages) -> Sequence[tuple[str, str]]:
    """Return the districts that the account may work in: key and name."""
    return desk.jobs.rain.choices(desk.account)


def names(desk: DeskPages) -> Mapping[str, Any]:
    """Return what templates call things by key."""
    return {
        "district_names": {key: one.name for key, one in desk.tables.districts.items()},
        "crop_names": crop_names(),
        "stage_names": stage_names(),
    }


def stage_names() -> Mapping[str, Phrase]:
    """Return the growth stages."""
    return {key: STAGES[key] for key in GROWING}


def crop_choices(desk: DeskPages) -> Sequence[tuple[str, Phrase]]:
    """Return the crops of the table in use: key and name."""
    known = crop_names()
    return [(key, known.get(key, say("{crop}", crop=key))) for key in desk.tables.crops]


def asked_for(desk: DeskPages) -> tuple[Audience, Mapping[str, str]]:
    """Return who is meant by the address of a page, and what to say about it.

    Raises Unknown for a district or group that nobody knows.
    """
    district, group = request.args.get("district", ""), request.args.get("group", "")
    if district and district not in desk.tables.districts:
        known = {line.key for line in desk.jobs.roster.districts(desk.account)}
        if district not in known:
            raise unknown()
    name = desk.jobs.roster.group(desk.account, group) if group else ""
    audience = Audience(
        districts=(district,) if district else (), groups=(name,) if name else ()
    )  # fmt: skip
    return audience, {"district": district, "group": group, "group_name": name}
