"""What the number and unit forms mean, before any measurement is known: digits, where the point may stand, a prefix.

Digits stay text until the end, so `four fifty two` is exactly 452 with its last digit worth one, and
`point four five two` exactly 452 thousandths.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from enum import Enum, auto
from typing import Any, NamedTuple


class Said(Enum):
    """How surely a form fixes its value."""

    EXACT = auto()  # the words can mean one number only
    TYPED_POINT = auto()  # one point typed: a decimal, or a continental thousands point
    COMMA = auto()  # one comma before three digits: either separator
    PAIR = auto()  # `four fifty two`: the trade's way of saying 452, or 4.52 with the point left out
    QUAD = auto()  # `twelve fifty`
    RUN = auto()  # digit by digit, without a point
    MIXED = auto()  # other groups of numbers
    MARKED = auto()  # `four k seven`: decimals after the unit
    MARKED_GROUP = auto()  # `four k seventy five`: 4.75 k, or 4 k and 75


class Number(NamedTuple):
    """`digits` × 10^`exp`. `cuts` are the places among the digits where words met and a point may have been meant."""

    digits: str
    exp: int
    said: Said
    cuts: tuple[int, ...] = ()


class Amount(NamedTuple):
    """A number with what was said around it. `prefix` is one of `` k M m u m~ M~ (see `forms.UNIT_WORDS`)."""

    number: Number
    prefix: str = ""
    unit: str = ""
    kind: str = ""  # dc or ac
    sign: str = ""
    rough: bool = False
    second: Amount | None = None  # `one volt two hundred millivolts`


class _Sign(NamedTuple):
    sign: str


class _Rough(NamedTuple):
    rough: bool


Values = Sequence[Any]


def _sum(v: Values) -> str:
    return str(sum(int(x) for x in v))


def _hundreds(v: Values) -> str:
    return str(int(v[0]) * 100 + (int(v[1]) if len(v) > 1 else 0))


def _scaled(factor: int) -> Callable[[Values], str | None]:
    def value(v: Values) -> str | None:
        rest = int(v[1]) if len(v) > 1 else 0
        return str(int(v[0]) * factor + rest) if rest < factor and int(v[0]) < 1000 else None

    return value


def _unbarred(v: Values) -> str:
    return str(v[0]).replace("|", "")


def _decimal(v: Values) -> Number:
    whole, tail = (v[0], v[-1]) if len(v) == 3 else ("", v[-1])
    return Number(whole + tail, -len(tail), Said.EXACT)


def _typed_decimal(v: Values) -> Number:
    whole, _, part = v[0].partition(".")
    return Number(whole + part, -len(part), Said.TYPED_POINT if part else Said.EXACT)


def _comma(v: Values) -> Number:
    whole, _, part = v[0].partition(".")
    return Number(whole + part, 0, Said.COMMA, (len(whole),))


def _scientific(v: Values) -> Number:
    mantissa, _, power = v[0].lower().partition("e")
    whole, _, part = mantissa.partition(".")
    return Number(whole + part, int(power) - len(part), Said.EXACT)


def _thousandfold(number: Number) -> Number:
    return number._replace(exp=number.exp + 3, said=Said.EXACT)


def _grouped(said: Said) -> Callable[[Values], Number | None]:
    """Read digits in groups; None where there is a single digit or group only."""

    def value(v: Values) -> Number | None:
        groups = "|".join(v).split("|")
        digits = "".join(groups)
        if len(groups) < 2 or (len(digits) < 3 and not digits.strip("0")):  # `oh oh` is an exclamation
            return None
        cuts = tuple(sum(map(len, groups[:i])) for i in range(1, len(groups)))
        return Number(digits, 0, said, cuts)

    return value


def _unit_parts(unit: str) -> tuple[str, str, str]:
    prefix, base, kind = unit.split(":")
    return prefix, base, kind


def _with_unit(v: Values) -> Amount:
    return Amount(v[0], *_unit_parts(v[1]))


def _marked(v: Values) -> Amount | None:
    whole, unit, tail = v
    part = tail.replace("|", "")
    if len(part) > 3:
        return None
    said = Said.MARKED_GROUP if len(tail) == 2 else Said.MARKED
    return Amount(Number(whole + part, -len(part), said, (len(whole),)), *_unit_parts(unit))


def _r_first(v: Values) -> Amount:
    return Amount(Number("0" + v[-1], -len(v[-1]), Said.EXACT), "", "ohm")


_RKM_LETTERS = {"r": ":ohm:", "ω": ":ohm:", "k": "k::", "m": "m~::", "M": "M~::", "v": ":V:", "a": ":A:"}


def _rkm(v: Values) -> Amount | None:
    letter = next(c for c in v[0] if not c.isdigit())
    whole, part = v[0].split(letter)
    prefix, base, kind = _unit_parts(_RKM_LETTERS[letter if letter in "mM" else letter.lower()])
    if len(v) > 1:
        more, unit, kind = _unit_parts(v[1])
        if more or (base and base != unit):
            return None
        base = unit
    return Amount(Number((whole or "0") + part, -len(part), Said.EXACT), prefix, base, kind)


_PART = {"25": Number("25", -2, Said.EXACT), "5": Number("5", -1, Said.EXACT)}


def _plus_part(whole: str, part: str) -> Number:
    return Number(whole + part, -len(part), Said.EXACT)


def _and_part(v: Values) -> Amount:
    number = _plus_part(v[0], v[1])
    return _with_unit((number, v[2])) if len(v) > 2 else Amount(number)


def _compound(v: Values) -> Amount | None:
    """`one volt two hundred millivolts`: the second part is a smaller prefix of the same unit."""
    first, second = _with_unit((Number(v[0], 0, Said.EXACT), v[1])), _with_unit(v[2:])
    same = second.unit == first.unit or (second.unit and not first.unit)
    if not same or (first.prefix, second.prefix.rstrip("~")) not in {("", "m"), ("k", ""), ("M", "k"), ("m", "u")}:
        return None
    if second.number.said not in (Said.EXACT, Said.PAIR) or (not second.prefix and len(second.number.digits) < 3):
        return None  # `ten k five ohms` may be 10.5 k or 10005
    return first._replace(unit=second.unit, second=second)


def _quantity(v: Values) -> Amount | None:
    amount: Amount = next(x for x in v if isinstance(x, Amount))
    kinds = {x for x in v if isinstance(x, str)} | ({amount.kind} - {""})
    if len(kinds) > 1:
        return None
    sign = next((x.sign for x in v if isinstance(x, _Sign)), "")
    return amount._replace(sign=sign, kind=next(iter(kinds), ""), rough=any(isinstance(x, _Rough) for x in v))


MEANINGS: Mapping[str, Callable[[Values], Any]] = {
    "same": lambda v: v[0],
    "sum": _sum,
    "hundreds": _hundreds,
    "bare_hundred": lambda v: _hundreds(("1", *v)),
    "thousands": _scaled(1000),
    "millions": _scaled(1_000_000),
    "double": lambda v: f"{v[0]}|{v[0]}",
    "triple": lambda v: f"{v[0]}|{v[0]}|{v[0]}",
    "bars": "|".join,
    "unbarred": _unbarred,
    "pair": lambda v: v[0] + "|" + "".join(v[1:]),
    "pair_double": lambda v: f"{v[0]}|{v[1]}{v[1]}",
    "decimal": _decimal,
    "typed_decimal": _typed_decimal,
    "comma": _comma,
    "scientific": _scientific,
    "exact": lambda v: Number(v[0], 0, Said.EXACT),
    "decimal_thousand": lambda v: _thousandfold(_typed_decimal(v)),
    "said_thousand": lambda v: _thousandfold(_decimal(v)),
    "paired": _grouped(Said.PAIR),
    "quadded": _grouped(Said.QUAD),
    "run": _grouped(Said.RUN),
    "run_triple": lambda v: _grouped(Said.RUN)((v[0], v[0], v[0])),
    "mixed": _grouped(Said.MIXED),
    "prefixed": lambda v: ":".join((v[0].split(":")[0], *v[1].split(":")[1:])),
    "celsius": lambda v: ":degC:",
    "fahrenheit": lambda v: ":degF:",
    "millivolts": lambda v: "m:V:",
    "milliamps": lambda v: "m:A:",
    "measured": lambda v: _with_unit(v) if len(v) > 1 else Amount(v[0]),
    "marked": _marked,
    "r_first": _r_first,
    "rkm": _rkm,
    "and_part": _and_part,
    "unit_and_part": lambda v: _with_unit((_plus_part(v[0], v[2]), v[1])),
    "part": lambda v: _with_unit((_PART[v[0]], v[1])),
    "three_quarters": lambda v: _with_unit((Number("75", -2, Said.EXACT), v[-1])),
    "and_half_sign": lambda v: _and_part((v[0], "5", *v[1:])),
    "half_sign": lambda v: _with_unit((_PART["5"], v[0])),
    "one_unit": lambda v: _with_unit((Number(v[0], 0, Said.EXACT), v[1])),
    "compound": _compound,
    "dc": lambda v: "dc",
    "ac": lambda v: "ac",
    "minus": lambda v: _Sign("-"),
    "plus": lambda v: _Sign("+"),
    "rough": lambda v: _Rough(True),
    "quantity": _quantity,
}
