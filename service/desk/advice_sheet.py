"""The plan of a plot: as data for a page, as the installer's sheet, and by text to the caller."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

from service import advice
from service.advice import Chain, Context, chains
from service.advice.plan_words import cannot_plan
from service.advice.warning_words import warning_phrases
from service.channels.post import Letter, Post
from service.desk.curves import LineCurve, line_curves
from service.desk.office import Office, known_plot, need
from service.desk.refusals import DeskRefused
from service.desk.speech import Page, Speech, page
from service.dialogue import Dialogue, Place
from service.drawing import SheetError, SheetFonts, installer_sheet_pdf, plan_svg
from service.errors import CardError, NotConverged
from service.phrases import Phrase, Screen, say
from service.records import Account, Plot, UnitOfWork
from service.sizing.card import PlotCard
from service.sizing.result import Layout, PartLine, Plan, WateringMonth

BY_TEXT: tuple[Place, ...] = (
    Place("plan", "short"),
    Place("plan", "layout_good"),
    Place("plan", "remedies"),
    Place("plan", "watering"),
    Place("plan", "parts"),
    Place("plan", "months"),
    Place("water", "today"),
)
"""Results that may be sent as a text. None of them tells a dose: a dose is told only on a phone
that was released for it."""
MOST_PARTS = 6
"""A parts list needs several; more is read out instead (our choice)."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything of one plan that a page shows."""

    plot: Plot
    card: PlotCard
    plan: Plan
    layout: Layout
    drawing: str
    """SVG, to scale, of its own size."""
    lines: tuple[LineCurve, ...]
    parts: tuple[PartLine, ...]
    currency: str
    months: tuple[WateringMonth, ...]
    warnings: tuple[Phrase, ...]
    by_text: tuple[TextOffer, ...]


@dataclass(frozen=True, slots=True)
class TextOffer:
    """A result as it would leave as a text, with what it costs."""

    flow: str
    state: str
    text: Page


