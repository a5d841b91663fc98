"""From settings to a service that answers: every object is made and joined here."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import cache

from service.advice import Context, Planner, registry
from service.channels import Calls, Receipts, Texts, Turns, remembered
from service.channels.reminder_choices import reminder_effects, together
from service.channels.tickets import MissedCallTickets, ticket_effects
from service.dialogue import Dialogue, FlowBook, load_flows
from service.phrases import Screen
from service.settings import SettingError, Settings
from service.storage import Database
from service.text.catalogues import Catalogues
from service.text.languages import LANGUAGES
from service.text.render import TWO_PARTS, USSD_PAGE, Budget, render
from service.text.vocabulary import JOINERS, WordVocabulary
from service.wiring.environment import utc_now
from service.wiring.files import catalogue_files, flow_files
from service.wiring.keys import make_data_dir, new_id
from service.wiring.own_districts import districts_file
from service.wiring.own_prices import prices_file
from service.wiring.reported_rain import ReportedRain
from service.wiring.tables import LoadedTables, load_tables

ANSWERS_FLOW = "plan"
"""The conversation that a first text may answer unasked: "20 15 tomato 500"."""


@dataclass(frozen=True, slots=True)
class Service:
    """Everything a web service or a terminal needs to hold conversations."""

    turns: Turns
    texts: Texts
    calls: Calls
    receipts: Receipts
    database: Database
    catalogues: Catalogues
    loaded: LoadedTables
    clock: Callable[[], datetime]
    dialogue: Dialogue
    context_for: Callable[[datetime], Context]
    words_for: Callable[[str], WordVocabulary]


def build(settings: Settings, clock: Callable[[], datetime] = utc_now) -> Service:
    """Make the service that the settings describe; nothing is written yet but the data dir.

    Raises
    ------
    LitrelineError
        For a flow file, catalogue, table, database or setting that cannot be used.
    """
    if settings.language not in LANGUAGES:
        known = f"one of {', '.join(LANGUAGES)}"
        raise SettingError("LITRELINE_LANGUAGE", settings.language, known)
    make_data_dir(settings.data_dir)
    loaded = load_tables(districts_file(settings), prices_file(settings))
    catalogues = Catalogues(catalogue_files())
    database = Database(settings.database_url)
    dialogue = Dialogue(flow_book(), joiners=JOINERS)
    rain = ReportedRain(database.unit_of_work, clock)
    words_for, context_for = _vocabularies(catalogues), _contexts(loaded, settings, rain)
    effects = together(ticket_effects(new_id), reminder_effects(new_id))
    here = settings.time_zone

    def context_here(now: datetime) -> Context:
        # The caller's day, not that of Greenwich.
        return context_for(now.astimezone(here))

    turns = Turns(
        dialogue=dialogue,
        render=renderer(catalogues, USSD_PAGE),
        vocabulary_for=words_for,
        unit_of_work=database.unit_of_work,
        context_for=context_here,
        new_id=new_id,
        language=settings.language,
        effects=effects,
        offered_for=settings.offered_for,
    )
    texts = Texts(
        dialogue=dialogue,
        render=renderer(catalogues, TWO_PARTS),
        words_for=words_for,
        unit_of_work=database.unit_of_work,
        context_for=context_here,
        new_id=new_id,
        language=settings.language,
        answers_flow=ANSWERS_FLOW,
        effects=effects,
        idle=settings.sms_idle,
    )
    missed = MissedCallTickets(new_id)
    calls = Calls(unit_of_work=database.unit_of_work, new_id=new_id, missed=missed)
    receipts = Receipts(database.unit_of_work, new_id)
    return Service(
        turns=turns,
        texts=texts,
        calls=calls,
        receipts=receipts,
        database=database,
        catalogues=catalogues,
        loaded=loaded,
        clock=clock,
        dialogue=dialogue,
        context_for=context_for,
        words_for=words_for,
    )


def flow_book() -> FlowBook:
    """Return the conversations of this project. Raises TextFileError with every problem."""
    return load_flows(flow_files(), registry())


def renderer(catalogues: Catalogues, budget: Budget) -> Callable[[Screen, str], tuple[str, ...]]:
    """Return what makes pages of a screen in a language, and remembers the last ones."""

    def rendered(screen: Screen, language: str) -> tuple[str, ...]:
        return render(screen, language, catalogues, budget=budget)

    return remembered(rendered)


def _vocabularies(catalogues: Catalogues) -> Callable[[str], WordVocabulary]:
    @cache
    def vocabulary(language: str) -> WordVocabulary:
        return WordVocabulary(language, catalogues)

    return vocabulary


def _contexts(
    loaded: LoadedTables, settings: Settings, rain: ReportedRain
) -> Callable[[datetime], Context]:
    # A planner remembers its last plans and is not made to be shared between threads.
    own = threading.local()

    def context(now: datetime) -> Context:
        if not hasattr(own, "planner"):
            own.planner = Planner(loaded.tables)
        return Context(
            planner=own.planner,
            today=now.date(),
            helpline=settings.helpline,
            release_treatments=settings.release_treatments,
            rain=rain,
        )

    return context
