"""What is kept of a text when there is no room for all of it."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from service.outreach.fitting import Piece, fitted, piece
from service.phrases import Phrase, say
from service.text.render import Budget

TEN = Budget(septets=10, units=10)


def fit(*pieces: Piece, budget: Budget = TEN) -> str:
    return fitted(pieces, lambda phrase: phrase.text, budget)


def test_all_of_it_in_its_own_order_where_it_fits() -> None:
    assert fit(piece(2, say("one")), piece(0, say("two"))) == "one two"


def test_the_lower_rank_stays() -> None:
    assert fit(piece(2, say("later")), piece(1, say("sooner"))) == "sooner"


def test_a_shorter_form_before_nothing_at_all() -> None:
    list_of = Piece(1, ((say("filter, tank"),), (say("filter"),)))
    assert fit(piece(0, say("do")), list_of) == "do filter"


def test_what_does_not_fit_makes_room_for_what_does() -> None:
    assert fit(piece(1, say("far too long a piece")), piece(2, say("short"))) == "short"


def test_rank_nought_is_said_in_its_shortest_form_whatever_happens() -> None:
    must = Piece(0, ((say("far too long a piece"),), (say("still too long"),)))
    assert fit(must, piece(1, say("a"))) == "still too long"


WORDS = st.text("ab", min_size=1, max_size=30)


@given(st.lists(st.tuples(st.integers(0, 4), st.lists(WORDS, min_size=1, max_size=3))))
def test_it_fits_unless_what_must_be_said_does_not(
    given_pieces: list[tuple[int, list[str]]],
) -> None:
    pieces = [Piece(rank, tuple((say(word),) for word in words)) for rank, words in given_pieces]
    budget = Budget(septets=80, units=80)

    def plain(phrase: Phrase) -> str:
        return phrase.text

    text = fitted(pieces, plain, budget)
    musts = [words[-1] for rank, words in given_pieces if rank == 0]
    shortest = " ".join(min(words, key=len) for rank, words in given_pieces if rank == 0)
    assert budget.fits(text) or len(text) <= max(80, sum(map(len, musts)) + len(musts))
    if not shortest:
        assert budget.fits(text)
