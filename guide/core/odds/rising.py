"""A lower bound that rises the longer it is worked on, for problems too large to search to the end."""

from __future__ import annotations

from dataclasses import dataclass

from guide.core.odds.problem import Move
from guide.core.odds.search import Exact, Key, Spent


@dataclass(slots=True)
class _Way:
    """One check in some place: the least it costs from there, and the places behind it once they are looked at."""

    move: Move
    least: float
    kids: list[tuple[float, _Place]] | None = None


class _Place:
    """A state with the least that may follow; `closed` where that is what does follow."""

    __slots__ = ("closed", "key", "least", "visits", "ways")

    def __init__(self, key: Key, least: float, *, closed: bool) -> None:
        self.key = key
        self.least = least
        self.closed = closed
        self.visits = 0
        self.ways: list[_Way] | None = None


class Rising:
    """Best-first search of the AND/OR tree (AO*, Martelli & Montanari 1973, from memory).

    Every step follows the check that is cheapest by what is known so far, in each place to the band that weighs most
    for the times it was visited, and looks one check further there. The bound of a place is the least over its checks
    of their minutes and the bounds behind them, so it never falls and never exceeds the optimum.
    """

    def __init__(self, search: Exact) -> None:
        self._search = search
        self._places: dict[Key, _Place] = {}

    def least(self, key: Key) -> tuple[float, bool]:
        """Return the bound of `key` when the search's budget is spent, and whether it is the optimum itself."""
        try:
            root = self._place(key)
            while not root.closed:
                self._look(root)
        except Spent:
            pass
        found = self._places.get(key)
        return (found.least, found.closed) if found else (0.0, False)

    def _place(self, key: Key) -> _Place:
        found = self._places.get(key)
        if found is None:
            settled = self._search.problem.settled(key[0])
            closed = settled or not self._search.open(*key[:2]).moves
            found = self._places[key] = _Place(key, self._search.bound(*key), closed=closed)
        return found

    def _look(self, place: _Place) -> None:
        place.visits += 1
        if place.ways is None:
            opened = self._search.open(*place.key[:2])
            place.ways = [_Way(m, self._cost(m, place)[0] + r) for m, r in zip(opened.moves, opened.rest, strict=True)]
        way = min(place.ways, key=lambda w: w.least)
        cost, then = self._cost(way.move, place)
        if way.kids is None:
            left = way.move.left
            way.kids = [(q, self._place((state, left(band), then))) for band, q, state in way.move.kids]
        elif waiting := [(q, kid) for q, kid in way.kids if not kid.closed]:  # a place may be closed from elsewhere
            self._look(max(waiting, key=lambda one: one[0] * self._weight(one[1]))[1])
        way.least = max(way.least, cost + sum(q * kid.least for q, kid in way.kids))
        best = min(place.ways, key=lambda w: w.least)
        place.least = max(place.least, best.least)
        # Bounds of the other ways may be old: places behind them can have risen on another way since.
        place.closed = best is way and all(kid.closed for _, kid in way.kids)

    def _weight(self, place: _Place) -> float:
        return self._search.problem.unknown(place.key[0]) / (1 + place.visits)

    def _cost(self, move: Move, place: _Place) -> tuple[float, int]:
        return self._search.problem.price(move.check, place.key[2])
