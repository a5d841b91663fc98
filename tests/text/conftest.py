"""Vectors and small catalogues that several tests of this room use."""

import json
from pathlib import Path

import pytest

from service.text.catalogues import Catalogues

DATA = Path(__file__).parent.parent / "data"

SWAHILI = """
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

msgid "{key} More"
msgstr "{key} Zaidi"

msgid "The plot is {length} m long."
msgstr "Shamba lina urefu wa mita {length}."

msgid "{n} line"
msgid_plural "{n} lines"
msgstr[0] "laini {n}"
msgstr[1] "laini {n}"

#, fuzzy
msgid "Not sure"
msgstr "Si hakika"

msgid "Not said"
msgstr ""
"""

FRENCH = """
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n > 1);\\n"

msgid "{key} More"
msgstr "{key} Suite"

msgid "{n} line"
msgid_plural "{n} lines"
msgstr[0] "{n} ligne"
msgstr[1] "{n} lignes"

msgctxt "crop"
msgid "Plant"
msgstr "Plante"

msgctxt "do"
msgid "Plant"
msgstr "Plantez"

msgid "today"
msgstr "aujourd’hui"
"""

HINDI = """
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n > 1);\\n"

msgid "{key} More"
msgstr "{key} आगे"

msgid "{n} line"
msgid_plural "{n} lines"
msgstr[0] "{n} नली"
msgstr[1] "{n} नलियाँ"
"""


@pytest.fixture(scope="session")
def vectors():
    return json.loads((DATA / "messaging_vectors.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def i18n():
    return json.loads((DATA / "messaging_i18n.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def catalogues():
    return Catalogues({"sw": SWAHILI, "fr": FRENCH, "hi": HINDI})
