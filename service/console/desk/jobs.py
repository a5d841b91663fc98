"""Every job of the desk, made elsewhere and handed to the pages in one piece."""

from __future__ import annotations

from dataclasses import dataclass

from service.desk.accounts import Accounts
from service.desk.advice_sheet import AdviceSheets
from service.desk.callers import Callers
from service.desk.districts import RainReports
from service.desk.dose import Doses
from service.desk.exports import Exports
from service.desk.form import Forms
from service.desk.gateway_state import GatewayState
from service.desk.handover import Handovers
from service.desk.imports import Imports
from service.desk.outlook import Outlook
from service.desk.people import People
from service.desk.privacy import Privacy
from service.desk.roster import Roster
from service.desk.seasonal import SeasonalDrafts
from service.desk.seasonal_runs import SeasonalRuns
from service.desk.signing_in import SigningIn
from service.desk.speech import Speech
from service.desk.tickets import Tickets
from service.desk.visits import Visits
from service.desk.walking import Walking


@dataclass(frozen=True, slots=True)
class Jobs:
    """What the pages call; each checks roles and districts itself and keeps the log."""

    signing_in: SigningIn
    accounts: Accounts
    callers: Callers
    people: People
    walking: Walking
    forms: Forms
    sheets: AdviceSheets
    tickets: Tickets
    doses: Doses
    handovers: Handovers
    rain: RainReports
    imports: Imports
    exports: Exports
    drafts: SeasonalDrafts
    runs: SeasonalRuns
    visits: Visits
    privacy: Privacy
    gateway: GatewayState
    speech: Speech
    outlook: Outlook
    roster: Roster
