"""What the officer's pages call things."""

from __future__ import annotations

from collections.abc import Mapping

from service.phrases import Phrase, say
from service.records import SeasonalState


def seasonal_states() -> Mapping[SeasonalState, Phrase]:
    """Return the states of a seasonal message."""
    return {
        # Translators: from here on states of a message to many farmers.
        "draft": say("Draft"),
        "waiting": say("Waits for approval"),
        "approved": say("Approved, not started"),
        "running": say("Going out"),
        "paused": say("Paused"),
        "cancelled": say("Cancelled"),
        "done": say("Done"),
    }


def step_words() -> Mapping[str, Phrase]:
    """Return what was done with a seasonal message, for its history."""
    return {
        # Translators: from here on what somebody did with a message: "Written by Asha".
        "seasonal.prepared": say("Written"),
        "seasonal.edited": say("Changed"),
        "seasonal.submitted": say("Given for approval"),
        "seasonal.sent_back": say("Given back"),
        "seasonal.approved": say("Approved"),
        "seasonal.started": say("Started"),
        "seasonal.paused": say("Paused"),
        "seasonal.resumed": say("Resumed"),
        "seasonal.cancelled": say("Cancelled"),
        "seasonal.tested": say("Sent to the own phone"),
    }


def place_words() -> Mapping[str, Phrase]:
    """Return what each place of a message's text is filled with."""
    return {
        # Translators: from here on what is put into a message for each farmer.
        "name": say("the farmer's name"),
        "crop": say("the crop of the plot"),
        "stage": say("the growth stage of the crop"),
        "minutes": say("minutes with open valve a day"),
        "fills": say("tanks a day"),
        "litres": say("litres a day"),
        "district": say("the name of the district"),
        "date": say("the day on which the text leaves"),
    }


def column_words() -> Mapping[str, Phrase]:
    """Return what stands in each column of a list of farmers."""
    return {
        # Translators: from here on the columns of a list of farmers.
        "number": say("telephone number, + and the country code first"),
        "name": say("name of the farmer"),
        "plot": say("name of the plot, where a farmer has several"),
        "language": say("language, by name or code"),
        "district": say("district, by name"),
        "crop": say("crop, by name"),
        "weeks": say("weeks since planting"),
        "lines": say("number of drip lines"),
        "line_length_m": say("length of a line in metres"),
        "line_spacing_m": say("metres between two lines"),
        "tank_l": say("tank in litres"),
        "stand_m": say("height of the stand in metres"),
        "groups": say("groups, ; between them"),
        "consent": say("yes or no to reminders; empty when not asked"),
    }


def field_words() -> Mapping[str, Phrase]:
    """Return the questions of the paper form, short: the phone's own are made to be answered."""
    return {
        # Translators: from here on lines of a form on paper, each with a blank beside it.
        "district": say("District"),
        "laid_lines": say("Drip lines, each counted from the main pipe"),
        "laid_line_length_m": say("Length of one line [m]"),
        "crop": say("Crop"),
        "weeks_since_planting": say("Weeks since planting, 0 if not planted yet"),
        "tank_volume_l": say("Tank [L]"),
        "stand_height_m": say("Foot of the tank above the ground [m]"),
        "laid_minutes": say("Minutes until a full tank is empty, all lines open; 0 if not timed"),
        "laid_sides": say("Lines leave the main pipe to"),
        "laid_spacing_m": say("Between two lines [m]"),
        "laid_blocks": say("Valves that share the lines"),
        "other_crop": say("Second crop, if there is one"),
        "other_lines": say("Lines of the second crop"),
        "other_weeks": say("Weeks since planting of the second crop"),
        "supply_fill": say("The tank is filled by"),
        "fills_a_day": say("Times a day that the whole tank can be filled"),
        "rise_along_length_m": say("Along the plot, away from the tank, the far end is"),
        "rise_along_width_m": say("Across the plot, away from the tank, the far side is"),
        "soil": say("A handful of wet soil, squeezed"),
        "water_source": say("Water comes from"),
        "emitter_flow_lph": say("Printed flow of a dripper [L/h]"),
        "emitter_spacing_m": say("Between two drippers [cm]"),
        "main_pipe": say("Main pipe, as printed"),
    }


def contradiction_words() -> Mapping[str, Phrase]:
    """Return why a measurement on a paper form cannot belong to the plot, and where to look."""
    return {
        "too_fast": say("Too fast: a leak, an open line end, more lines than told?"),
        "too_slow": say("Too slow: valve half shut, dirty filter, clogged drippers, fewer lines?"),
        "cannot_empty": say("Is the ground higher than told, or the stand lower?"),
        "too_many_dry_cups": say("Too many dry cups: clogged drippers or a shut tap?"),
        "too_scattered": say("The cups differ too much: clogged drippers, or lines of two kinds?"),
    }
