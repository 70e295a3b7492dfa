"""A job as one JSON document: exported, brought into another store, checked before anything of it is believed."""

from __future__ import annotations

import json
from collections.abc import Callable, Container, Sequence
from datetime import datetime
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from guide.core.errors import BadInput, GuideError
from guide.core.jobs import events as ev
from guide.core.jobs.coding import from_json, to_json
from guide.core.jobs.job import EVERY_READING
from guide.core.jobs.phases import Phase, next_phase
from guide.core.jsontext import json_text
from guide.core.tree import CANT_SEE, Tree

FORMAT = "guide-job"
# Ten thousand events make about 2 MB. The three bounds together keep what a document unfolds to below 200 MB.
LARGEST = 16 * 1024 * 1024
MOST_GROUPS = 400_000  # lists and maps
MOST_ITEMS = 1_500_000  # of them all
MOST_NAMES = 5000  # in one map
MOST_EVENTS = 50_000
_STRICT = ConfigDict(extra="forbid", strict=True, frozen=True)


def _time(value: str) -> str:
    if datetime.fromisoformat(value).utcoffset() is None:
        raise ValueError("a time needs its offset from UTC")
    return value


Time = Annotated[str, Field(max_length=40), AfterValidator(_time)]


def _tree_id(value: str) -> str:
    if not value.isprintable() or "\\" in value or any(part in ("", ".", "..") for part in value.split("/")):
        raise ValueError("a tree's id is its path below the trees folder")
    return value


TreeId = Annotated[str, Field(max_length=200), AfterValidator(_tree_id)]


class TreePart(BaseModel):
    """The tree the job is pinned to, with its whole text."""

    model_config = _STRICT
    id: TreeId
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")
    text: str = Field(max_length=1024 * 1024)


class EventPart(BaseModel):
    """One event of the log."""

    model_config = _STRICT
    seq: int = Field(ge=1)
    kind: str = Field(max_length=40)
    v: int = Field(ge=1)
    at: Time
    body: dict[str, Any]


class JobDocument(BaseModel):
    """The whole document."""

    model_config = _STRICT
    format: Literal["guide-job"]
    version: Literal[1]
    device: str = Field(max_length=2000)
    symptom: str = Field(max_length=4000)
    began: Time
    tree: TreePart
    events: list[EventPart] = Field(min_length=1, max_length=MOST_EVENTS)


def written(
    tree: tuple[str, str, str], recorded: Sequence[ev.Recorded], *, device: str, symptom: str, began: str
) -> str:
    """Return the document of a job as JSON text; `tree` is (id, sha256, text)."""
    tree_id, sha256, text = tree
    document = {
        "format": FORMAT, "version": 1, "device": device, "symptom": symptom, "began": began,
        "tree": {"id": tree_id, "sha256": sha256, "text": text},
        "events": [
            {"seq": r.seq, "kind": r.event.kind, "v": r.event.v, "at": r.at, "body": to_json(r.event)}
            for r in recorded
        ],
    }  # fmt: skip
    return json_text(document, indent=1) + "\n"


