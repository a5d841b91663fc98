"""Words that people send, language by language: commands, yes and no, units, and small words.

Written without accents' help: `typed.cleaned` is applied to both sides before they are compared.
The Swahili, French and Hindi words are from memory and await a speaker's review. English stop
words are the seven that the US rule of 2024 names (Federal Register 2024-04587).
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from service.text import lexicons_more as more
from service.text.lexicon_shape import Command, Lexicon, Unit, words_of

__all__ = ["LEXICONS", "Command", "Lexicon", "Unit", "words_of"]

_EN = Lexicon(
    commands={
        "back": "back|go back",
        "main": "main|main menu|menu|home",
        "more": "more",
        "help": "help|help me|info",
        "stop": "stop|stop all|quit|end|revoke|opt out|optout|cancel|unsubscribe",
        "start": "start",
    },
    yes="yes|y|yeah|yep|yes it is|ok|okay|sure",
    no="no|n|nope|not|no it is not",
    units={
        "m": "m|metre|metres|meter|meters|mtr|mtrs|mts",
        "ft": "ft|fts|foot|feet|foots",
        "pace": "pace|paces|step|steps|stride|strides",
        "cm": "cm|cms|centimetre|centimetres|centimeter|centimeters",
        "mm": "mm|mms|millimetre|millimetres|millimeter|millimeters",
        "l": "l|lt|lts|ltr|ltrs|lit|lits|litre|litres|liter|liters",
        "bucket": "bucket|buckets|pail|pails|jerrycan|jerrycans|jerry can|jerry cans|jerrican",
        "drum": "drum|drums|barrel|barrels",
        "m3": "m3|cubic metre|cubic metres|cubic meter|cubic meters|cu m|cum|cbm",
        "week": "week|weeks|wk|wks",
        "pct": "%|percent|per cent|pct",
        "lph": "lph|l h|l hr|l hour|lt h|lt hr|ltr h|ltr hr|ltrs hr|litres h|litres hr"
        "|litre hour|litres hour|liters hour",
    },
    hourly="per hour|an hour|per hr|an hr|hourly",
    joining="by|x|×|and",
    between="or|to",
    filling="about|abt|approx|around|nearly|almost|only|just|exactly|please|pls|plz|sir|madam"
    "|thanks|thank|long|length|wide|width|broad|high|height|tall|deep|depth|ago|old|now|today"
    "|times|time|fills|fill|a day|per day|each day|every day|daily|full|of water|water|tank|tanks"
    "|apart|each",
    polite="please|pls|plz|thanks|thank you|kindly|sir|madam",
    leaving="stop|unsubscribe|opt out|revoke",
)

_SW = Lexicon(
    commands={
        "back": "rudi|rudi nyuma|nyuma",
        "main": "menyu|menyu kuu|mwanzo",
        "more": "zaidi",
        "help": "msaada|nisaidie|naomba msaada",
        "stop": "acha|sitisha|ondoa",
        "start": "anza",
    },
    yes="ndiyo|ndio|naam|sawa",
    no="hapana|la|siyo|sio",
    units={
        "m": "mita",
        "ft": "futi",
        "pace": "hatua",
        "cm": "sentimita|sm",
        "mm": "milimita",
        "l": "lita",
        "bucket": "ndoo|jerikeni|dumu|madumu|debe|madebe",
        "drum": "pipa|mapipa|drami",
        "m3": "mita za ujazo|mita ujazo",
        "week": "wiki|juma|majuma",
        "pct": "asilimia",
        "lph": "lita saa",
    },
    hourly="kwa saa|kila saa",
    joining="kwa|na",
    between="au|hadi|mpaka",
    filling="kama|karibu|takriban|tafadhali|tu|hivi|urefu|upana|kimo|kina|ya|wa|za|la|iliyopita"
    "|zilizopita|sasa|leo|mara|kwa siku|kila siku|siku|maji|tangi|kila",
    polite="tafadhali|naomba|asante",
    leaving="acha|sitisha",
)

_FR = Lexicon(
    commands={
        "back": "retour",
        "main": "menu|menu principal|accueil",
        "more": "suite|plus",
        "help": "aide|aidez moi|au secours",
        "stop": "arret|arreter|arretez|desabonner|desabonnement",
        "start": "demarrer|commencer",
    },
    yes="oui|ouais|d accord|o",
    no="non",
    units={
        "m": "mètre|mètres",
        "ft": "pied|pieds",
        "pace": "pas",
        "cm": "centimètre|centimètres",
        "mm": "millimètre|millimètres",
        "l": "litre|litres",
        "bucket": "seau|seaux|bidon|bidons|jerrican|jerricans",
        "drum": "fût|fûts|tonneau|tonneaux|baril|barils",
        "m3": "mètre cube|mètres cubes|metre cubes|m cube",
        "week": "semaine|semaines|sem",
        "pct": "pour cent|pourcent",
        "lph": "litres heure|litre heure|l heure",
    },
    hourly="par heure|à l heure|de l heure",
    joining="sur|par|et",
    between="ou|à",
    filling="environ|presque|seulement|de|d|svp|longueur|largeur|hauteur|profondeur|haut|large"
    "|il y a|déjà|maintenant|fois|fois par jour|par jour|chaque jour|le jour|eau|réservoir",
    polite="svp|stp|s il vous plaît|s il te plaît|merci",
    leaving="arret|arretez|desabonner",
)

_HI = Lexicon(
    commands={
        "back": "वापस|पीछे|wapas|peeche",
        "main": "मेनू|मुख्य मेनू|मुख्य सूची|मुख्य|mukhya",
        "more": "और|और दिखाएँ|aur",
        "help": "मदद|सहायता|madad|sahayata",
        "stop": "बंद|बंद करो|बंद करें|रोकें|रोको|band karo|roko",
        "start": "शुरू|शुरू करें|चालू|shuru|chalu",
    },
    yes="हाँ|हां|जी|जी हाँ|haan|han|haa|ji|ji haan",
    no="नहीं|नही|ना|जी नहीं|nahi|nahin|nahi ji|na",
    units={
        "m": "मीटर|मी|mitar",
        "ft": "फुट|फीट|फिट|phut|phit",
        "pace": "कदम|kadam",
        "cm": "सेमी|सेंटीमीटर|सेन्टीमीटर|से मी",
        "mm": "मिमी|मिलीमीटर|मि मी",
        "l": "लीटर|लिटर|ली|litar",
        "bucket": "बाल्टी|बाल्टियाँ|बालटी|डिब्बे|balti|baltiyan",
        "drum": "ड्रम|डरम",
        "m3": "घन मीटर|घनमीटर|घन मी",
        "week": "हफ्ता|हफ्ते|हफ्तों|सप्ताह|hafta|hafte|saptah",
        "pct": "प्रतिशत|फीसदी|pratishat",
        "lph": "लीटर घंटा",
    },
    hourly="प्रति घंटा|प्रति घंटे|घंटे में|हर घंटे",
    joining="गुणा|बाय|और|guna|aur",
    between="या|से|ya|se",
    filling="लगभग|करीब|केवल|सिर्फ|लंबा|लंबी|लंबाई|चौड़ा|चौड़ी|चौड़ाई|ऊँचा|ऊँची|ऊँचाई|गहरा|है|हैं|पहले"
    "|पानी|टंकी|बार|रोज|दिन में|प्रति दिन|हर दिन|कृपया|जी|lagbhag|karib|hai|pehle|pani|bar|roz|din",
    polite="कृपया|kripya|जी|ji|धन्यवाद",
    leaving="रोकें|रोको|बंद करो|बंद करें",
)

LEXICONS: Mapping[str, Lexicon] = MappingProxyType(
    {
        "en": _EN,
        "sw": _SW,
        "fr": _FR,
        "pt": more.PT,
        "es": more.ES,
        "hi": _HI,
        "bn": more.BN,
        "am": more.AM,
        "ar": more.AR,
        "id": more.ID,
    }
)
