"""Who is in a district or a group: counts, and the farmers page by page, numbers masked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from service.desk.office import Office, limited, need
from service.desk.refusals import unknown
from service.desk.visits import within_reach
from service.records import Account, Audience, Farmer, masked

PAGE = 50


@dataclass(frozen=True, slots=True)
class DistrictLine:
    """A district and how many plots lie in it; `key` is empty for plots that name none."""

    key: str
    plots: int


@dataclass(frozen=True, slots=True)
class GroupLine:
    """A group and how many plots its people have; `id` stands in addresses, where no name may."""

    id: str
    name: str
    plots: int


@dataclass(frozen=True, slots=True)
class FarmerLine:
    """A farmer as a list shows one."""

    farmer: Farmer
    masked: str


@dataclass(frozen=True, slots=True)
class RosterPage:
    """Some farmers of an audience; `after` gets the next ones, empty at the end."""

    lines: tuple[FarmerLine, ...]
    total: int
    after: str


class Roster:
    """Lists districts, groups and farmers within the reach of an account."""

    def __init__(self, office: Office, page: int = PAGE) -> None:
        self._office, self._page = office, page

    def districts(self, account: Account) -> tuple[DistrictLine, ...]:
        """Return the districts that plots name, by key."""
        need(account, "officer")
        only = limited(account)
        with self._office.work() as work:
            found = work.farmers.districts()
            nowhere = 0 if only else work.farmers.count(Audience()) - sum(n for _, n in found)
        lines = [DistrictLine(key, n) for key, n in found if not only or key in only]
        return (*lines, *([DistrictLine("", nowhere)] if nowhere > 0 else []))

    def groups(self, account: Account) -> tuple[GroupLine, ...]:
        """Return the groups, by name."""
        need(account, "officer")
        with self._office.work() as work:
            found = work.farmers.groups(limited(account))
        return tuple(GroupLine(group_id(name), name, n) for name, n in found)

    def group(self, account: Account, key: str) -> str:
        """Return the name of a group by its id. Raises Unknown."""
        for line in self.groups(account):
            if line.id == key:
                return line.name
        raise unknown()

    def farmers(
        self, account: Account, audience: Audience, now: datetime, after: str = ""
    ) -> RosterPage:
        """Return some farmers of an audience, those after a plot id.

        Raises
        ------
        NotYours
            For districts that are not the account's.
        """
        need(account, "officer")
        reach = within_reach(account, audience)
        with self._office.work() as work:
            found = work.farmers.page(reach, after, self._page)
            total = work.farmers.count(reach)
            self._office.log(
                work, account, "farmers.listed", now, rows=len(found),
                districts=list(reach.districts),
            )  # fmt: skip
        lines = tuple(FarmerLine(one, masked(one.phone.number)) for one in found)
        return RosterPage(lines, total, found[-1].plot.id if len(found) == self._page else "")


def group_id(name: str) -> str:
    """Return the id of a group."""
    return sha256(name.encode()).hexdigest()[:16]
