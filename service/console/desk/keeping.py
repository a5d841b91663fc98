"""What pages need that lives in files: handed in, since pages open none of a deployment's own."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol

from service.records import Account
from service.sizing.prices import PriceList


class KeepsPrices(Protocol):
    """The price list of the deployment."""

    @property
    def in_use(self) -> PriceList | None:
        """The prices that plans are ranked by now."""

    @property
    def source(self) -> str:
        """The name of the file they are from; empty when they are invented."""

    @property
    def changeable(self) -> bool:
        """Whether a list can be kept here: not when a setting names the file."""

    def check(self, text: str) -> PriceList:
        """Return the prices of a text. Raises TextFileError with every bad row."""

    def keep(self, account: Account, text: str, now: datetime) -> PriceList:
        """Keep a list for the next start; raises TextFileError or DeskRefused."""
