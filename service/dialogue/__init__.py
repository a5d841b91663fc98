"""Flow files turned into state machines, and conversations held by them.

`load_flows(files, registry, navigation)` reads flow files (see `docs/flow-files.md`) into a
`FlowBook`, or raises `errors.TextFileError` with every problem in them. `Dialogue(book)` then
holds conversations: `begin`, `answer`, `show` and `resume` return the next `Conversation` (all
that must be kept) and its `Screen` (what to say), or an `Outcome` of both.

The room knows nothing of irrigation, of languages or of channels: guards, results and menus
made at run time come from a `Registry`, words and digits from a `Vocabulary`.
"""

from service.dialogue.answers import NotUnderstood, Reason, Understood
from service.dialogue.conversation import Conversation, with_page
from service.dialogue.engine import Dialogue, Outcome
from service.dialogue.load import load_flows
from service.dialogue.machine import FlowBook, Place
from service.dialogue.model import (
    Answers,
    Ask,
    Flow,
    Navigation,
    Option,
    Registry,
    Show,
    State,
    Target,
)
from service.dialogue.vocabulary import (
    Command,
    Named,
    PlainQuantity,
    PlainUnreadable,
    PlainVocabulary,
    Quantity,
    Unit,
    Unreadable,
    Vocabulary,
)
from service.dialogue.walk import Exit, Step, walk

__all__ = [
    "Answers",
    "Ask",
    "Command",
    "Conversation",
    "Dialogue",
    "Exit",
    "Flow",
    "FlowBook",
    "Named",
    "Navigation",
    "NotUnderstood",
    "Option",
    "Outcome",
    "Place",
    "PlainQuantity",
    "PlainUnreadable",
    "PlainVocabulary",
    "Quantity",
    "Reason",
    "Registry",
    "Show",
    "State",
    "Step",
    "Target",
    "Understood",
    "Unit",
    "Unreadable",
    "Vocabulary",
    "load_flows",
    "walk",
    "with_page",
]
