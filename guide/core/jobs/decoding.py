"""Fields of events out of JSON: each kind of field has one decoder, and nothing of another type passes.

A job may come from a file somebody wrote by hand, so the types are checked here once; what follows need not. JSON has
no subclasses: the exact type is asked for, which keeps true and false out of numbers and is the quicker question.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite
from typing import Any

from guide.core.meter import MeterProfile, ModeSpec
from guide.core.quantity import Measure, Quantity, Unit
from guide.core.reading import Answered, Measured, OverRange, Reading

Decoder = Callable[[Any], Any]
_UNITS = {unit.value: unit for unit in Unit}


def text(value: Any) -> str:
    """Raises TypeError for what is no text, ValueError for half a surrogate pair, which cannot be written again."""
    if type(value) is not str:
        raise TypeError(f"{_kind(value)} where text belongs")
    if not value.isascii():
        value.encode("utf-8")
    return value


def whole(value: Any) -> int:
    if type(value) is not int:
        raise TypeError(f"{_kind(value)} where a whole number belongs")
    if abs(value) > 10**9:
        raise ValueError("a whole number out of all proportion")
    return value


def number(value: Any) -> float:
    """Return a finite number; JSON knows no other. Raises TypeError, ValueError."""
    if type(value) is not float and type(value) is not int:
        raise TypeError(f"{_kind(value)} where a number belongs")
    if not isfinite(value):
        raise ValueError("a number that is not finite")
    return float(value)


def flag(value: Any) -> bool:
    if not isinstance(value, bool):
        raise TypeError(f"{_kind(value)} where true or false belongs")
    return value


def reading(value: Any) -> Reading:
    """Return the reading that `coding.to_json` wrote. Raises TypeError, KeyError, ValueError."""
    named_values(value)
    if "word" in value:
        return Answered(text(value["word"]))
    if value.get("over_range"):
        return OverRange(_unit(value["unit"]))
    quantity = Quantity(number(value["value"]), _unit(value["unit"]))
    return Measured(quantity, _size(value["resolution"]), _size(value["margin"]))


def _unit(value: Any) -> Unit:
    if value not in _UNITS:
        raise ValueError(f"{value!r} is no unit")
    return _UNITS[value]


def _size(value: Any) -> float:
    size = number(value)
    if size < 0:
        raise ValueError("a resolution or margin below zero")
    return size


def meter(value: Any) -> MeterProfile:
    """Return the meter that `coding.to_json` wrote. Raises TypeError, KeyError, ValueError."""
    modes = {Measure(text(name)): mode for name, mode in named_values(named_values(value)["modes"]).items()}
    return MeterProfile(text(value["name"]), {measure: _mode(measure, mode) for measure, mode in modes.items()})


def _mode(measure: Measure, value: Any) -> ModeSpec:
    told = named_values(value)
    tops = tuple(_size(top) for top in _list(told["tops"]))
    steps = whole(told["display_counts"])
    if not tops or list(tops) != sorted(tops) or tops[0] == 0 or steps < 1:
        raise ValueError("ranges that no meter has")
    return ModeSpec(
        measure, _size(told["percent"]), _size(told["counts"]), tops, steps, _size(told["lead_ohm"]),
        _size(told["lead_margin_ohm"]), _known(told["test_current_a"]), _known(told["compliance_v"]),
        _known(told["beep_below_ohm"]), flag(told["signed"]),
    )  # fmt: skip


def _known(value: Any) -> float | None:
    return None if value is None else _size(value)


def _texts(value: Any) -> tuple[str, ...]:
    return tuple(text(one) for one in _list(value))


def _numbers_by_name(value: Any) -> dict[str, float]:
    return {text(name): number(one) for name, one in named_values(value).items()}


def _texts_by_name(value: Any) -> dict[str, str]:
    return {text(name): text(one) for name, one in named_values(value).items()}


def _intervals(value: Any) -> dict[str, tuple[float, float]]:
    return {text(name): (number(low), number(high)) for name, (low, high) in named_values(value).items()}


def _shares(value: Any) -> tuple[tuple[str, float], ...]:
    return tuple((text(name), number(share)) for name, share in _list(value))


def _list(value: Any) -> list[Any]:
    if type(value) is not list:
        raise TypeError(f"{_kind(value)} where a list belongs")
    return value


def named_values(value: Any) -> dict[str, Any]:
    if type(value) is not dict:
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
    "MeterProfile": meter,
    "tuple[str, ...]": _texts,
    "tuple[tuple[str, float], ...]": _shares,
    "Mapping[str, float]": _numbers_by_name,
    "Mapping[str, str]": _texts_by_name,
    "Mapping[str, tuple[float, float]]": _intervals,
}
