"""A list of farmers as CSV: each row read into what is kept, or told what is wrong with it."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from service.advice.crop_names import CROP_NAMES
from service.advice.crops_told import WEEKS, WEEKS_TOLD_ON
from service.desk.csv_cells import csv_text, numbered_rows, plain
from service.phrases import Phrase, say
from service.records import NumberRefused, read_number
from service.sizing.climate import plain_letters

COLUMNS = (
    "number", "name", "plot", "language", "district", "crop", "weeks", "lines", "line_length_m",
    "line_spacing_m", "tank_l", "stand_m", "groups", "consent",
)  # fmt: skip
NEEDED = ("number", "name")
EXAMPLES: Mapping[str, str] = {
    "number": "+10005550100", "name": "Amina Diallo", "plot": "by the river", "language": "en",
    "district": "", "crop": "tomato", "weeks": "3", "lines": "12", "line_length_m": "20",
    "line_spacing_m": "1", "tank_l": "500", "stand_m": "1.5", "groups": "women; river side",
    "consent": "yes",
}  # fmt: skip
"""Invented, one a column; a district is taken from the table in use."""
LIMITS: Mapping[str, tuple[str, float, float, bool]] = {
    "weeks": (WEEKS, 0, 104, False),
    "lines": ("laid_lines", 1, 200, True),
    "line_length_m": ("laid_line_length_m", 1, 200, False),
    "line_spacing_m": ("laid_spacing_m", 0.2, 3, False),
    "tank_l": ("tank_volume_l", 20, 20_000, False),
    "stand_m": ("stand_height_m", 0, 6, False),
}
"""Column to the answer's name and its range, as the questions of the flow files have them."""
LAID_COLUMNS = ("lines", "line_length_m", "tank_l", "stand_m")
"""What makes a plot that lies; some of them without the others make none."""
YES, NO = frozenset({"yes", "y", "1", "true"}), frozenset({"no", "n", "0", "false"})
MOST_ROWS = 20_000
_NUMBER = re.compile(r"\d{1,9}([.,]\d{1,6})?")
_THOUSANDS = re.compile(r"\d{1,3},\d{3}")
_GROUP_SIGNS = re.compile(r"[;|/]")


@dataclass(frozen=True, slots=True)
class RowProblem:
    """What is wrong in one cell: the line of the file, the column, why, and a cell that is right.

    `line` 1 is the header; an empty `column` means the whole row.
    """

    line: int
    column: str
    what: Phrase
    example: str = ""


@dataclass(frozen=True, slots=True)
class FarmerRow:
    """One farmer with one plot, ready to be kept."""

    line: int
    number: str = field(repr=False)
    name: str
    plot: str
    language: str | None
    answers: Mapping[str, object]
    groups: tuple[str, ...]
    consent: bool | None

    @property
    def key(self) -> tuple[str, str, str]:
        """What tells one row from another: the number, who it is, and which plot."""
        return self.number, self.name.casefold(), self.plot.casefold()


@dataclass(frozen=True, slots=True)
class Lists:
    """What a cell may name, each by key and by the words people write for it."""

    districts: Mapping[str, str]
    crops: Mapping[str, str]
    languages: Mapping[str, str]


def lists_of(
    districts: Mapping[str, str], crops: Sequence[str], languages: Mapping[str, tuple[str, ...]]
) -> Lists:
    """Return the words for everything: districts by key and name, crops, languages."""
    words: dict[str, str] = {}
    for key in crops:
        name, others = CROP_NAMES.get(key, (key, ()))
        words.update({plain_letters(word): key for word in (key, name, *others)})
    named = {plain_letters(word): key for key, name in districts.items() for word in (key, name)}
    spoken = {plain_letters(word): code for code, own in languages.items() for word in (code, *own)}
    return Lists(named, words, spoken)


def template(district: str = "") -> str:
    """Return an empty list with one invented farmer, to be written over."""
    return csv_text(COLUMNS, [[{**EXAMPLES, "district": district}[name] for name in COLUMNS]])


@dataclass(frozen=True, slots=True)
class Reading:
    """Rows that can be kept, and everything that is wrong with the others."""

    rows: tuple[FarmerRow, ...]
    problems: tuple[RowProblem, ...]
    total: int


def read_rows(text: str, lists: Lists, region: str, today: date) -> Reading:
    """Read a list. No two rows of it may mean the same plot of the same person."""
    try:
        lines = list(numbered_rows(text))
    except csv.Error:
        broken = say("This is no CSV file: save the sheet again as CSV, UTF-8.")
        return Reading((), (RowProblem(1, "", broken),), 0)
    header = [cell.strip().casefold() for cell in lines[0][1]] if lines else []
    faults = [*_header_faults(header)]
    if faults or len(lines) - 1 > MOST_ROWS:
        many = say("More than {most} rows: split the list.", most=MOST_ROWS)
        return Reading((), tuple(faults) or (RowProblem(1, "", many),), max(0, len(lines) - 1))
    found: list[FarmerRow] = []
    problems: list[RowProblem] = []
    seen: dict[tuple[str, str, str], int] = {}
    for line, cells in lines[1:]:
        row = _Cells(line, header, cells, problems)
        read = _farmer(row, lists, region, today)
        if read is None:
            continue
        if (first := seen.setdefault(read.key, line)) != line:
            row.wrong("number", say("The same farmer and plot as in row {line}.", line=first))
            continue
        found.append(read)
    return Reading(tuple(found), tuple(problems), len(lines) - 1)


