"""What pydantic found, as findings in the project's words: place, what is wrong, what to do."""

from __future__ import annotations

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
_KEY = "[key]"  # where pydantic means the name of an entry, not what it holds
_MAPS: dict[str, type[BaseModel]] = {
    "checks": shape.CheckShape,
    "causes": shape.CauseShape,
    "hazards": shape.HazardShape,
    "setups": shape.StepShape,
    "access": shape.StepShape,
    "sweeps": shape.SweepShape,
}


def complaints(errors: Sequence[Mapping[str, Any]], doc: Document) -> tuple[Finding, ...]:
    """Return one finding per mistake, in the order of the file; the first `MOST_FINDINGS` of them."""
    nameless = frozenset(e["loc"][:-1] for e in errors if e["loc"][-1:] == (_KEY,))
    cut_off = frozenset(e["loc"] for e in errors if e["input"] == "" and e["loc"] in nameless)
    misspelt = _misspelt(errors)
    found = [
        (doc.where(e["loc"]), e)
        for e in errors
        if e["loc"] not in cut_off and not (e["type"] == "missing" and e["loc"] in misspelt)
    ]
    first = sorted(found, key=lambda one: one[0].line)[:MOST_FINDINGS]
    return tuple(Finding(UNREADABLE, where, _message(e, cut_off)) for where, e in first)


def _misspelt(errors: Sequence[Mapping[str, Any]]) -> frozenset[tuple[Any, ...]]:
    """Return the keys that stand there in another spelling: that they are lacking is no second mistake."""
    lacking = {e["loc"][:-1] for e in errors if e["type"] == "missing"}
    beside = [e["loc"] for e in errors if e["type"] == "extra_forbidden" and e["loc"][:-1] in lacking]
    return frozenset((*loc[:-1], _near(loc)) for loc in beside[:MOST_FINDINGS])


def _behind_comma(error: Mapping[str, Any], cut_off: frozenset[tuple[Any, ...]]) -> bool:
    """`{flat: below 2,4 V}` and `{say: Wait, then go}` are read as two entries, the second without name or value."""
    loc = error["loc"]
    if error["type"] == "extra_forbidden":
        return error["input"] == "" and not _near(loc)
    return loc[-1:] == (_KEY,) and loc[:-1] in cut_off


def _message(error: Mapping[str, Any], cut_off: frozenset[tuple[Any, ...]]) -> str:
    kind, parts = error["type"], [_short(p) for p in error["loc"] if p != _KEY]
    path = " ".join(parts) or "the tree"
    if _behind_comma(error, cut_off):
        way = "write decimals with a point, as in 2.4" if "bands" in parts else "put text that holds one in quotes"
        return f"{' '.join(parts[:-1])}: if a comma stands before `{parts[-1]}`, {way}; else it is no name or key"
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
