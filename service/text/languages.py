"""The languages the service speaks: names, locale, direction, plural rule, approved spellings.

To add one, add a row here, its words in `lexicon`, and `locales/<code>/LC_MESSAGES/litreline.po`.

A language with `gsm7` set promises that its whole catalogue stays inside the 7-bit alphabet;
the check of the catalogues holds it to that. French keeps the promise by wording, never by
stripping accents at run time: à é è ù are in the alphabet and are written; a word that needs
â ê î ô û ç œ or an accented capital other than É gives way to another word ("stop" for "arrêt",
"ici" for "ça"), and where none serves, to the spelling without the circumflex that the reform of
1990 allows on i and u ("aout", "bruler", "cout", "gout", "boite": from memory, not verified).
Portuguese and Spanish keep it by wording and, where no word serves, by the plain letter ("agua",
"dias"): the notes at the top of their catalogues and glossaries say which. A
word outside the reform that cannot be avoided stands in the notes at the top of the French
catalogue, with who decided its spelling. `plain_words` does the same for words from Babel.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal


@dataclass(frozen=True, slots=True)
class Language:
    """One language: our code, names, Babel locale and what a text in it may cost.

    `plural_forms` is the gettext header that the catalogue must carry (CLDR 48 rules for whole
    numbers; some defaults of Babel differ). `list_comma` joins the items of a list.
    """

    code: str
    english_name: str
    own_name: str
    locale: str
    gsm7: bool
    plural_forms: str = "nplurals=2; plural=(n != 1);"
    direction: Literal["ltr", "rtl"] = "ltr"
    list_comma: str = ", "
    plain_words: Mapping[str, str] = field(default_factory=dict)


_FROM_TWO = "nplurals=2; plural=(n > 1);"
_ALL = (
    Language("en", "English", "English", "en", gsm7=True),
    Language("sw", "Swahili", "Kiswahili", "sw", gsm7=True),
    Language(
        "fr",
        "French",
        "Français",
        "fr",
        gsm7=True,
        plural_forms=_FROM_TWO,
        plain_words={"août": "aout"},
    ),
    Language(
        "pt",
        "Portuguese",
        "Português",
        "pt",
        gsm7=True,
        plural_forms=_FROM_TWO,
        plain_words={"terça-feira": "terca-feira", "sábado": "sabado"},
    ),
    Language("es", "Spanish", "Español", "es", gsm7=True, plain_words={"sábado": "sabado"}),
    Language("hi", "Hindi", "हिन्दी", "hi", gsm7=False, plural_forms=_FROM_TWO),
    Language(
        "bn",
        "Bengali",
        "বাংলা",
        "bn",
        gsm7=False,
        plural_forms=_FROM_TWO,
        # Short as calendars have them (from memory): in full a month costs a part of a text.
        plain_words={
            "সেপ্টেম্বর": "সেপ্টে",
            "অক্টোবর": "অক্টো",
            "নভেম্বর": "নভে",
            "ডিসেম্বর": "ডিসে",
        },
    ),
    Language("am", "Amharic", "አማርኛ", "am", gsm7=False, plural_forms=_FROM_TWO),
    Language(
        "ar",
        "Arabic",
        "العربية",
        "ar",
        gsm7=False,
        plural_forms=(
            "nplurals=6; plural=(n==0 ? 0 : n==1 ? 1 : n==2 ? 2 : n%100>=3 && n%100<=10 ? 3"
            " : n%100>=11 ? 4 : 5);"
        ),
        direction="rtl",
        list_comma="، ",
    ),
    Language(
        "id",
        "Indonesian",
        "Bahasa Indonesia",
        "id",
        gsm7=True,
        plural_forms="nplurals=1; plural=0;",
    ),
)

SOURCE_LANGUAGE = "en"
LANGUAGES: Mapping[str, Language] = MappingProxyType({each.code: each for each in _ALL})


def language_of(code: str) -> Language:
    """Return the language of a code; raises ValueError that lists the known ones."""
    try:
        return LANGUAGES[code]
    except KeyError:
        raise ValueError(f"language {code!r} is not one of {', '.join(LANGUAGES)}") from None
