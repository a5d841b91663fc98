"""Lists that leave the desk as CSV; the log says who took which."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from service.advice.answers import NOT_ON_THE_LIST
from service.advice.crops_told import planted_on
from service.desk.csv_cells import csv_text
from service.desk.farmer_rows import COLUMNS
from service.desk.office import Office, limited, need
from service.desk.refusals import not_your_district
from service.records import Account, Audience, Farmer, UnitOfWork

PAGE = 500
TOLD = (
    "laid_lines", "laid_line_length_m", "laid_spacing_m", "tank_volume_l", "stand_height_m",
)  # fmt: skip


class Exports:
    """Makes lists."""

    def __init__(self, office: Office) -> None:
        self._office = office

    def farmers(self, account: Account, audience: Audience, now: datetime) -> str:
        """Return the farmers of an audience, numbers in full, as a list that can be read again.

        A field officer who is limited to districts names some of them.
        """
        need(account, "officer")
        only = limited(account)
        if only and not (audience.districts and set(audience.districts) <= set(only)):
            raise not_your_district()
        with self._office.work() as work:
            rows = list(_rows(work, audience, now.date()))
            self._office.log(
                work, account, "farmers.exported", now, rows=len(rows),
                districts=list(audience.districts),
            )  # fmt: skip
        return csv_text(COLUMNS, rows)


def _rows(work: UnitOfWork, audience: Audience, today: date) -> Iterator[tuple[object, ...]]:
    after = ""
    while page := work.farmers.page(audience, after, PAGE):
        yield from (_row(farmer, today) for farmer in page)
        after = page[-1].plot.id


def _row(farmer: Farmer, today: date) -> tuple[object, ...]:
    plot, person, told = farmer.plot, farmer.person, farmer.plot.answers
    planted = planted_on(told, today)
    return (
        farmer.phone.number,
        person.name if person else "",
        plot.name,
        farmer.phone.language or "",
        "" if plot.district == NOT_ON_THE_LIST else plot.district,
        plot.crop,
        "" if planted is None else (today - planted).days // 7,
        *(told.get(name, "") for name in TOLD),
        "; ".join(person.groups) if person else "",
        "" if farmer.consent is None else "yes" if farmer.consent else "no",
    )
