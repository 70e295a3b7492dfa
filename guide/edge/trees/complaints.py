"""What pydantic found, as findings in the project's words: place, what is wrong, what to do."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import BaseModel

from guide.core.tree import Finding
from guide.edge.trees import shape
from guide.edge.trees.yamlmarks import MOST_FINDINGS, UNREADABLE, Document

_SAYS = {
    "string_type": "wants words, not a list or map",
    "string_too_short": "is empty; fill it in or take the key out",
    "string_too_long": "is too long for a name; keep it under 60 letters",
    "string_pattern_mismatch": "is no name; use letters, digits, `-`, `_` and `.`, without spaces",
    "dict_type": "wants a map of names, as in `{name: value}`",
    "model_type": "wants a map of keys, as in `{key: value}`",
    "model_attributes_type": "wants a map of keys, as in `{key: value}`",
    "tuple_type": "wants a list, as in `[one, two]`",
    "float_parsing": "wants a number, as in 0.85",
    "float_type": "wants a number, as in 0.85",
    "finite_number": "wants a number with an end",
    "int_parsing": "wants a whole number",
    "int_type": "wants a whole number",
    "bool_parsing": "wants yes or no",
    "bool_type": "wants yes or no",
    "literal_error": "wants one of off, on, any",
    "enum": "wants one of off, on, any",
}
_FIGURE = re.compile(r"[0-9]+ ?[A-Za-z]*( |$)")
_MAPS: dict[str, type[BaseModel]] = {
    "checks": shape.CheckShape,
    "causes": shape.CauseShape,
    "hazards": shape.HazardShape,
    "setups": shape.StepShape,
    "access": shape.StepShape,
    "sweeps": shape.SweepShape,
}


def complaints(errors: Sequence[Mapping[str, Any]], doc: Document) -> tuple[Finding, ...]:
    """Return one finding per error, in the order of the file; the first `MOST_FINDINGS` of them."""
    found = [(doc.where(e["loc"]), e) for e in errors if not _told_elsewhere(e, errors)]
    first = sorted(found, key=lambda one: one[0].line)[:MOST_FINDINGS]
    return tuple(Finding(UNREADABLE, where, _message(e)) for where, e in first)


def _told_elsewhere(error: Mapping[str, Any], errors: Sequence[Mapping[str, Any]]) -> bool:
    """A key that is lacking because it is misspelt beside, or the half behind a decimal comma, is no second mistake."""
    loc, kind = tuple(error["loc"]), error["type"]
    if kind == "missing":
        beside = (e["loc"] for e in errors if e["type"] == "extra_forbidden" and tuple(e["loc"][:-1]) == loc[:-1])
        return any(_near(other) == loc[-1] for other in beside)
    return kind == "string_too_short" and any(_comma(e) and tuple(e["loc"][:-1]) == loc for e in errors)


def _comma(error: Mapping[str, Any]) -> bool:
    """`{flat: below 2,4 V}` is read as two entries, the second of which begins with a figure and is no name."""
    loc = error["loc"]
    in_bands = error["type"] == "string_pattern_mismatch" and "bands" in loc[:-2] and loc[-1] == "[key]"
    return in_bands and _FIGURE.match(str(loc[-2])) is not None


def _message(error: Mapping[str, Any]) -> str:
    kind, parts = error["type"], [_short(p) for p in error["loc"] if p != "[key]"]
    path = " ".join(parts) or "the tree"
    if _comma(error):
        check = " ".join(parts[:-1])
        return f"{check}: a comma ends a band before `{parts[-1]}`; write decimals with a point, as in 2.4"
    if kind == "missing":
        return f"{' '.join(parts[:-1]) or 'the tree'} has no `{parts[-1]}`; add it"
    if kind == "extra_forbidden":
        return f"{path} is not a key here; {_meant(error['loc'])}"
    if kind == "value_error":
        return f"{path}: {error['msg'].removeprefix('Value error, ')}"
    if kind in ("too_short", "too_long"):
        return f"{path} holds too {'few' if kind == 'too_short' else 'many'} entries; {_how_many(error['loc'])}"
    if kind in ("greater_than_equal", "less_than_equal"):
        return f"{path}: {error['msg'].lower()}"
    return f"{path} {_SAYS.get(kind, 'cannot be used: ' + error['msg'].lower())}"


def _how_many(loc: Sequence[Any]) -> str:
    """Two of a twin are the one exact number; of everything else there is at least one."""
    return "name two" if loc[-1] == "twin" else "give it at least one"


def _meant(loc: Sequence[Any]) -> str:
    """Return the key that was probably meant, or the way out."""
    near = _near(loc)
    return f"did you mean `{near}`?" if near else f"take it out, or use one of {', '.join(_keys(loc))}"


def _near(loc: Sequence[Any]) -> str | None:
    from difflib import get_close_matches  # only a broken file pays for it

    near = get_close_matches(str(loc[-1])[:60], _keys(loc), n=1)
    return near[0] if near else None


def _keys(loc: Sequence[Any]) -> list[str]:
    holder = _holder([p for p in loc[:-1] if isinstance(p, str)])
    return [f.alias or name for name, f in holder.model_fields.items()]


def _holder(path: Sequence[str]) -> type[BaseModel]:
    if "repair" in path:
        return shape.RepairShape
    if "verify" in path:
        return shape.VerifyShape
    return _MAPS.get(path[0], shape.TreeShape) if path else shape.TreeShape


def _short(part: object) -> str:
    text = str(part)
    return text if len(text) <= 40 else text[:37] + "..."
