"""The deployment's own prices: checked whole, kept in the data dir, read at the next start."""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256
from pathlib import Path

from service.desk.office import Office, need
from service.desk.refusals import DeskRefused
from service.phrases import say
from service.records import Account
from service.settings import Settings
from service.sizing.prices import PriceList, read_prices
from service.wiring.keys import make_data_dir
from service.wiring.replacing import replace_file
from service.wiring.tables import LoadedTables

PRICES_FILE = "prices.csv"


def prices_file(settings: Settings) -> Path | None:
    """Return the prices in use: those of the setting, else those kept; None for neither."""
    kept = settings.data_dir / PRICES_FILE
    return settings.prices or (kept if kept.is_file() else None)


class OwnPrices:
    """Shows the prices in use, and keeps others for the next start."""

    def __init__(self, office: Office, settings: Settings, loaded: LoadedTables) -> None:
        self._office, self._settings, self._loaded = office, settings, loaded

    @property
    def in_use(self) -> PriceList | None:
        """The prices that plans are ranked by now."""
        return self._loaded.tables.prices

    @property
    def source(self) -> str:
        """The name of the file they are from; empty when they are invented."""
        if "prices" in self._loaded.invented:
            return ""
        return self._settings.prices.name if self._settings.prices else PRICES_FILE

    @property
    def changeable(self) -> bool:
        """Whether a list can be kept here: not when a setting names the file."""
        return self._settings.prices is None

    def check(self, text: str) -> PriceList:
        """Return the prices of a text. Raises TextFileError with every bad row."""
        return read_prices(text, PRICES_FILE)

    def keep(self, account: Account, text: str, now: datetime) -> PriceList:
        """Keep a list in place of the one before.

        Raises
        ------
        TextFileError
            With every row that must be refused.
        DeskRefused
            No admin, or a setting names the file.
        FileTrouble
            The file cannot be written. In each case the old list stays.
        """
        need(account)
        if not self.changeable:
            raise DeskRefused(say("A setting names the price file: change that file instead."))
        prices = self.check(text)
        mark = sha256(text.encode("utf-8")).hexdigest()[:12]
        with self._office.work() as work:
            self._office.log(
                work, account, "prices.kept", now, subject="prices", subject_id=mark,
                rows=len(prices.by_item), currency=prices.currency,
            )  # fmt: skip
            make_data_dir(self._settings.data_dir)
            replace_file(self._settings.data_dir / PRICES_FILE, text.encode("utf-8"))
        return prices
