"""The desk, made from the settings: every job with what it needs, and the pages around them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime

from service.advice import Context
from service.channels.keeping import Effects
from service.channels.reminder_choices import reminder_effects, together
from service.channels.tickets import ticket_effects
from service.console.desk import DeskPages, Jobs
from service.desk.accounts import Accounts
from service.desk.advice_sheet import AdviceSheets
from service.desk.callers import Callers
from service.desk.districts import RainReports
from service.desk.dose import Doses
from service.desk.exports import Exports
from service.desk.farmer_rows import lists_of
from service.desk.form import Forms
from service.desk.gateway_state import GatewayState
from service.desk.handover import Handovers
from service.desk.imports import Imports
from service.desk.office import Office
from service.desk.outlook import Outlook
from service.desk.passwords import Hasher
from service.desk.people import People
from service.desk.privacy import Privacy
from service.desk.roster import Roster
from service.desk.seasonal import Rate, SeasonalDrafts
from service.desk.seasonal_runs import SeasonalRuns
from service.desk.signing_in import SigningIn
from service.desk.speech import Speech
from service.desk.tickets import Tickets
from service.desk.visits import Visits
from service.desk.walking import Walking
from service.drawing import SheetFonts
from service.outreach import Places, Seasonal
from service.phrases import Screen
from service.records import UnitOfWork
from service.settings import Settings
from service.text.languages import LANGUAGES, language_of
from service.text.render import TWO_PARTS, USSD_PAGE, one_text
from service.wiring.build import Service, renderer
from service.wiring.fonts import sheet_fonts
from service.wiring.keys import new_id, random_password, secret_key
from service.wiring.outreach import make_outreach
from service.wiring.own_prices import OwnPrices
from service.wiring.passwords import Argon2

Wake = Callable[[str], None]


def desk_pages(service: Service, settings: Settings, jobs: Jobs) -> DeskPages:
    """Return the frame of the desk's pages."""
    return DeskPages(
        jobs=jobs,
        translate=service.catalogues.translate,
        clock=service.clock,
        zone=settings.time_zone,
        language=settings.language,
        tables=service.loaded.tables,
        reviewed=service.catalogues.reviewed,
        new_id=new_id,
        new_password=random_password,
        prices=OwnPrices(Office(service.database.unit_of_work, new_id), settings, service.loaded),
        invented=service.loaded.invented,
        helpline=settings.helpline,
    )


def make_jobs_of_desk(
    service: Service,
    settings: Settings,
    wake_seasonal: Wake = lambda seasonal_id: None,
    hasher: Hasher | None = None,
) -> Jobs:
    """Return every job of the desk.

    `wake_seasonal` is told of a message that has work to do; without it `litreline work` finds
    that out by itself within a minute.
    """
    return _Maker(service, settings, hasher or Argon2()).jobs(wake_seasonal)


def make_accounts(unit_of_work: Callable[[], UnitOfWork], settings: Settings) -> Accounts:
    """Return the accounts alone, for commands that need nothing else."""
    return Accounts(Office(unit_of_work, new_id), Argon2(), tuple(LANGUAGES), settings.region)


def quiet_days(places: Places) -> Callable[[date], bool]:
    """Return whether nothing may leave unasked on a whole day, where no district says otherwise."""
    hours = places.hours()

    def quiet(day: date) -> bool:
        opening = datetime.combine(day, hours.start, hours.zone)
        return hours.next(opening).date() != day

    return quiet


class _Maker:
    """What several jobs share."""

    def __init__(self, service: Service, settings: Settings, hasher: Hasher) -> None:
        self._service, self._settings, self._hasher = service, settings, hasher
        self._office = Office(service.database.unit_of_work, new_id)
        self._outreach = make_outreach(settings, service)
        self._dialogue, self._tables = service.dialogue, service.loaded.tables
        self._region, self._language = settings.region, settings.language
        catalogues = service.catalogues
        self._speech = Speech(
            ussd=renderer(catalogues, USSD_PAGE),
            sms=renderer(catalogues, TWO_PARTS),
            translate=catalogues.translate,
            words_for=service.words_for,
        )

    def jobs(self, wake: Wake) -> Jobs:
        """Return all of them."""
        office, seasonal = self._office, self._outreach.seasonal
        flow = (office, self._dialogue, self._speech, self._context)
        return Jobs(
            signing_in=SigningIn(office, self._hasher),
            accounts=Accounts(office, self._hasher, tuple(LANGUAGES), self._region),
            callers=Callers(office, self._region),
            people=People(office, tuple(LANGUAGES)),
            walking=Walking(*flow, self._language, effects=self._effects()),
            forms=Forms(*flow, self._language, effects=self._effects()),
            sheets=AdviceSheets(*flow, self._one_text, self._language, self._fonts),
            tickets=Tickets(office),
            doses=Doses(office, self._speech.translate, self._context, self._language),
            handovers=Handovers(*flow, self._region),
            rain=RainReports(office, self._tables.districts, self._day_there),
            imports=self._imports(),
            exports=Exports(office),
            drafts=self._drafts(seasonal),
            runs=SeasonalRuns(office, seasonal, wake),
            visits=Visits(office, self._dialogue.book, self._day),
            privacy=Privacy(office, self._number_key()),
            gateway=GatewayState(office),
            speech=self._speech,
            outlook=self._outlook(),
            roster=Roster(office),
        )

    def _context(self, now: datetime) -> Context:
        # Its day is that of the moment, so the moment stands by the clock of the place.
        return self._service.context_for(now.astimezone(self._settings.time_zone))

    def _day(self, now: datetime) -> date:
        return now.astimezone(self._settings.time_zone).date()

    def _day_there(self, district: str, now: datetime) -> date:
        return self._outreach.places.local(district, now).date()

    def _effects(self) -> Effects:
        return together(ticket_effects(new_id), reminder_effects(new_id))

    def _one_text(self, screen: Screen, language: str) -> str:
        return one_text(screen, language, self._service.catalogues)

    def _fonts(self, language: str) -> SheetFonts | None:
        return sheet_fonts(self._settings.fonts_dir, language_of(language))

    def _number_key(self) -> str:
        return secret_key(self._settings.secret_key, self._settings.data_dir)

    def _imports(self) -> Imports:
        lists = lists_of(
            {key: one.name for key, one in self._tables.districts.items()},
            tuple(self._tables.crops),
            {code: (one.own_name, one.english_name) for code, one in LANGUAGES.items()},
        )
        return Imports(
            self._office,
            lists,
            region=self._region,
            number_key=self._number_key(),
            today_of=self._day,
        )

    def _outlook(self) -> Outlook:
        outreach = self._outreach
        time_of = outreach.reminders.time_of
        return Outlook(self._office, time_of, self._day, quiet_days(outreach.places))

    def _drafts(self, seasonal: Seasonal) -> SeasonalDrafts:
        start, end = self._settings.reminder_hours
        hours = (end.hour * 60 + end.minute - start.hour * 60 - start.minute) / 60
        return SeasonalDrafts(
            self._office,
            seasonal,
            districts=tuple(self._tables.districts),
            crops=tuple(self._tables.crops),
            languages=tuple(LANGUAGES),
            rate=Rate(float(self._settings.gateway_rate), hours, self._settings.price_per_part),
            second_eyes_above=self._settings.second_eyes_above,
        )
