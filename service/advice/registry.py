"""Every function that flow files call by name, gathered from the modules of the conversations."""

from __future__ import annotations

from service.advice import (
    check_screens,
    enough_screens,
    fault_screens,
    feed_screens,
    helpline_screens,
    install_screens,
    myplot_screens,
    plan_screens,
    reminder_screens,
    season_screens,
    start_screens,
    upkeep_dose,
    upkeep_screens,
    water_screens,
)
from service.dialogue import Registry

PARTS = (
    check_screens.REGISTRY,
    myplot_screens.REGISTRY,
    fault_screens.REGISTRY,
    start_screens.REGISTRY,
    plan_screens.REGISTRY,
    water_screens.REGISTRY,
    enough_screens.REGISTRY,
    feed_screens.REGISTRY,
    install_screens.REGISTRY,
    upkeep_screens.REGISTRY,
    upkeep_dose.REGISTRY,
    season_screens.REGISTRY,
    helpline_screens.REGISTRY,
    reminder_screens.REGISTRY,
)


def registry() -> Registry:
    """Return every guard, show and list of options that flow files may name."""
    whole = Registry(guards={}, shows={}, options={}, also={})
    for part in PARTS:
        whole = Registry(
            guards={**whole.guards, **part.guards},
            shows={**whole.shows, **part.shows},
            options={**whole.options, **part.options},
            also={**whole.also, **part.also},
        )
    return whole