class AdviceSheets:
    """Makes sheets. `fonts_for` gives the typefaces of a language, None for Latin ones."""

    def __init__(
        self,
        office: Office,
        dialogue: Dialogue,
        speech: Speech,
        context_for: Callable[[datetime], Context],
        one_text: Callable[[Screen, str], str],
        language: str = "en",
        fonts_for: Callable[[str], SheetFonts | None] = lambda language: None,
    ) -> None:
        self._office, self._dialogue, self._speech = office, dialogue, speech
        self._context_for, self._one_text, self._language = context_for, one_text, language
        self._fonts_for, self._post = fonts_for, Post(office.new_id)

    def see(self, account: Account, plot_id: str, now: datetime) -> Sheet:
        """Return the plan of a plot, its labels in the account's language.

        Raises
        ------
        DeskRefused
            When the answers make no plot yet, with what is missing.
        """
        need(account, "operator", "officer")
        context = self._context_for(now)
        with self._office.work() as work:
            plot = known_plot(work, account, plot_id)
            language = self._caller_language(work, plot)
            self._log(work, account, "plan.seen", plot, now)
        card, plan = drawn_plan(plot, context)
        layout = plan.layouts[plan.recommended]
        prices = context.tables.prices
        return Sheet(
            plot=plot,
            card=card,
            plan=plan,
            layout=layout,
            drawing=plan_svg(card, plan, self._labels(account.language)),
            lines=line_curves(card, layout),
            parts=plan.parts,
            currency=prices.currency if prices is not None else "",
            months=plan.watering,
            warnings=warning_phrases(plan.warnings),
            by_text=tuple(self._offers(plot, language, context)),
        )

    def explain(
        self, account: Account, plot_id: str, now: datetime, day: date | None = None
    ) -> tuple[Chain, ...]:
        """Return the whole chain of a day's water, today's unless another day is named."""
        need(account, "operator", "officer")
        context = self._context_for(now)
        with self._office.work() as work:
            plot = known_plot(work, account, plot_id)
            self._log(work, account, "plan.explained", plot, now)
        card = _card(plot, context)
        found = context.planner.planned(card, context.today)
        return chains(card, found, context.tables, day or context.today, context.today)

    def installer_sheet(
        self, account: Account, plot_id: str, now: datetime, language: str = ""
    ) -> bytes:
        """Return the installer's sheet as PDF, in the caller's language unless another is named.

        Raises
        ------
        DeskRefused
            When the answers make no plot, or no typeface for the language is at hand.
        """
        need(account, "operator", "officer")
        context = self._context_for(now)
        with self._office.work() as work:
            plot = known_plot(work, account, plot_id)
            spoken = language or self._caller_language(work, plot)
            self._log(work, account, "plan.printed", plot, now, language=spoken)
        card, plan = drawn_plan(plot, context)
        prices = context.tables.prices
        try:
            return installer_sheet_pdf(
                card,
                plan,
                self._labels(spoken),
                notes=warning_phrases(plan.warnings),
                currency=prices.currency if prices is not None else "",
                language=spoken,
                fonts=self._fonts_for(spoken),
            )
        except SheetError as error:
            raise DeskRefused(
                say("There is no typeface for this language here: print it in English.")
            ) from error

    def send(
        self,
        account: Account,
        plot_id: str,
        now: datetime,
        flow: str = "plan",
        state: str = "short",
    ) -> bool:
        """Put a result into the outbox for the caller; False when the same went out today.

        Raises
        ------
        DeskRefused
            A result that is not for texts, or one that is too long for them.
        """
        need(account, "operator", "officer")
        place, context = Place(flow, state), self._context_for(now)
        if place not in BY_TEXT:
            raise DeskRefused(say("This is not sent as a text."))
        with self._office.work() as work:
            plot = known_plot(work, account, plot_id)
            language = self._caller_language(work, plot)
            _card(plot, context)
            text = self._text(place, plot, language, context)
            if page(text).parts > MOST_PARTS:
                raise DeskRefused(say("This is too long for a text. Read it out instead."))
            mark = hashlib.sha256(text.encode()).hexdigest()[:12]
            key = f"advice:{plot.id}:{flow}/{state}:{context.today}:{mark}"
            new = self._post.put(work, Letter(plot.phone_id, "answer", key, text, language), now)
            self._log(work, account, "advice.sent", plot, now, what=f"{flow}/{state}", new=new)
        return new

    def _offers(self, plot: Plot, language: str, context: Context) -> list[TextOffer]:
        return [
            TextOffer(place.flow, place.state, page(text))
            for place in BY_TEXT
            if self._dialogue.book.find(place) is not None
            and (text := self._text(place, plot, language, context))
        ]

    def _text(self, place: Place, plot: Plot, language: str, context: Context) -> str:
        standing = self._dialogue.place(language, place.flow, place.state, plot.answers)
        screen = self._dialogue.show(standing, context)
        return self._one_text(Screen(screen.lines), language)

    def _labels(self, language: str) -> Callable[[Phrase], str]:
        return lambda phrase: self._speech.translate(phrase, language)

    def _caller_language(self, work: UnitOfWork, plot: Plot) -> str:
        phone = work.phones.get(plot.phone_id)
        return (phone.language if phone else None) or self._language

    def _log(
        self,
        work: UnitOfWork,
        account: Account,
        action: str,
        plot: Plot,
        now: datetime,
        **detail: object,
    ) -> None:
        self._office.log(
            work, account, action, now, subject="plot", subject_id=plot.id,
            phone_id=plot.phone_id, **detail,
        )  # fmt: skip


def _card(plot: Plot, context: Context) -> PlotCard:
    try:
        return context.card(plot.answers)
    except CardError as error:
        raise DeskRefused(cannot_plan(error)[0]) from error


def drawn_plan(plot: Plot, context: Context) -> tuple[PlotCard, Plan]:
    """Return the card and the plan of a plot with every emitter. Raises DeskRefused without one."""
    card = _card(plot, context)
    try:
        plan = advice.plan(card, context.tables, today=context.today, with_emitters=True)
    except CardError as error:
        raise DeskRefused(cannot_plan(error)[0]) from error
    except NotConverged as error:
        raise DeskRefused(say("The water of this plot cannot be reckoned.")) from error
    return card, plan