def _header_faults(header: Sequence[str]) -> Iterator[RowProblem]:
    for name in NEEDED:
        if name not in header:
            what = say("The column {name} is missing.", name=name)
            yield RowProblem(1, name, what, ",".join(COLUMNS))
    for name in header:
        if name and name not in COLUMNS:
            what = say("The column {name} is not known.", name=name)
            yield RowProblem(1, name, what, ",".join(COLUMNS))
        elif name and header.count(name) > 1:
            yield RowProblem(1, name, say("The column {name} is there twice.", name=name))


class _Cells:
    """The cells of one row by column; what is wrong with them is gathered."""

    def __init__(
        self,
        line: int,
        header: Sequence[str],
        cells: Sequence[str],
        problems: list[RowProblem],
    ) -> None:
        self.line, self._problems, self.sound = line, problems, True
        self._cells = dict(zip(header, map(plain, cells), strict=False))
        if len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
            self.wrong("", say("This row has more cells than the first one."))

    def __getitem__(self, column: str) -> str:
        return self._cells.get(column, "")

    def wrong(self, column: str, what: Phrase, example: str | None = None) -> None:
        """Note what is wrong in a column."""
        self.sound = False
        shown = EXAMPLES.get(column, "") if example is None else example
        self._problems.append(RowProblem(self.line, column, what, shown))

    def read(self, column: str, reader: Callable[[str], str | None], what: Phrase) -> str | None:
        """Return a cell through a reader; None for an empty cell, and one that is refused."""
        if not self[column]:
            return None
        found = reader(self[column])
        if found is None:
            self.wrong(column, what)
        return found


def _farmer(row: _Cells, lists: Lists, region: str, today: date) -> FarmerRow | None:
    number, name = _number(row, region), row["name"]
    if not name or len(name) > 80:
        row.wrong("name", say("A name has 1 to {most} letters.", most=80))
    language = row.read(
        "language",
        lambda cell: lists.languages.get(plain_letters(cell)),
        say("Not a language that is spoken here."),
    )
    answers = _answers(row, lists, today)
    consent = _consent(row)
    if not row.sound:
        return None
    groups = tuple(
        dict.fromkeys(
            " ".join(one.split()) for one in _GROUP_SIGNS.split(row["groups"]) if one.strip()
        )
    )
    return FarmerRow(
        row.line, number, " ".join(name.split()), " ".join(row["plot"].split()), language,
        answers, groups, consent,
    )  # fmt: skip


def _number(row: _Cells, region: str) -> str:
    try:
        return read_number(row["number"], region)
    except NumberRefused:
        row.wrong("number", say("Not a phone number: + and the country code first."))
        return ""


def _answers(row: _Cells, lists: Lists, today: date) -> dict[str, object]:
    answers: dict[str, object] = {}
    district = row.read(
        "district",
        lambda cell: lists.districts.get(plain_letters(cell)),
        say("Not a district of the table in use."),
    )
    crop = row.read(
        "crop", lambda cell: lists.crops.get(plain_letters(cell)), say("Not a crop that is known.")
    )
    named = {"district": district, "crop": crop}
    answers.update({name: value for name, value in named.items() if value})
    for column, (name, low, high, whole) in LIMITS.items():
        value = _figure(row, column, low, high, whole=whole)
        if value is not None:
            answers[name] = value
    if WEEKS in answers:
        answers[WEEKS_TOLD_ON] = today.isoformat()
    given = [column for column in LAID_COLUMNS if row[column]]
    if "lines" in given or "line_length_m" in given:
        for column in LAID_COLUMNS:
            if not row[column]:
                row.wrong(column, say("A plot that lies needs this too."))
        answers["laid"] = "told"
    return answers


def _figure(
    row: _Cells, column: str, low: float, high: float, *, whole: bool
) -> int | float | None:
    text = row[column].replace(" ", "")
    if not text:
        return None
    if not _NUMBER.fullmatch(text) or _THOUSANDS.fullmatch(text):
        row.wrong(column, say("Not a number that can be read in one way only."))
        return None
    value = float(text.replace(",", "."))
    if not low <= value <= high:
        row.wrong(column, say("Outside {low} to {high}.", low=f"{low:g}", high=f"{high:g}"))
        return None
    if whole and not value.is_integer():
        row.wrong(column, say("Send a whole number."))
        return None
    return int(value) if value.is_integer() else value


def _consent(row: _Cells) -> bool | None:
    said = row["consent"].casefold()
    if not said:
        return None
    if said in YES | NO:
        return said in YES
    row.wrong("consent", say("Write yes, no, or nothing when it was not asked."))
    return None
