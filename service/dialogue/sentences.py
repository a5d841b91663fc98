"""What the dialogue itself says: why an answer was not taken, what to send, how to get about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.dialogue.answers import UNITS, Reason
from service.dialogue.model import Ask, AskType, Navigation, Option, State
from service.dialogue.vocabulary import Unit
from service.phrases import N_, Number, Phrase, Value, say, say_n

ASK_AGAIN: Mapping[Reason, str] = {
    "nothing": N_("The answer was empty."),
    "no-number": N_("No number was found in the answer."),
    "many-numbers": N_("There was more than one number. Send only one."),
    "ambiguous-number": N_("That number can be read in two ways. Send it with digits only."),
    "wrong-unit": N_("That unit does not fit this question."),
    "not-whole": N_("Send a whole number."),
    "too-small": N_("That is too small."),
    "too-large": N_("That is too large."),
    "no-words": N_("No words were found in the answer."),
    "too-long": N_("That is too long."),
    "no-choice": N_("That is not one of the answers."),
}
"""The sentence for every reason not to take an answer."""

WHAT_TO_SEND: Mapping[tuple[AskType, Unit | None], str] = {
    ("length", "m"): N_("Send a length from {low} to {high} metres. Example: {example}"),
    ("length", "cm"): N_("Send a length from {low} to {high} centimetres. Example: {example}"),
    ("length", "mm"): N_("Send a length from {low} to {high} millimetres. Example: {example}"),
    ("length", "ft"): N_("Send a length from {low} to {high} feet. Example: {example}"),
    ("length", "pace"): N_("Send a length from {low} to {high} paces. Example: {example}"),
    ("height", "m"): N_("Send a height from {low} to {high} metres. Example: {example}"),
    ("height", "cm"): N_("Send a height from {low} to {high} centimetres. Example: {example}"),
    ("height", "mm"): N_("Send a height from {low} to {high} millimetres. Example: {example}"),
    ("height", "ft"): N_("Send a height from {low} to {high} feet. Example: {example}"),
    ("height", "pace"): N_("Send a height from {low} to {high} paces. Example: {example}"),
    ("volume", "l"): N_("Send litres from {low} to {high}. Example: {example}"),
    ("volume", "m3"): N_("Send cubic metres from {low} to {high}. Example: {example}"),
    ("volume", "bucket"): N_("Send buckets from {low} to {high}. Example: {example}"),
    ("volume", "drum"): N_("Send drums from {low} to {high}. Example: {example}"),
    ("weeks", "week"): N_("Send weeks from {low} to {high}. Example: {example}"),
    ("percent", "pct"): N_("Send a number out of a hundred, {low} to {high}. Example: {example}"),
    ("flow", "lph"): N_("Send litres an hour from {low} to {high}. Example: {example}"),
    ("number", None): N_("Send a number from {low} to {high}. Example: {example}"),
    ("text", None): N_("Send {low} to {high} letters. Example: {example}"),
}
"""What to send, by the type of question and the unit it is asked in."""

_KEPT: Mapping[Unit, str] = {
    "m": N_("{value} m"),
    "cm": N_("{value} cm"),
    "mm": N_("{value} mm"),
    "l": N_("{value} L"),
    "pct": N_("{value}%"),
    "lph": N_("{value} L/h"),
}


def why(reason: Reason) -> Phrase:
    """Why an answer was not taken."""
    return Phrase(ASK_AGAIN[reason])


def what_to_send(ask: Ask) -> Phrase:
    """What a typed answer must be, with an example."""
    values: dict[str, Value] = {
        "low": Number(float(ask.low), 3),
        "high": Number(float(ask.high), 3),
        "example": ask.example,
    }
    return Phrase(WHAT_TO_SEND[ask.type, ask.unit], values)


def which_to_send(key: str) -> Phrase:
    """What the answer to a menu must be, with an example."""
    return say("Send the number of your answer. Example: {example}", example=key)


def nothing_to_choose(keys: Navigation) -> Phrase:
    """A menu that turned out empty still says how to leave it."""
    return say("There is nothing to choose here. Send {main} for the main menu.", main=keys.main)


def offer_of_help() -> Phrase:
    """After three answers that were not taken, when nothing better is registered."""
    return say("If this is hard, call the helpline: a person will help you.")


def changed() -> Phrase:
    """The question is no longer the one that was answered."""
    return say("This question has changed. Please answer it as it stands now.")


def general_help(keys: Navigation) -> Phrase:
    """How to get about."""
    return say(
        "Answer with a number. {back} goes back, {main} to the main menu, {more} shows more.",
        back=keys.back,
        main=keys.main,
        more=keys.more,
    )


def go_on() -> Phrase:
    """The one line of a screen that only leads on."""
    return say("Next")


def noted(values: Sequence[Phrase]) -> Phrase:
    """What was understood, so that a wrong reading is seen at once."""
    return say("Noted: {list}.", list=tuple(values))


def kept(state: State, value: object, options: Sequence[Option]) -> Phrase:
    """A kept answer, said in the unit in which it was asked if that is a measure."""
    if state.ask is None:
        labels = [option.label for option in options if option.value == value]
        return labels[0] if labels else _plain(value)
    if not isinstance(value, int | float):
        return _plain(value)
    if state.ask.type == "weeks":
        return say_n("{value} week", "{value} weeks", count="value", value=int(value))
    if state.ask.unit is None:
        return _plain(value)
    # Feet, paces, buckets and drums differ from place to place: say the measure itself.
    unit = state.ask.unit if state.ask.unit in _KEPT else next(iter(UNITS[state.ask.type]))
    size = float(value) / float(UNITS[state.ask.type][unit])
    return Phrase(_KEPT[unit], {"value": Number(size, 2)})


def _plain(value: object) -> Phrase:
    number = isinstance(value, int | float)
    return Phrase("{value}", {"value": Number(float(value), 2) if number else str(value)})  # type: ignore[arg-type]
