"""Events to and from JSON. A newer program reads older events through `UPCASTS`."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields
from typing import Any

from guide.core.errors import StoreError, StoreNewer
from guide.core.jobs.decoding import DECODERS, named_values
from guide.core.jobs.events import KINDS, Event
from guide.core.meter import MeterProfile, ModeSpec
from guide.core.quantity import Quantity
from guide.core.reading import Answered, Measured, OverRange

_NAMES = {kind: tuple(f.name for f in fields(cls)) for kind, cls in KINDS.items()}
# A field of a type without a decoder fails here, at import, and not on somebody's job.
_DECODERS = {kind: tuple((f.name, DECODERS[str(f.type)]) for f in fields(cls)) for kind, cls in KINDS.items()}

# (kind, version) -> a function that turns that version's body into the next version's
UPCASTS: Mapping[tuple[str, int], Callable[[dict[str, Any]], dict[str, Any]]] = {
    # Version 1 did not tell a device that worked without its proof from one that nobody tried.
    ("closed", 1): lambda body: {**body, "works": body.get("proven", False)},
}


def to_json(event: Event) -> dict[str, Any]:
    """Return the body of `event` as JSON-ready data, without kind and version."""
    return {name: _plain(getattr(event, name)) for name in _NAMES[event.kind]}


def from_json(kind: str, v: int, body: dict[str, Any]) -> Event:
    """Return the event of `kind` written at version `v`.

    Raises StoreNewer for a kind or version this program does not know, StoreError for a body that does not fit.
    """
    cls = KINDS.get(kind)
    if cls is None or v > cls.v:
        raise StoreNewer(f"the job holds an event {kind!r} version {v} of a newer guide; update guide to open it")
    decoded, name = {}, "body"
    try:
        data = named_values(body)
        for version in range(v, cls.v):
            data = UPCASTS[kind, version](data)
        for name, decode in _DECODERS[kind]:
            if name in data:
                decoded[name] = decode(data[name])
        return cls(**decoded)
    except (TypeError, KeyError, ValueError, AttributeError, OverflowError) as error:
        raise StoreError(
            f"the job holds a damaged event {kind!r} ({name}: {error}); export what is there and restore"
        ) from error


def _plain(value: Any) -> Any:
    match value:
        case Measured(Quantity(number, unit), resolution, margin):
            return {"value": number, "unit": unit.value, "resolution": resolution, "margin": margin}
        case OverRange(unit):
            return {"over_range": True, "unit": unit.value}
        case Answered(word):
            return {"word": word}
        case MeterProfile(name, modes):
            return {"name": name, "modes": {measure.value: _mode(spec) for measure, spec in modes.items()}}
        case tuple():
            return [_plain(v) for v in value]
        case Mapping():
            return {k: _plain(v) for k, v in value.items()}
    return value


def _mode(spec: ModeSpec) -> dict[str, Any]:
    return {f.name: _plain(getattr(spec, f.name)) for f in fields(spec) if f.name != "measure"}
