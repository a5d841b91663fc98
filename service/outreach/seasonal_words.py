"""What stands in a seasonal message for one farmer, and why somebody is left out, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from service.advice import Context, rounding
from service.advice.enough_words import crop_name
from service.outreach.fitting import Translate, spoken
from service.outreach.plot_week import BROKEN, PlotWeek, need_of, plot_week
from service.outreach.reminders import unreachable
from service.outreach.seasonal_texts import OF_PLOT, WATER, filled, text_for
from service.phrases import Month, Number, Phrase, say
from service.records import Audience, Farmer
from service.text.placeholders import placeholders

STAGES: Mapping[str, Phrase] = {
    # Translators: a growth stage, told of a crop: "Tomato (seedlings)".
    "initial": say("seedlings"),
    # Translators: a growth stage, told of a crop: "Tomato (growing)".
    "development": say("growing"),
    # Translators: a growth stage, told of a crop: "Tomato (full grown)".
    "mid": say("full grown"),
    # Translators: a growth stage, told of a crop: "Tomato (ripening)".
    "late": say("ripening"),
    # Translators: no growth stage any more, told of a crop: "Tomato (over)".
    "none": say("over"),
}
"""Growth stages as one word about the plants."""
LEFT_OUT: Mapping[str, Phrase] = {
    "no_number": say("No phone number"),
    "no_consent": say("No consent to reminders"),
    "number_paused": say("Number paused: nobody is there"),
    "no_plan": say("Plot or crop not known"),
    "broken_answers": say("What is kept of the plot cannot be used"),
    "other_stage": say("Another growth stage"),
    "season_over": say("The crop is over"),
    "no_minutes": say("No minutes can be told"),
    "queued_before": say("Was written to before"),
    "not_in_use": say("Plot neither laid nor planted"),
    "nothing_to_say": say("Nothing to say this week"),
}
"""Why somebody is left out of a seasonal message, or gets no weekly text."""


@dataclass(frozen=True, slots=True)
class Words:
    """A seasonal message for one farmer; `left_out` says why there is none."""

    language: str = ""
    text: str = ""
    left_out: str = ""


@dataclass(frozen=True)
class Writer:
    """Writes one seasonal message for farmer after farmer."""

    texts: Mapping[str, str]
    audience: Audience
    translate: Translate
    default: str

    def write(self, farmer: Farmer, context: Context, local: datetime) -> Words:
        """Return the words for a farmer, with the numbers of the farmer's own plot.

        `local` is the moment of sending by the farmer's clock, whose day the context has.
        """
        if reason := unreachable(farmer):
            return Words(left_out=reason)
        try:
            return self._written(farmer, context, local)
        except BROKEN:
            # One plot with senseless answers must not stop a message to all others.
            return Words(left_out="broken_answers")

    def _written(self, farmer: Farmer, context: Context, local: datetime) -> Words:
        own = spoken(farmer.phone.language, self.default)
        language, text = text_for(self.texts, own, self.default)
        wanted, week = placeholders(text), None
        if self.audience.stages or wanted & OF_PLOT:
            week = plot_week(farmer.plot.answers, context)
            if reason := self._unsuited(week, wanted):
                return Words(left_out=reason)
        said = self._said(farmer, week, context, local, wanted)
        if not wanted <= said.keys():
            return Words(left_out="no_minutes")
        values = {
            name: value if isinstance(value, str) else self.translate(value, language)
            for name, value in said.items()
        }
        return Words(language, filled(text, values))

    def _unsuited(self, week: PlotWeek | None, wanted: frozenset[str]) -> str:
        if week is None:
            return "no_plan"
        if self.audience.stages and week.stage not in self.audience.stages:
            return "other_stage"
        return "season_over" if wanted & WATER and not week.grows else ""

    def _said(
        self,
        farmer: Farmer,
        week: PlotWeek | None,
        context: Context,
        local: datetime,
        wanted: frozenset[str],
    ) -> dict[str, Phrase | str]:
        district = context.tables.districts.get(farmer.plot.district)
        found: dict[str, Phrase | str] = {
            "name": _name(farmer),
            # Translators: stands for the name of a district: "rain is short in your district".
            "district": district.name if district else say("your district"),
            "date": say("{day} {month}", day=local.day, month=Month(local.month)),
        }
        if week is not None:
            found |= {"crop": crop_name(week.main.case.crop), "stage": STAGES[week.stage]}
            found |= _water(week) if wanted & WATER else {}
        return {name: value for name, value in found.items() if name in wanted}


def _name(farmer: Farmer) -> Phrase | str:
    if farmer.person is not None and farmer.person.name:
        return farmer.person.name
    # Translators: stands for a name that is not known: "Dear farmer".
    return farmer.plot.name or say("farmer")


def _number(number: Number) -> Phrase:
    """A number by the rules of a language; there is nothing to translate in it."""
    return Phrase("{n}", {"n": number})


def _water(week: PlotWeek) -> dict[str, Phrase | str]:
    """The figures of a usual day as advice rounds them; those that cannot be told are missing."""
    litres, minutes, fills = need_of(week.needs())
    found: dict[str, Phrase | str] = {"litres": _number(rounding.litres(litres))}
    if minutes is not None:
        found["minutes"] = _number(rounding.minutes(minutes))
    if fills is not None:
        found["fills"] = _number(rounding.fills(fills))
    return found