def read(path: Path) -> JobDocument:
    """Return the document in `path`. Raises BadInput: what is wrong, where, what to do."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)  # a device or a pipe has no size to ask for
        if len(data) > LARGEST:
            raise BadInput(f"{path}: larger than {LARGEST // 1024 // 1024} MiB, no job is; check the file")
        if data.count(b"[") + data.count(b"{") > MOST_GROUPS or data.count(b",") > MOST_ITEMS:
            raise BadInput(f"{path}: more lists and values than any job has; check the file")
        return JobDocument.model_validate(_parsed(data))
    except OSError as error:
        raise BadInput(f"{path}: cannot be read ({error.strerror}); check the path") from error
    except UnicodeDecodeError as error:
        raise BadInput(f"{path}: not UTF-8 at byte {error.start}; export the job again") from error
    except RecursionError as error:
        raise BadInput(f"{path}: nests deeper than any job; export the job again") from error
    except json.JSONDecodeError as error:
        raise BadInput(f"{path}:{error.lineno}: no JSON ({error.msg.lower()}); export the job again") from error
    except _Odd as error:
        raise BadInput(f"{path}: {error}; export the job again") from error
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"]) or "the document"
        raise BadInput(f"{path}: {place}: {first['msg'].lower()}; export the job again") from error


def _parsed(data: bytes) -> Any:
    """Return the JSON in `data`. A name given twice would let two readers see two jobs; Python alone takes NaN."""
    return json.loads(data.decode("utf-8"), object_pairs_hook=_once, parse_constant=_no_number, parse_int=_integer)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    if len(pairs) > MOST_NAMES:
        raise _Odd(f"{len(pairs)} names in one place")
    made: dict[str, Any] = {}
    for name, value in pairs:
        if name in made:
            raise _Odd(f"{name[:40]!r} is given twice in one place")
        made[name] = value
    return made


def _no_number(name: str) -> float:
    raise _Odd(f"{name} is no number in JSON")


def _integer(digits: str) -> int:
    if len(digits) > 20:
        raise _Odd(f"a whole number of {len(digits)} digits")
    return int(digits)


class _Odd(ValueError):
    """JSON that readers differ about."""


def history(document: JobDocument, tree: Tree, path: Path) -> list[ev.Recorded]:
    """Return the events of `document`, each one legal, in order and about things `tree` has. Raises BadInput."""
    recorded: list[ev.Recorded] = []
    phase = Phase.NEW
    for number, part in enumerate(document.events, 1):
        where = f"{path}: event {number} ({part.kind})"
        if part.seq != number:
            raise BadInput(f"{where} has place {part.seq}; the log has a gap, export the job again")
        try:
            event = from_json(part.kind, part.v, part.body)
        except GuideError as error:
            raise BadInput(f"{where}: {error}") from error
        after = next_phase(phase, event.kind)
        if after is None:
            raise BadInput(f"{where} cannot happen while the job is {phase}; the log was changed, export it again")
        if complaint := _foreign(event, tree):
            raise BadInput(f"{where}: {complaint}; it does not belong to this tree")
        phase = after
        recorded.append(ev.Recorded(number, part.at, event))
    return recorded


def _foreign(event: ev.Event, tree: Tree) -> str:
    """Return what `event` names that `tree` does not have, or a value of the wrong kind; empty where all is known."""
    for name, known in _NAMES:
        value = getattr(event, name, None)
        if value is None or (value == "" and (event.kind, name) in _MAY_BE_EMPTY):
            continue
        for one in value if isinstance(value, tuple) else (value,):
            if not isinstance(one, str) or one not in known(tree):
                return f"there is no {name} {str(one)[:40]!r}"
    match event:
        case ev.ReadingTaken(check, _, _, _, band, weights) | ev.ReadingPlaced(check, band, weights):
            bands = {b.name for b in tree.checks[check].bands}
            if band not in bands or set(weights) - bands or not all(_share(w) for w in weights.values()):
                return f"its bands are not those of {check}"
        case ev.VerdictGiven(causes=causes) if set(causes) - set(tree.causes):
            return "its verdict names other causes"
        case ev.RepairChosen(cause, option) if not (
            isinstance(option, int) and cause in tree.causes and 0 <= option < len(tree.causes[cause].repairs)
        ):
            return "there is no such repair"
        case ev.ShopKnown() if not all(_share(w) for w in (*event.weights.values(), *event.reliability.values())):
            return "its weights are no probabilities"
        case ev.CheckPassed(reason=reason) if not isinstance(reason, str) or len(reason) > len(CANT_SEE) + 20:
            return "its reason is none of ours"
    return ""


def _share(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= 1


_NAMES: tuple[tuple[str, Callable[[Tree], Container[str]]], ...] = (
    ("check", lambda t: t.checks),
    ("checks", lambda t: t.checks),
    ("proof", lambda t: t.checks),
    ("onward", lambda t: t.checks),
    ("hazard", lambda t: t.hazards),
    ("step", lambda t: {*t.setups, *t.access, "as_found", "back-to-as-found"}),
    ("sweep", lambda t: {*t.sweeps, EVERY_READING}),
    ("cause", lambda t: t.causes),
)
# No check was offered; the tree leads nowhere; what it was is not known.
_MAY_BE_EMPTY = {
    ("verdict_set_aside", "check"), ("proof_failed", "onward"), ("closed", "cause"), ("closing_heard", "cause"),
}  # fmt: skip
