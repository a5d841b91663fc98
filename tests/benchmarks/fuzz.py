"""A hundred thousand hostile inputs, and none may end in an unhandled error.

Run by hand: `.venv/bin/python tests/benchmarks/fuzz.py [--inputs N] [--only answers] [--seed 1]`.
The suite runs a few hundred of each (`tests/acceptance/test_hostile.py`). Each target counts what
it took and what it refused in good order; everything else raises, with the input that did it.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from service.advice import Context, Planner, plan
from service.channels.messages import readable
from service.desk.farmer_rows import COLUMNS, EXAMPLES, lists_of, read_rows
from service.dialogue import Conversation, Dialogue
from service.errors import CardError, LitrelineError
from service.gateways.smpp.alphabet import text_of
from service.gateways.smpp.codec import CodecError, MessageBody, decode
from service.gateways.smpp.concatenation import content
from service.gateways.smpp.framing import Framer, OutOfStep
from service.gateways.smpp.receipts import read_receipt
from service.settings import read_settings
from service.sizing.card import read_card
from service.sizing.prices import read_prices
from service.text.catalogues import Catalogues
from service.text.languages import LANGUAGES
from service.text.render import TWO_PARTS, USSD_PAGE, render
from service.text.vocabulary import JOINERS, WordVocabulary
from service.wiring.app import create_app
from service.wiring.build import build, flow_book
from service.wiring.files import catalogue_files
from service.wiring.tables import load_tables

ROOT = Path(__file__).parents[2]
AT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
SHARES = {"answers": 0.4, "gateway": 0.15, "imports": 0.1, "cards": 0.15, "smpp": 0.2}
"""What part of the inputs each target gets."""
FITTING = (
    "0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "15", "20", "50", "200", "500", "900",
    "*", "**", "#", "0.5", "1,5", "2 drums", "20 m", "30 paces", "tomato", "kot", "yes", "no",
    "20 15 tomato 3 500 2", "50 48 51 49", "back", "menu", "more", "help", "stop", "start", "urea",
    "tank 1000", "nitric acid", "60", "12 20 tomato 3 500",
)  # fmt: skip
"""Answers that lead somewhere, so that every part of a conversation is reached."""
HOSTILE = (
    "", " ", "\n", "\r\n\t", "\x00", "\x1b[2J", "\x7f", "9" * 182, "9" * 1600, "A" * 1600,
    "1 " * 800, "-1", "-0", "+5", "1e400", "1e-400", "nan", "inf", "-inf", "0x10", "1_000", "1..2",
    "1.2.3.4", "1,,5", "½", "²", "٣٤", "۵", "३", "௧௨", "፲", "１２", "𝟙𝟚", "Ⅷ", "一二", "万",
    "\u202e20", "\u200f\u200e5", "\u2066" * 50, "\ufeff20", "2\u200d0", "e\u0301" * 80,
    "Z" + "\u0334\u0353\u0489" * 60, "ﷺ" * 70, "👩‍👩‍👧‍👦" * 20, "\ud800", "\udfff9",
    "' OR 1=1 --", "'); DROP TABLE phone; --", "<script>alert(1)</script>", "{{7*7}}", "{crop}",
    "{0.__class__}", "%s%n%d", "%(number)s", "=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0",
    "x\r\nSet-Cookie: a=b", "../../etc/passwd", "${jndi:x}", "\\", '"', "`id`", "I" * 3, "ı", "İ",
)  # fmt: skip
"""Huge, empty, control, right-to-left, combining; SQL, HTML, templates, formulas, headers."""

words = st.one_of(
    st.sampled_from(FITTING),
    st.sampled_from(FITTING[:10]),
    st.sampled_from(FITTING[:28]),
    st.sampled_from(FITTING[::-1]),
    st.sampled_from(HOSTILE),
    st.text(st.characters(), max_size=40),
    st.integers(-(10**12), 10**12).map(str),
    st.floats().map(str),
    st.tuples(st.sampled_from(FITTING), st.sampled_from(HOSTILE)).map(" ".join),
)
things: st.SearchStrategy[Any] = st.recursive(
    st.one_of(words, st.none(), st.booleans(), st.integers(), st.floats()),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4),
    max_leaves=6,
)
"""Anything that JSON can say, and more."""


@dataclass
class Tally:
    """What became of the inputs of one target."""

    done: Counter[str] = field(default_factory=Counter)
    last: object = None

    @property
    def inputs(self) -> int:
        return sum(self.done.values())


Target = Callable[[Tally, int], None]


def many(tally: Tally, inputs: int, each: int, strategy: Any, check: Callable[[Any], None]) -> None:
    """Run one check on `inputs` inputs, `each` of which make an example."""

    @settings(
        max_examples=max(1, inputs // each),
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.lists(strategy, min_size=each, max_size=each))
    def run(batch: list[Any]) -> None:
        tally.last = batch
        check(batch)

    seed(SEED)(run)()


SEED = 1


# Answers


LAID = {
    "district": "kotsindo", "laid": "told", "laid_lines": 15, "laid_line_length_m": 20.0,
    "laid_minutes": 40, "crop": "tomato", "weeks_since_planting": 5, "tank_volume_l": 500.0,
    "stand_height_m": 1.5,
}  # fmt: skip
PLANNED = {
    "district": "kotsindo", "plot_length_m": 20.0, "plot_width_m": 20.0, "crop": "tomato",
    "weeks_since_planting": 8, "tank_volume_l": 500.0, "stand_height_m": 2.5,
}  # fmt: skip


def answers(tally: Tally, inputs: int) -> None:
    """Whatever is sent to whichever conversation in whichever language, a screen comes back."""
    book, catalogues = flow_book(), Catalogues(catalogue_files())
    dialogue = Dialogue(book, joiners=JOINERS)
    vocabularies = {code: WordVocabulary(code, catalogues) for code in LANGUAGES}
    context = Context(Planner(load_tables(None, None).tables), AT.date(), helpline="0800 555")
    places = st.tuples(
        st.sampled_from(sorted(book.flows)), st.sampled_from(sorted(LANGUAGES)),
        st.sampled_from([{}, LAID, PLANNED]), st.lists(words, min_size=20, max_size=20),
    )  # fmt: skip

    def converse(batch: list[Any]) -> None:
        for flow, language, known, sent in batch:
            given_ = {"language": language, **known}
            outcome = dialogue.begin(language, flow=flow, context=context, answers=given_)
            for text in sent:
                kept = Conversation.from_json(outcome.conversation.to_json())
                spoken = vocabularies[kept.language]
                outcome = dialogue.answer(kept, readable(text), spoken, context)
                pages = render(
                    outcome.screen, outcome.conversation.language, catalogues,
                    budget=USSD_PAGE if len(text) % 2 else TWO_PARTS,
                )  # fmt: skip
                shown = outcome.command in ("stop", "start") or all(map(str.strip, pages))
                assert shown, (flow, kept.state, text)
                misread = any(code.startswith("misread:") for code in outcome.conversation.notice)
                tally.done["misread" if misread else "taken"] += 1

    many(tally, inputs // 20, 1, places, converse)


# Gateway payloads

BODIES: dict[str, dict[str, Any]] = {
    "ussd": {"session": "s1", "step": 1, "from": "+10005550100", "service_code": "*100#",
             "input": "1", "phase": "continue"},
    "sms": {"id": "m1", "from": "+10005550100", "to": "12345", "text": "hello",
            "received_at": "2026-11-25T09:00:00Z", "ref": 7, "part": 1, "parts": 2},
    "receipts": {"id": "m1", "state": "delivered", "at": "2026-11-25T09:00:00Z"},
    "calls": {"id": "c1", "from": "+10005550100", "to": "12345", "at": "2026-11-25T09:00:00Z"},
}  # fmt: skip
payloads = st.sampled_from(sorted(BODIES)).flatmap(
    lambda kind: st.tuples(
        st.just(kind),
        st.one_of(
            st.binary(max_size=200),
            things,
            st.dictionaries(st.sampled_from(sorted(BODIES[kind])), things, max_size=2),
            st.dictionaries(
                st.sampled_from([name for name in BODIES[kind] if name in ("input", "text", "id",
                "step", "session", "phase")] or ["at"]),
                words | st.integers(0, 9), min_size=1, max_size=3,
            ),
        ),
    )
)  # fmt: skip


def gateway(tally: Tally, inputs: int) -> None:
    """No body makes the service fail, and whatever was kept can be read again."""
    with folder() as data:
        environ = {"LITRELINE_DATA_DIR": data, "LITRELINE_REGION": "KE"}
        config = read_settings(environ)
        service = build(config, lambda: AT)
        service.database.migrate()
        app = create_app(config, service)
        app.config["PROPAGATE_EXCEPTIONS"] = True
        client = app.test_client()

        def send(batch: list[Any]) -> None:
            for kind, body in batch:
                if isinstance(body, dict):
                    body = {**BODIES[kind], **body}
                raw = body if isinstance(body, bytes) else json.dumps(body).encode()
                answer = client.post(f"/gateway/{kind}", data=raw)
                assert answer.status_code in (200, 202, 400, 409, 413), (kind, raw)
                assert "Set-Cookie" not in answer.headers
                tally.done[str(answer.status_code)] += 1

        many(tally, inputs, 20, payloads, send)
        service.database.close()


# Imports

cells = st.dictionaries(st.sampled_from(COLUMNS), words, max_size=3)
GOOD_PRICES = (ROOT / "service" / "scenario" / "prices.csv").read_text("utf-8")
GOOD_DISTRICTS = (ROOT / "service" / "scenario" / "districts.csv").read_text("utf-8")
cuts = st.tuples(st.integers(0, 4000), st.integers(0, 80), words)


def imports(tally: Tally, inputs: int) -> None:
    """Lists of farmers, prices and districts: read, or refused with what is wrong."""
    tables = load_tables(None, None).tables
    names = {key: one.name for key, one in tables.districts.items()}
    spoken = {code: (language.own_name,) for code, language in LANGUAGES.items()}
    lists = lists_of(names, tuple(tables.crops), spoken)
    rows = st.tuples(st.just("farmers"), st.lists(cells, min_size=1, max_size=3))
    raw = st.tuples(st.just("raw"), st.binary(max_size=300))
    tables_ = st.tuples(st.sampled_from(["prices", "districts"]), cuts)

    def read(batch: list[Any]) -> None:
        for kind, given_ in batch:
            tally.done[f"{kind}: {_read_list(kind, given_, lists)}"] += 1

    many(tally, inputs, 10, st.one_of(rows, rows, tables_, raw), read)


def _read_list(kind: str, given_: Any, lists: Any) -> str:
    if kind in ("farmers", "raw"):
        text = given_.decode("utf-8", "replace") if kind == "raw" else _sheet(given_)
        return "refused" if read_rows(text, lists, "KE", AT.date()).problems else "taken"
    good = GOOD_PRICES if kind == "prices" else GOOD_DISTRICTS
    start, length, put = given_
    text = good[:start] + put + good[start + length :]
    try:
        if kind == "prices":
            read_prices(text, "prices.csv")
        else:
            with folder() as data:
                file = Path(data) / "districts.csv"
                file.write_text(text, "utf-8", errors="replace", newline="")
                load_tables(file, None)
    except LitrelineError:
        return "refused"
    return "taken"


def _sheet(rows: list[dict[str, str]]) -> str:
    lines = [",".join(COLUMNS)]
    for row in rows:
        good = {**EXAMPLES, "district": "Kotsindo", **row}
        lines.append(",".join('"' + good[name].replace('"', '""') + '"' for name in COLUMNS))
    return "\n".join(lines)


# Cards

CARD = json.loads((ROOT / "docs" / "examples" / "card.json").read_text("utf-8"))
PATHS = [
    *((name,) for name in CARD),
    *((name, inner) for name, part in CARD.items() if isinstance(part, dict) for inner in part),
    ("plot", "slope_length_pct"), ("tank", "water_depth_m"), ("submain", "inner_diameter_mm"),
    ("dripline", "exponent"), ("dripline", "cv"), ("dripline", "emitter_flow_lph"), ("climate",),
    ("soil",), ("layout",), ("supply",), ("planting_date",), ("water_ec_ds_m",), ("unknown",),
]  # fmt: skip
values = st.one_of(things, st.floats(-10, 1000), st.integers(-3, 300))
changes = st.lists(st.tuples(st.sampled_from(PATHS), values), min_size=1, max_size=3)
fitting_values = st.one_of(st.floats(0.01, 4), st.integers(1, 40), st.floats(4, 900))
near = st.lists(st.tuples(st.sampled_from(PATHS), fitting_values), min_size=1, max_size=2)


def cards(tally: Tally, inputs: int) -> None:
    """A card is refused field by field, or can be planned without anything but a refusal."""
    tables = load_tables(None, None).tables
    strategy = st.one_of(changes, near, near, st.binary(max_size=120))

    def read(batch: list[Any]) -> None:
        for given_ in batch:
            raw = given_ if isinstance(given_, bytes) else json.dumps(_changed(given_))
            try:
                tally.done[_planned(read_card(raw), tables)] += 1
            except CardError:
                tally.done["refused"] += 1

    many(tally, inputs, 10, strategy, read)


def _planned(card: Any, tables: Any) -> str:
    try:
        plan(card, tables)
    except LitrelineError:
        return "plan refused"
    return "planned"


def _changed(changed: list[tuple[tuple[str, ...], Any]]) -> dict[str, Any]:
    card: dict[str, Any] = json.loads(json.dumps(CARD))
    for path, value in changed:
        place = card
        for name in path[:-1]:
            if not isinstance(place.get(name), dict):
                place[name] = {}
            place = place[name]
        place[path[-1]] = value
    return card


# SMPP

VECTORS = [
    bytes.fromhex(one["hex"])
    for one in json.loads((ROOT / "tests" / "data" / "messaging_smpp.json").read_text())["pdu"]
]
bits = st.tuples(
    st.sampled_from(VECTORS), st.integers(4, 200), st.binary(max_size=12), st.integers(0, 12)
)


def smpp(tally: Tally, inputs: int) -> None:
    """Octets are a PDU or a refusal; what is in a PDU is a text, a receipt or nothing."""

    def read(batch: list[Any]) -> None:
        for one in batch:
            octets = one if isinstance(one, bytes) else _spoilt(*one)
            tally.done[_read_pdu(octets)] += 1

    many(tally, inputs, 20, st.one_of(bits, bits, st.binary(max_size=300)), read)


def _spoilt(octets: bytes, start: int, put: bytes, length: int) -> bytes:
    spoilt = octets[:start] + put + octets[start + length :]
    return len(spoilt).to_bytes(4, "big") + spoilt[4:]


def _read_pdu(octets: bytes) -> str:
    try:
        for whole in Framer().feed(octets):
            decode(whole)
    except (OutOfStep, CodecError):
        pass
    try:
        body = decode(octets).body
    except CodecError:
        return "refused"
    if isinstance(body, MessageBody):
        _, said = content(body)
        text_of(said, body.data_coding)
        read_receipt(body, UTC, AT)
        return "a message"
    return "another PDU"


@contextmanager
def folder() -> Iterator[str]:
    """A folder for a database, in memory where the system has one there."""
    memory = Path("/dev/shm")
    place = str(memory) if memory.is_dir() else None
    with tempfile.TemporaryDirectory(dir=place) as made:
        yield made


TARGETS: dict[str, Target] = {
    "answers": answers, "gateway": gateway, "imports": imports, "cards": cards, "smpp": smpp,
}  # fmt: skip


def main() -> int:
    """Run the targets and print what became of the inputs."""
    global SEED
    parser = argparse.ArgumentParser()
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--only", choices=sorted(TARGETS))
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    SEED, total = asked.seed, 0
    for name, target in TARGETS.items():
        if asked.only not in (None, name):
            continue
        tally, began = Tally(), time.monotonic()
        target(tally, round(asked.inputs * (1 if asked.only else SHARES[name])))
        total += tally.inputs
        print(f"{name:8} {tally.inputs:7} inputs in {time.monotonic() - began:5.0f} s"
              f" {dict(sorted(tally.done.items()))}", flush=True)  # fmt: skip
    print(f"{total} inputs, none ended in an unhandled error")
    return 0


if __name__ == "__main__":
    sys.exit(main())
