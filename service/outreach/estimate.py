"""What a seasonal message will cost and how long it takes, before anybody approves it.

A small audience is gone through to the last plot. Of a large one a sample is: ids of plots are
random, so plots in a row, from a random place on, are a random sample.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from service.outreach.seasonal_words import Words
from service.records import Audience, Farmer, UnitOfWork
from service.text.measure import measure

EXACT_UP_TO = 2000
"""Plots that are gone through one by one; of more a sample of so many is taken (our choice)."""
SECONDS_PER_HOUR = 3600.0
_PAGE = 200


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a seasonal message amounts to.

    `hours` is how long the gateway needs at its rate [h], `fits` whether `allowed_hours` are
    enough. `looked_at` plots were reckoned; with `exact` these were all. `cost` is in the money of
    the price, None without one.
    """

    plots: int
    recipients: int
    parts: int
    hours: float
    allowed_hours: float
    fits: bool
    cost: float | None
    exact: bool
    looked_at: int
    left_out: Mapping[str, int] = field(default_factory=dict)


def estimate(
    work: UnitOfWork,
    audience: Audience,
    write: Callable[[Farmer], Words],
    *,
    rate_per_second: float,
    allowed_hours: float,
    price_per_part: float | None = None,
    exact_up_to: int = EXACT_UP_TO,
    seed: int = 0,
) -> Estimate:
    """Return the estimate of a message that `write` writes; the same seed gives the same sample.

    Raises
    ------
    ValueError
        For a rate that is not above zero.
    """
    if not rate_per_second > 0:
        raise ValueError(f"a rate of {rate_per_second} messages a second sends nothing")
    plots = work.farmers.count(audience)
    exact = plots <= exact_up_to
    start = "" if exact else random_id(seed)
    looked_at, parts = 0, 0
    left_out: Counter[str] = Counter()
    for farmer in from_on(work, audience, start, plots if exact else exact_up_to):
        words = write(farmer)
        looked_at += 1
        if words.left_out:
            left_out[words.left_out] += 1
        else:
            parts += measure(words.text).parts
    # All the plots over those looked at: 1 where every plot was.
    times = plots / looked_at if looked_at else 0.0
    all_parts = round(parts * times)
    hours = all_parts / rate_per_second / SECONDS_PER_HOUR
    return Estimate(
        plots=plots,
        recipients=round((looked_at - left_out.total()) * times),
        parts=all_parts,
        hours=hours,
        allowed_hours=allowed_hours,
        fits=hours <= allowed_hours,
        cost=None if price_per_part is None else all_parts * price_per_part,
        exact=exact,
        looked_at=looked_at,
        left_out={reason: round(count * times) for reason, count in sorted(left_out.items())},
    )


def random_id(seed: int) -> str:
    """Return a place among random ids."""
    return f"{random.Random(seed).getrandbits(128):032x}"  # noqa: S311


def from_on(work: UnitOfWork, audience: Audience, after: str, most: int) -> Iterator[Farmer]:
    """Yield so many plots after an id, and on from the first when the last was passed."""
    start, left = after, most
    wrapped = not after
    while left > 0:
        page = work.farmers.page(audience, after, min(left, _PAGE))
        if not page:
            if wrapped:
                return
            wrapped, after = True, ""
            continue
        if wrapped and start:
            page = tuple(farmer for farmer in page if farmer.plot.id <= start)
            if not page:
                return
        yield from page
        left -= len(page)
        after = page[-1].plot.id
