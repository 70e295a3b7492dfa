"""Fields of events out of JSON: each kind of field has one decoder, and nothing of another type passes.

A job may come from a file somebody wrote by hand, so the types are checked here once; what follows need not.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite
from typing import Any

from guide.core.quantity import Quantity, Unit
from guide.core.reading import Answered, Measured, OverRange, Reading

Decoder = Callable[[Any], Any]


def text(value: Any) -> str:
    """Raises TypeError for what is no text, ValueError for half a surrogate pair, which cannot be written again."""
    if not isinstance(value, str):
        raise TypeError(f"{_kind(value)} where text belongs")
    if not value.isascii():
        value.encode("utf-8")
    return value


def whole(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise TypeError(f"{_kind(value)} where a whole number belongs")
    if abs(value) > 10**9:
        raise ValueError("a whole number out of all proportion")
    return value


def number(value: Any) -> float:
    """Return a finite number; JSON knows no other. Raises TypeError, ValueError."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        raise TypeError(f"{_kind(value)} where a number belongs")
    if not isfinite(value):
        raise ValueError("a number that is not finite")
    return value if isinstance(value, float) else float(value)


def flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise TypeError(f"{_kind(value)} where true or false belongs")
    return value


def reading(value: Any) -> Reading:
    """Return the reading that `coding.to_json` wrote. Raises TypeError, KeyError, ValueError."""
    _mapping(value)
    if "word" in value:
        return Answered(text(value["word"]))
    if value.get("over_range"):
        return OverRange(Unit(value["unit"]))
    quantity = Quantity(number(value["value"]), Unit(value["unit"]))
    return Measured(quantity, _size(value["resolution"]), _size(value["margin"]))


def _size(value: Any) -> float:
    size = number(value)
    if size < 0:
        raise ValueError("a resolution or margin below zero")
    return size


def _texts(value: Any) -> tuple[str, ...]:
    return tuple(text(one) for one in _list(value))


def _numbers_by_name(value: Any) -> dict[str, float]:
    return {text(name): number(one) for name, one in _mapping(value).items()}


def _texts_by_name(value: Any) -> dict[str, str]:
    return {text(name): text(one) for name, one in _mapping(value).items()}


def _intervals(value: Any) -> dict[str, tuple[float, float]]:
    return {text(name): (number(low), number(high)) for name, (low, high) in _mapping(value).items()}


def _shares(value: Any) -> tuple[tuple[str, float], ...]:
    return tuple((text(name), number(share)) for name, share in _list(value))


def _list(value: Any) -> list[Any]:
    if not isinstance(value, list):
        raise TypeError(f"{_kind(value)} where a list belongs")
    return value


def _mapping(value: Any) -> Mapping[str, Any]:
    if not isinstance(value, dict):
        raise TypeError(f"{_kind(value)} where named values belong")
    return value


_CALLED = {str: "text", bool: "true or false", int: "a number", float: "a number", list: "a list", dict: "named values"}


def _kind(value: Any) -> str:
    return _CALLED.get(type(value), "nothing")


# By the annotation of the field, as written in events.py.
DECODERS: Mapping[str, Decoder] = {
    "str": text,
    "int": whole,
    "float": number,
    "bool": flag,
    "Reading": reading,
    "tuple[str, ...]": _texts,
    "tuple[tuple[str, float], ...]": _shares,
    "Mapping[str, float]": _numbers_by_name,
    "Mapping[str, str]": _texts_by_name,
    "Mapping[str, tuple[float, float]]": _intervals,
}
