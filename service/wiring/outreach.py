"""Reminders and seasonal messages, made from the settings."""

from __future__ import annotations

from dataclasses import dataclass

from service.outreach import FollowUps, Places, Reminders, Seasonal, WeeklyTime
from service.settings import Settings
from service.wiring.build import Service
from service.wiring.keys import new_id
from service.wiring.places import make_places

USUAL_TIMES = tuple(WeeklyTime(day, hour) for day in range(5) for hour in (8, 10, 16))
"""When somebody who chose no time gets the weekly text: each phone keeps to one of these."""


@dataclass(frozen=True, slots=True)
class Outreach:
    """Everything that writes to people unasked."""

    places: Places
    reminders: Reminders
    follow_ups: FollowUps
    seasonal: Seasonal


def make_outreach(settings: Settings, service: Service) -> Outreach:
    """Return what the settings describe.

    Raises
    ------
    LitrelineError
        For holidays that are not known, or a file of places that cannot be used.
    """
    places = make_places(settings)
    unit_of_work, translate = service.database.unit_of_work, service.catalogues.translate
    reminders = Reminders(
        unit_of_work=unit_of_work,
        context_for=service.context_for,
        translate=translate,
        new_id=new_id,
        places=places,
        language=settings.language,
        usual=USUAL_TIMES,
    )
    follow_ups = FollowUps(
        unit_of_work=unit_of_work,
        translate=translate,
        new_id=new_id,
        places=places,
        language=settings.language,
    )
    seasonal = Seasonal(
        unit_of_work=unit_of_work,
        context_for=service.context_for,
        translate=translate,
        new_id=new_id,
        places=places,
        language=settings.language,
    )
    return Outreach(places, reminders, follow_ups, seasonal)
