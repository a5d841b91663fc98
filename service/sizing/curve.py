"""A curve that is known point by point and refined only where it is asked.

A dripline, and a submain with its driplines, are both easy to reckon backwards: from the head at
the far end to the head at the inlet. `Curve` turns such points round, so that the flow at a given
inlet head is a look-up, and the far end that belongs to it is found between two that enclose it.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import Generic, Protocol, TypeAlias, TypeVar

from service.errors import NotConverged

T = TypeVar("T")

Point: TypeAlias = tuple[float, float, float, float]
"""Inlet head, then three heads that grow with it: effective, least and greatest [m]."""

FLOOR_SHARE = 0.02
"""Flows and heads below this share of the greatest are held to its tolerance."""
FINEST_M = 1e-9
"""No piece is divided that spans less at the inlet."""
ENDLESS_M = 1e9
ASIDE = 0.1
"""A point nearer to an end of its piece than this share says nothing of the rest."""
ORDINARY_M = 0.1
"""Far-end heads above this are looked for by halves, lesser ones by size."""
COARSEST_M = 1e-4
"""What may stay open at the inlet [m] where floats at the far end come no closer."""
SETTLED = 1e-7
"""The head at the inlet must be met within this part of it (or of a metre)."""


class Shot(Protocol[T]):
    """A way to reckon backwards from one place to the inlet."""

    def march(self, end: float) -> tuple[float, T]:
        """Inlet head [m] of a head at the place [m], and what was found on the way."""

    def point(self, end: float, inlet: float, found: T) -> Point:
        """The point that this makes; infinite heads where nobody will ask."""

    def nearer(self, low: float, high: float) -> tuple[Shot[T], float, float] | None:
        """The same from a place nearer to the inlet, with the heads there for two heads here.

        On a starved line the inlet head can hang on the last digit of the far-end head. Then the
        far part does not change any more, and the shot starts where it still does. None when there
        is no such place.
        """


@dataclass(frozen=True, slots=True)
class Care:
    """How straight a piece must be.

    Attributes
    ----------
    tolerance : float
        Error, over that head, of a head read off before a piece was halved [-]; the halves, which
        are used, err by a quarter of it, and their flow by half of that at exponent 0.5. A curve
        made of curves must not be held as tightly as they are, or it would trace their corners.
    exponent : float
        Of the emitters [-]: makes a flow of an effective head.
    reach : float
        Greatest head that matters [m].
    """

    tolerance: float
    exponent: float
    reach: float

    def allowed(self, place: int, head: float) -> float:
        """Error that a head may have [m]; the effective head (place 1) is judged by its flow."""
        if place > 1:
            return self.tolerance * max(abs(head), FLOOR_SHARE * self.reach)
        if head <= 0.0:
            return 0.0
        as_flow = FLOOR_SHARE * math.pow(self.reach / head, self.exponent)
        return self.tolerance * head * max(1.0, as_flow)

    def straight(self, before: Point, value: Point, after: Point) -> bool:
        """Return whether the middle value lies on the line between its neighbours."""
        share = (value[0] - before[0]) / (after[0] - before[0])
        if not ASIDE < share < 1.0 - ASIDE:
            return False
        for place in (1, 2, 3):
            error = abs(before[place] + share * (after[place] - before[place]) - value[place])
            if not error <= self.allowed(place, value[place]):
                return False
        return True


class Curve(Generic[T]):
    """Heads against the head at the inlet, exact at its points and straight between them.

    Parameters
    ----------
    shot : Shot
        Reckons the point of a far-end head; the inlet head grows with it.
    dry : float
        The far-end head [m] at or below which nothing flows and the inlet head grows alike.
    high : float
        A far-end head [m] above `dry` from which to start.
    care : Care
        How straight the pieces must be.
    what : str
        Named when the curve cannot be built.
    """

    __slots__ = ("_depth", "_ends", "_inlets", "_parts", "_shot", "_values", "care", "dry", "what")

    def __init__(
        self, shot: Shot[T], dry: float, high: float, care: Care, what: str, depth: int = 0
    ) -> None:
        self._shot, self.dry, self.care, self.what = shot, dry, care, what
        self._depth = depth
        first, last = self._point(dry), self._point(high)
        self._ends = [dry, high]
        self._values = [first, last]
        self._inlets = [first[0], last[0]]
        # Of the piece that ends at point i: whether it is straight enough, or a curve of its own.
        self._parts: list[bool | Curve[T]] = [True, False]

    def anew(self, shot: Shot[T]) -> Curve[T]:
        """A curve of another shot over the same far-end heads."""
        return Curve(shot, self.dry, self._ends[-1], self.care, self.what)

    def at(self, inlet: float) -> tuple[float, float, float]:
        """Effective, least and greatest head [m] at an inlet head [m].

        Below the driest point the least and greatest heads fall with the inlet head.
        """
        i = self._piece(inlet)
        if i == 0:
            _, effective, least, greatest = self._values[0]
            away = inlet - self._inlets[0]
            return effective, least + away, greatest + away
        part = self._parts[i]
        if isinstance(part, Curve):
            return part.at(inlet)
        x0, a0, b0, c0 = self._values[i - 1]
        x1, a1, b1, c1 = self._values[i]
        share = (inlet - x0) / (x1 - x0)
        return a0 + share * (a1 - a0), b0 + share * (b1 - b0), c0 + share * (c1 - c0)

    def solved(self, inlet: float) -> T:
        """What is found on the way from the far-end head that gives the inlet head [m].

        Raises
        ------
        NotConverged
            When the inlet head is not met within `SETTLED`.
        """
        i = self._piece(inlet)
        part = self._parts[i]
        if isinstance(part, Curve):
            return part.solved(inlet)
        if i == 0:
            return self._shot.march(self.dry + inlet - self._inlets[0])[1]
        x0, x1 = self._inlets[i - 1], self._inlets[i]
        low, high = self._ends[i - 1], self._ends[i]
        gain = (high - low) / (x1 - x0)
        return self._searched(inlet, low + (inlet - x0) * gain, low, high, gain)

    def _searched(self, inlet: float, end: float, low: float, high: float, gain: float) -> T:
        """Return what is found at the inlet head, starting from a guess between two bounds."""
        for _ in range(200):
            reached, found = self._shot.march(end)
            wrong = reached - inlet
            if abs(wrong) <= SETTLED * max(1.0, abs(inlet)):
                return found
            low, high = (low, min(high, end)) if wrong > 0.0 else (max(low, end), high)
            guess = end - gain * wrong
            end = guess if low < guess < high else self.between(low, high)
            if not low < end < high:
                break
        nearer = self._nearer(low, high)
        if nearer is not None:
            return nearer.solved(inlet)
        if abs(wrong) <= COARSEST_M:
            return found
        raise NotConverged(self.what, wrong)

    def _point(self, end: float) -> Point:
        inlet, found = self._shot.march(end)
        return self._shot.point(end, inlet, found)

    def _piece(self, inlet: float) -> int:
        """Return the index of the point that ends the piece around `inlet`, refined; 0 when dry."""
        inlets = self._inlets
        if inlet <= inlets[0]:
            return 0
        i = bisect_right(inlets, inlet)
        while i == len(inlets):
            self._grow()
            i = bisect_right(inlets, inlet)
        while self._parts[i] is False:
            self._split(i)
            i = bisect_right(inlets, inlet, i - 1, i + 2)
        return i

    def _grow(self) -> None:
        """Add a point beyond the last."""
        end = self.dry + 2.0 * (self._ends[-1] - self.dry)
        value = self._point(end)
        if not value[0] > self._inlets[-1] or end > ENDLESS_M:
            raise NotConverged(self.what, self._inlets[-1])
        self._ends.append(end)
        self._values.append(value)
        self._inlets.append(value[0])
        self._parts.append(False)

    def _split(self, i: int) -> None:
        """Divide the piece that ends at point i, and judge how straight it was."""
        low, high = self._ends[i - 1], self._ends[i]
        middle = self.between(low, high)
        before, after = self._values[i - 1], self._values[i]
        value = self._point(middle) if low < middle < high else before
        if not before[0] < value[0] < after[0]:
            self._parts[i] = self._undivided(low, high, after[0] - before[0])
            return
        fine = after[0] - before[0] < FINEST_M or self._is_straight(before, value, after)
        self._ends.insert(i, middle)
        self._values.insert(i, value)
        self._inlets.insert(i, value[0])
        self._parts.insert(i, fine)
        self._parts[i + 1] = fine

    def _is_straight(self, before: Point, value: Point, after: Point) -> bool:
        reach = after[0] - self._inlets[0]
        if after[0] - before[0] > 0.5 * reach and reach > 0.001:
            # A midpoint may lie on the line by chance: a piece spans a factor of two at most.
            return False
        return self.care.straight(before, value, after)

    def _undivided(self, low: float, high: float, span: float) -> bool | Curve[T]:
        """Return what a piece is whose far-end heads come no closer: a curve from nearer by.

        Where there is none, the inlet must be known well enough.
        """
        nearer = self._nearer(low, high) if span > FINEST_M else None
        if nearer is not None:
            return nearer
        if span > COARSEST_M:
            raise NotConverged(self.what, span)
        return True

    def _nearer(self, low: float, high: float) -> Curve[T] | None:
        found = self._shot.nearer(low, high)
        if found is None:
            return None
        if self._depth == DEEPEST:
            raise NotConverged(self.what, high - low)
        shot, start, end = found
        return Curve(shot, start, end, self.care, self.what, self._depth + 1)

    def between(self, low: float, high: float) -> float:
        """Return a far-end head between two: where they differ in size, the middle of their sizes.

        On a starved line the head at the far end falls off like a power of the length, and only
        its size decides.
        """
        near, far = low - self.dry, high - self.dry
        if near <= 0.0:
            return self.dry + (0.5 * far if far > ORDINARY_M else far / 16.0)
        if far > 4.0 * near:
            return self.dry + math.sqrt(near * far)
        return 0.5 * (low + high)


DEEPEST = 100
"""Curves within curves: a plot that needs more is starved beyond anything that waters [-]."""
NOBODY_ASKS_M = 1000.0
"""Far above any head: inlet heads beyond what anybody asks are put here, in the far end's order."""
VISIBLE_M = 1e-10
"""Heads that differ by less are taken as the same [m]."""


def first_visible(low: list[float], high: list[float], start: int) -> int | None:
    """First place after `start` at which two rows of heads differ [m].

    None when they do not, or when they differ at `start` already.
    """
    if high[start] - low[start] > VISIBLE_M:
        return None
    for place in range(start + 1, min(len(low), len(high))):
        if high[place] - low[place] > VISIBLE_M:
            return place
    return None
