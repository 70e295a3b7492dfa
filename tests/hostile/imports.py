"""Broken and malicious job documents: each is made from a sound one, by a change or as bytes of its own."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from typing import Any

Change = Callable[[dict[str, Any]], object]


def event(document: dict[str, Any], kind: str) -> dict[str, Any]:
    return next(e for e in document["events"] if e["kind"] == kind)


def body(kind: str, **values: Any) -> Change:
    return lambda d: event(d, kind)["body"].update(values)


def reading(**values: Any) -> Change:
    return lambda d: event(d, "reading_taken")["body"]["reading"].update(values)


def tree_text(text: str) -> Change:
    """Another tree, its digest in order."""
    return lambda d: d["tree"].update(text=text, sha256=hashlib.sha256(text.encode()).hexdigest())


def at(value: Any) -> Change:
    return lambda d: d["events"][2].update(at=value)


def without(kind: str, name: str) -> Change:
    return lambda d: event(d, kind)["body"].pop(name)


_WRONG: tuple[Any, ...] = (None, True, 7, 1.5, [], ["x"], {}, {"x": "y"}, [[1]])
_TEXTS = (("check_chosen", "check"), ("reading_taken", "words"), ("reading_taken", "band"), ("note_added", "text"),
          ("hazard_cleared", "words"), ("opened", "device"), ("opened", "symptom"), ("closed", "cause"))  # fmt: skip
_TIMES = ("", "now", "2026", "2026-13-01T00:00:00+00:00", "2026-01-05T09:00:00", "2026-01-05 25:00", "9" * 40,
          "\x1b[2J", "2026-01-05T09:00:00+99:00", 7, None, [])  # fmt: skip
_TOP = ("format", "version", "device", "symptom", "began", "tree", "events")

CHANGES: dict[str, Change] = {
    **{f"{kind}.{name} is {json.dumps(w)}": body(kind, **{name: w}) for kind, name in _TEXTS for w in _WRONG},
    **{f"weights are {json.dumps(w)}": body("reading_taken", weights=w) for w in _WRONG if w != {}},
    **{f"reading is {json.dumps(w)}": body("reading_taken", reading=w) for w in _WRONG},
    **{f"time {str(t)[:30]!r}": at(t) for t in _TIMES},
    **{f"no {name}": (lambda d, name=name: d.pop(name)) for name in _TOP},
    **{f"{name} is {json.dumps(w)}": (lambda d, name=name, w=w: d.update({name: w}))
       for name in _TOP for w in (None, 7, [], {})},
    "value not a number": reading(value="nan"),
    "value without end": reading(value=float("1e308") * 10),
    "value as text": reading(value="12.1"),
    "resolution below zero": reading(resolution=-1.0),
    "unit of another world": reading(unit="parsec"),
    "no unit": lambda d: event(d, "reading_taken")["body"]["reading"].pop("unit"),
    "weights over one": body("reading_taken", weights={"good": 40.0}),
    "weights below zero": body("reading_taken", weights={"good": -1.0}),
    "weights of no band": body("reading_taken", weights={"\x1b[31m": 1.0}),
    "check by path": body("reading_taken", check="../../etc/passwd"),
    "check of another tree": body("check_chosen", check="dp-diode"),
    "hazard of another tree": body("hazard_cleared", hazard="none such"),
    "half a surrogate pair": body("note_added", text="\ud800"),
    "no text in a note": without("note_added", "text"),
    "no band": without("reading_taken", "band"),
    "option far off": body("repair_chosen", option=10**12),
    "option below zero": body("repair_chosen", option=-1),
    "option as text": body("repair_chosen", option="0"),
    "again as text": body("reading_taken", again="yes"),
    "verdict of a stranger": body("verdict_given", causes=["stranger"]),
    "rivals of the wrong shape": body("verdict_given", rivals=[["a"], ["b", "c", "d"]]),
    "rivals as text": body("verdict_given", rivals="ab"),
    "p as text": body("verdict_given", p="high"),
    "kind unknown": lambda d: d["events"][1].update(kind="telepathy"),
    "kind with an escape": lambda d: d["events"][1].update(kind="\x1b[31mred\x07"),
    "kind without end": lambda d: d["events"][1].update(kind="x" * 100_000),
    "version of tomorrow": lambda d: d["events"][1].update(v=2),
    "version zero": lambda d: d["events"][1].update(v=0),
    "place zero": lambda d: d["events"][0].update(seq=0),
    "place twice": lambda d: d["events"][1].update(seq=1),
    "place missing": lambda d: d["events"].pop(2),
    "opened twice": lambda d: d["events"].insert(1, {**d["events"][0], "seq": 2}),
    "first event gone": lambda d: d["events"].pop(0),
    "closed, then more": lambda d: d["events"].append({**event(d, "note_added"), "seq": len(d["events"]) + 1}),
    "reading before its check": lambda d: d["events"].reverse(),
    "no events": lambda d: d.update(events=[]),
    "a hundred thousand events": lambda d: d.update(events=d["events"][:1] * 100_000),
    "one key more": lambda d: d.update(exec="rm"),
    "one key more in an event": lambda d: d["events"][0].update(exec="rm"),
    "digest of another tree": lambda d: d["tree"].update(sha256="0" * 64),
    "digest in capitals": lambda d: d["tree"].update(sha256=d["tree"]["sha256"].upper()),
    "tree by path": lambda d: d["tree"].update(id="../../etc/passwd"),
    "tree by an absolute path": lambda d: d["tree"].update(id="/etc/passwd"),
    "tree with an escape in its name": lambda d: d["tree"].update(id="a\x1b[31m"),
    "tree without a name": lambda d: d["tree"].update(id=""),
    "tree over a mebibyte": tree_text("#" * (1 << 20) + "\n"),
    "tree that is none": tree_text("- x"),
    "tree with a bomb": tree_text("a: &a [x]\nb: *a\n"),
    "tree that nests": tree_text("a: " + "[" * 100_000),
    "device without end": lambda d: d.update(device="x" * 1_000_000),
    "symptom without end": lambda d: d.update(symptom="x" * 1_000_000),
    "format of another program": lambda d: d.update(format="guide-job\x1b[2J"),
    "document of tomorrow": lambda d: d.update(version=2),
}

_HEAD = b'{"format": "guide-job", "version": 1, "device": "", "symptom": "", "began": "2026-01-05T09:00:00+00:00", '

RAW: dict[str, bytes] = {
    "nothing": b"",
    "one byte": b"{",
    "null": b"null",
    "a number": b"1",
    "a list": b"[]",
    "words": b"not json at all",
    "utf-16": '{"format": "guide-job"}'.encode("utf-16"),
    "latin-1": '{"device": "Gerät"}'.encode("latin-1"),
    "nul": b"\x00" * 1000,
    "a million brackets": b"[" * 1_000_000,
    "five million lists": b"[" + b"[]," * 5_000_000 + b"[]]",
    "four hundred thousand lists within the bound": b"[" + b"[]," * 390_000 + b"[]]",
    "maps within maps": b'{"a":' * 200_000,
    "sixteen mebibytes of numbers": b"[" + b"1.5," * 4_000_000 + b"1]",
    "as many numbers as the bound lets in": b"[" + b"1.5," * 1_400_000 + b"1]",
    "as many texts as the bound lets in": b"[" + b'"abcdef",' * 1_400_000 + b"1]",
    "one long text": b'"' + b"x" * 15_000_000 + b'"',
    "one long text of four bytes each": b'"' + "😀".encode() * 3_500_000 + b'"',
    "escapes": b'"' + b"\\u0041" * 2_500_000 + b'"',
    "over sixteen mebibytes": b" " * (16 * 1024 * 1024 + 1),
    "a million spaces": b" " * 1_000_000 + b"x",
    "an integer of a million digits": b'{"version": ' + b"9" * 1_000_000 + b"}",
    "an integer of thirty digits": b'{"version": ' + b"9" * 30 + b"}",
    "a float of a million digits": b'{"version": 0.' + b"9" * 1_000_000 + b"}",
    "an exponent out of reach": b'{"version": 1e999999999}',
    "not a number": b'{"version": NaN}',
    "infinity": b'{"version": Infinity}',
    "a name twice": _HEAD + b'"version": 1}',
    "half a million names": b"{" + b",".join(b'"k%d":1' % i for i in range(500_000)) + b"}",
    "one name half a million times": b"{" + b",".join(b'"k":1' for _ in range(500_000)) + b"}",
    "trailing comma": _HEAD + b'"tree": {},}',
    "comment": b"// job\n{}",
    "two documents": b"{} {}",
    "an escape raw": b'{"format": "\x1b[31m"}',
    "a gzip": b"\x1f\x8b\x08\x00" + b"\x00" * 400,
    "a zip": b"PK\x03\x04" + b"\x00" * 400,
    "a database": b"SQLite format 3\x00" + b"\x00" * 400,
}


def documents(sound: str) -> Iterator[tuple[str, bytes]]:
    """Yield every document by name; `sound` is the one the changes start from."""
    for name, change in CHANGES.items():
        document = json.loads(sound)
        change(document)
        yield name, json.dumps(document).encode()
    yield from RAW.items()
    yield "cut in half", sound.encode()[: len(sound) // 2]
    yield "twice in a file", (sound * 2).encode()
