"""A conversation filled in as one form: read, reckoned at once, and kept with the plot."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from service.advice import Context
from service.advice.myplot_card import TOLD, minutes_record, with_record
from service.advice.myplot_screens import timed
from service.channels.keeping import Effects
from service.channels.tickets import ticket_effects
from service.desk.fields import Answers, Field, Read, fields_of, read_form
from service.desk.office import Office, as_saved, known_phone, known_plot, need
from service.desk.refusals import unknown
from service.desk.results import ResultScreen, result_screens
from service.desk.speech import Speech
from service.dialogue import Dialogue
from service.errors import CardError
from service.phrases import Phrase
from service.records import Account, Phone, Plot, Session, UnitOfWork, with_changes
from service.sizing.calibration import Calibration, Contradiction
from service.sizing.result import Plan

MY_PLOT = "myplot"
NOT_AS_FORM = frozenset({"start", "reminders"})
"""Menus, and a consent: the desk writes that down in the caller's own words (`people`)."""
TIMED, LINES = "laid_minutes", "laid_lines"


@dataclass(frozen=True, slots=True)
class Form:
    """A form with its values, what they lead to, and what was not understood."""

    plot_id: str
    revision: int
    """Of the plot: goes back with the form, so that two forms do not write over each other."""
    flow: str
    fields: tuple[Field, ...]
    problems: Mapping[str, tuple[Phrase, ...]]
    results: tuple[ResultScreen, ...]
    plan: Plan | None
    """None while the answers make no plot."""
    contradicts: bool = False
    """The minutes of a full tank do not fit the rest, and were not kept as a measurement."""
    saved: bool = False


class Forms:
    """Shows and takes forms."""

    def __init__(
        self,
        office: Office,
        dialogue: Dialogue,
        speech: Speech,
        context_for: Callable[[datetime], Context],
        language: str = "en",
        effects: Effects | None = None,
    ) -> None:
        self._effects = effects or ticket_effects(office.new_id)
        self._office, self._dialogue, self._speech = office, dialogue, speech
        self._context_for, self._language = context_for, language

    @property
    def flows(self) -> tuple[str, ...]:
        """Return the conversations that can be filled in as a form."""
        return tuple(flow for flow in self._dialogue.book.flows if flow not in NOT_AS_FORM)

    def show(self, account: Account, plot_id: str, flow: str, now: datetime) -> Form:
        """Return the form of a conversation with what is known of a plot."""
        return self._made(account, plot_id, flow, {}, now, save=False)

    def preview(
        self, account: Account, plot_id: str, flow: str, typed: Mapping[str, str], now: datetime
    ) -> Form:
        """Return what a form would lead to; nothing is kept."""
        return self._made(account, plot_id, flow, typed, now, save=False)

    def fill(
        self,
        account: Account,
        plot_id: str,
        flow: str,
        typed: Mapping[str, str],
        now: datetime,
        revision: int | None = None,
    ) -> Form:
        """Keep what was typed, all of it or, while anything is not understood, nothing.

        Raises
        ------
        Clash
            When the plot has changed since the form of that `revision` was made.
        """
        return self._made(account, plot_id, flow, typed, now, save=True, revision=revision)

    def _made(
        self,
        account: Account,
        plot_id: str,
        flow: str,
        typed: Mapping[str, str],
        now: datetime,
        *,
        save: bool,
        revision: int | None = None,
    ) -> Form:
        need(account, "operator", "officer")
        if flow not in self.flows:
            raise unknown()
        context = self._context_for(now)
        with self._office.work() as work:
            plot = known_plot(work, account, plot_id)
            phone = known_phone(work, account, plot.phone_id)
            language = phone.language or self._language
            words = self._speech.words_for(account.language)
            read = read_form(self._dialogue.book, flow, plot.answers, typed, words, context)
            answers, contradicts = told(flow, plot.answers, read, typed, context)
            saved = save and not read.problems
            if saved:
                before = plot if revision is None else replace(plot, revision=revision)
                plot = self._keep(work, before, plot.answers, answers, now)
                self._heed(work, phone, plot, flow, read, now)
            action = "form.filled" if saved else "form.seen"
            self._office.log(
                work, account, action, now, subject="plot", subject_id=plot_id, flow=flow
            )
        form = self._reckoned(plot, flow, answers, language, context)
        return replace(form, problems=read.problems, contradicts=contradicts, saved=saved)

    def _reckoned(
        self, plot: Plot, flow: str, answers: Answers, language: str, context: Context
    ) -> Form:
        try:
            plan = context.plan(answers)
        except CardError:
            plan = None
        return Form(
            plot_id=plot.id,
            revision=plot.revision,
            flow=flow,
            fields=fields_of(self._dialogue.book, flow, answers, context),
            problems={},
            results=result_screens(self._dialogue, self._speech, flow, answers, language, context),
            plan=plan,
        )

    def _keep(
        self, work: UnitOfWork, plot: Plot, before: Answers, answers: Answers, now: datetime
    ) -> Plot:
        if dict(before) == dict(answers):
            return plot
        kept = replace(plot, answers=with_changes(plot.answers, before, answers), updated_at=now)
        work.plots.save(kept)
        return as_saved(kept)

    def _heed(
        self, work: UnitOfWork, phone: Phone, plot: Plot, flow: str, read: Read, now: datetime
    ) -> None:
        """Let a form mean beside the plot what the conversation would, such as a ticket."""
        language = phone.language or self._language
        before = Session(
            f"form:{plot.id}", phone.id, "desk", "", flow, "", "", language, now,
            plot_id=plot.id, answers=read.before,
        )  # fmt: skip
        after = replace(before, answers=read.answers)
        if before.answers != after.answers:
            self._effects(work, phone, before, after, now)


def told(
    flow: str, before: Answers, read: Read, typed: Mapping[str, str], context: Context
) -> tuple[Answers, bool]:
    """Return answers with what my plot's questions imply, and whether minutes contradict them.

    Lines that were counted are a plot that lies; minutes that were timed are a measurement.
    """
    answers = dict(read.answers)
    if flow != MY_PLOT or read.problems:
        return answers, False
    if typed.get(LINES, "").strip() and answers.get(LINES) != before.get(LINES):
        answers["laid"] = TOLD
    if not answers.get(TIMED) or answers.get(TIMED) == before.get(TIMED):
        return answers, False
    try:
        found = timed(answers, context)
    except CardError:
        return answers, False
    if isinstance(found, Calibration):
        answers["measurements"] = with_record(answers, minutes_record(answers, context.today))
    return answers, isinstance(found, Contradiction)
