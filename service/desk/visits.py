"""Which plots a field officer should visit, and faults that come in a cluster."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from service.desk.office import Office, limited, need
from service.desk.refusals import not_your_district
from service.desk.risk import FAULT_DAY, FAULT_SEEN, Visit, visit_of
from service.dialogue import FlowBook
from service.phrases import Phrase, say
from service.records import Account, Audience, Farmer, Ticket, UnitOfWork

PAGE = 500
MOST_PLOTS = 50_000
MOST_VISITS = 100
CLUSTER_DAYS = 14
LOOK_BACK_DAYS = 182
LEAST_IN_CLUSTER = 3
TIMES_USUAL = 3.0
"""A cluster: so many phones in so many days, and several times as many as usual (our choice)."""


@dataclass(frozen=True, slots=True)
class Cluster:
    """One fault of many plots in one district at a time: look for one cause."""

    district: str
    fault: str
    name: Phrase
    phones: int
    """That told of it within the last fortnight."""
    usual: float
    """Phones a fortnight in the half year before."""


@dataclass(frozen=True, slots=True)
class _Told:
    """A fault that was told."""

    district: str
    fault: str
    day: date
    phone_id: str


class Visits:
    """Ranks plots and finds clusters. `book` holds the words of the faults."""

    def __init__(
        self,
        office: Office,
        book: FlowBook,
        today_of: Callable[[datetime], date] = lambda now: now.date(),
    ) -> None:
        self._office, self._names = office, fault_names(book)
        self._today_of = today_of

    def to_visit(
        self, account: Account, audience: Audience, now: datetime, limit: int = MOST_VISITS
    ) -> tuple[Visit, ...]:
        """Return the plots that need a visit most, the most urgent first."""
        need(account, "officer")
        reach = within_reach(account, audience)
        today = self._today_of(now)
        with self._office.work() as work:
            waiting = defaultdict[str, list[Ticket]](list)
            for ticket in work.tickets.waiting(2000):
                waiting[ticket.phone_id].append(ticket)
            visits = [
                visit
                for farmer in _farmers(work, reach)
                if (visit := visit_of(farmer, _of_plot(waiting, farmer), today)).score > 0
            ]
            self._office.log(work, account, "visits.seen", now, count=len(visits))
        visits.sort(key=lambda one: (-one.score, one.farmer.plot.id))
        return tuple(visits[:limit])

    def clusters(self, account: Account, now: datetime) -> tuple[Cluster, ...]:
        """Return faults that came much more often than usual, the most plots first."""
        need(account, "officer", "operator")
        today, only = self._today_of(now), limited(account)
        with self._office.work() as work:
            told = [
                one
                for one in {*_of_tickets(work, now), *_of_plots(work, only)}
                if one.district and (not only or one.district in only)
            ]
            self._office.log(work, account, "clusters.seen", now)
        return clusters_in(told, today, self._names)


def fault_names(book: FlowBook) -> Mapping[str, Phrase]:
    """Return what the fault conversation calls each thing that can be seen."""
    flow = book.flows.get("fault")
    states = flow.states.values() if flow else ()
    return {
        str(line.value): line.option.label
        for state in states
        if state.store == FAULT_SEEN
        for line in state.choices
    }


def clusters_in(told: list[_Told], today: date, names: Mapping[str, Phrase]) -> tuple[Cluster, ...]:
    """Return the clusters among faults that were told."""
    now, before = (
        defaultdict[tuple[str, str], set[str]](set),
        defaultdict[tuple[str, str], set[tuple[str, date]]](set),
    )
    for one in told:
        age = (today - one.day).days
        if 0 <= age < CLUSTER_DAYS:
            now[one.district, one.fault].add(one.phone_id)
        elif CLUSTER_DAYS <= age < LOOK_BACK_DAYS:
            before[one.district, one.fault].add((one.phone_id, one.day))
    found = []
    for (district, fault), phones in now.items():
        rest = LOOK_BACK_DAYS - CLUSTER_DAYS
        usual = len(before[district, fault]) * CLUSTER_DAYS / rest
        if len(phones) >= LEAST_IN_CLUSTER and len(phones) >= TIMES_USUAL * usual:
            name = names.get(fault, say("{fault}", fault=fault))
            found.append(Cluster(district, fault, name, len(phones), usual))
    return tuple(sorted(found, key=lambda one: (-one.phones, one.district, one.fault)))


def _of_tickets(work: UnitOfWork, now: datetime) -> Iterator[_Told]:
    for ticket in work.tickets.since(now - timedelta(days=LOOK_BACK_DAYS)):
        fault = _fault_of(ticket)
        plot = work.plots.get(ticket.plot_id) if fault and ticket.plot_id else None
        if plot is not None:
            yield _Told(plot.district, fault, ticket.opened_at.date(), ticket.phone_id)


def _fault_of(ticket: Ticket) -> str:
    """Return the fault that a ticket came from; what was seen long ago is not its matter."""
    answers = ticket.so_far.get("answers")
    if not isinstance(answers, Mapping):
        return ""
    about = ticket.so_far.get("flow") == "fault" or ticket.matter == "something is wrong"
    return str(answers.get(FAULT_SEEN) or "") if about else ticket.danger


def _of_plots(work: UnitOfWork, only: tuple[str, ...]) -> Iterator[_Told]:
    for farmer in _farmers(work, Audience(districts=only)):
        told = farmer.plot.answers
        fault, day = told.get(FAULT_SEEN), told.get(FAULT_DAY)
        if fault and day:
            yield _Told(
                farmer.plot.district, str(fault), date.fromisoformat(str(day)), farmer.phone.id
            )


def _farmers(work: UnitOfWork, audience: Audience) -> Iterator[Farmer]:
    after, seen = "", 0
    while seen < MOST_PLOTS and (page := work.farmers.page(audience, after, PAGE)):
        yield from page
        after, seen = page[-1].plot.id, seen + len(page)


def _of_plot(waiting: Mapping[str, list[Ticket]], farmer: Farmer) -> list[Ticket]:
    """Return the open tickets of a plot, and those of its phone that name no plot."""
    mine = waiting.get(farmer.phone.id, [])
    return [ticket for ticket in mine if ticket.plot_id in (None, farmer.plot.id)]


def within_reach(account: Account, audience: Audience) -> Audience:
    """Return an audience cut down to the districts of an account. Raises NotYours for others."""
    only = limited(account)
    if not only:
        return audience
    if not audience.districts:
        return Audience(only, audience.crops, audience.stages, audience.languages, audience.groups)
    if not set(audience.districts) <= set(only):
        raise not_your_district()
    return audience
