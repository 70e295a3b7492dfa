"""Broken and malicious tree files, by name: the bytes of each."""

from __future__ import annotations

from tests.lint_examples import CLEAN
from tests.test_hostile_trees import REFUSED

NASTY = "\\e[31mred\\x9b2J\\e]0;title\\a"


def changed(old: str, new: str) -> bytes:
    assert old in CLEAN, old
    return CLEAN.replace(old, new, 1).encode("utf-8", "surrogatepass")


def without(key: str) -> bytes:
    """The clean tree without a top key and what is below it."""
    kept, skipping = [], False
    for line in CLEAN.splitlines():
        if not line.startswith(" "):
            skipping = line.startswith(f"{key}:")
        if not skipping:
            kept.append(line)
    return "\n".join(kept).encode()


def large(lines: str, *, count: int) -> bytes:
    return (CLEAN + "".join(lines.format(i=i) for i in range(count))).encode()


_IDS = ("../../etc/passwd", "..", "/etc/passwd", "C:\\\\x", "a/../b", "a b", "", ".hidden", "a\\0b", NASTY, "é",
        "x" * 61, "<b>", "{{7*7}}", "$(id)", "`id`", "#let", "=1+1", "-rf", "__class__")  # fmt: skip
_NUMBERS = (".nan", ".inf", "-.inf", "1e999", "-1", "0x", "1" * 400, "abc", "[]", "{}", "null", "true", "''")
_BANDS = ("{}", "[]", "x", "{a: 1}", "{a: below}", "{a: below 1 kg}", "{a: below 1 V, b: 2 V and up}",
          "{a: 2 V to 1 V}", "{a: nan V to 1 V}", "{a: below 1e999 ohm, b: 1e999 ohm and up}", "{a: below 1 ohm}",
          "{a: OL, b: OL}",
          "{short: below 20 ohm, good: 10 ohm to 60 ohm, open: 60 ohm and up or OL}",
          "{short: below 20 ohm, good: 20 ohm to 60 ohm, open: 70 ohm and up or OL}")  # fmt: skip
_COIL = "{short: below 20 ohm, good: 20 ohm to 60 ohm, open: 60 ohm and up or OL}"
_KEYS = ("version", "device", "symptom", "hazards", "checks", "causes")
_WRONG = ("[]", "{}", "[[[]]]", "{a: {b: {c: d}}}", "''")

TREES: dict[str, bytes] = {
    **{f"seen before: {name}": text.encode("utf-8", "surrogatepass") for name, (text, _) in REFUSED.items()},
    **{f"check called {name[:20]!r}": changed("  coil:\n", f'  "{name}":\n') for name in _IDS},
    **{f"cause called {name[:20]!r}": changed("  coil-open:\n    weight", f'  "{name}":\n    weight') for name in _IDS},
    **{f"weight {n[:9]}": changed("weight: 3", f"weight: {n}") for n in _NUMBERS},
    **{f"decide_at {n[:9]}": changed("decide_at: 0.9", f"decide_at: {n}") for n in _NUMBERS},
    **{f"minutes {n[:9]}": changed("minutes: 20", f"minutes: {n}") for n in _NUMBERS},
    **{f"bands {b[:40]}": changed(_COIL, b) for b in _BANDS},
    **{f"without {k}": without(k) for k in _KEYS},
    **{f"{k} is {w}": without(k) + f"\n{k}: {w}\n".encode() for k in _KEYS for w in _WRONG},
    "probability over one": changed("dropped: 0.6", "dropped: 6"),
    "probability below zero": changed("dropped: 0.6", "dropped: -0.6"),
    "route to nowhere": changed("good: drive,", "good: nowhere,"),
    "start nowhere": changed("start: history", "start: nowhere"),
    "hazard unknown": changed("hazard: live\n", "hazard: deadly\n"),
    "power on for ohms": changed("hazard: unplugged\n    bands", "hazard: live\n    bands"),
    "twin of itself": changed("twin: [drive, drive-b]", "twin: [drop, drop]"),
    "twin of one": changed("twin: [drive, drive-b]", "twin: [drive]"),
    "verify nothing": changed("check: coil, band: good", "check: coil, band: golden"),
    "unknown key": changed("version: 1\n", "version: 1\nexec: rm\n"),
    "a million characters": b"version: 1\ndevice: " + b"x" * 1_000_000,
    "a million characters of key": b"x" * 1_000_000 + b": 1",
    "a million digits": b"version: " + b"9" * 1_000_000,
    "a million brackets": b"a: " + b"[" * 1_000_000,
    "a million maps": b"a: " + b"{b: " * 250_000,
    "a million dashes": b"- " * 500_000,
    "a million lines": b"\n" * 1_048_000 + b"x",
    "a million quotes": b"'" * 1_000_000,
    "a million keys": b"".join(b"k%d: 1\n" % i for i in range(80_000)),
    "one key eighty thousand times": b"k: 1\n" * 180_000,
    "question marks": b"? " * 500_000,
    "pipes": b"a: |\n" + b" x\n" * 300_000,
    "folded": b"a: >\n" + b"\n" * 500_000 + b" x",
    "comments": b"# x\n" * 250_000,
    "tags": b"a: !<" + b"x" * 900_000 + b"> 1",
    "anchors": b"".join(b"- &a%d x\n" % i for i in range(80_000)),
    "escapes": b'a: "' + b"\\x41" * 200_000 + b'"',
    "bell and escape": f'version: 1\ndevice: "{NASTY}"\nwrong: "{NASTY}"\n'.encode(),
    "raw escape": b"version: 1\ndevice: \x1b[31mred\n",
    "raw C1": "version: 1\ndevice: a\x9b2Jb\n".encode(),
    "nul": b"version: 1\x00\n",
    "nothing but nul": b"\x00" * 1000,
    "utf-16": "version: 1\n".encode("utf-16"),
    "utf-32": "version: 1\n".encode("utf-32"),
    "latin-1": "version: 1\ndevice: Gerät\n".encode("latin-1"),
    "overlong utf-8": b"version: 1\ndevice: \xc0\xaf\n",
    "a gzip": b"\x1f\x8b\x08\x00" + b"\x00" * 200,
    "a zip": b"PK\x03\x04" + b"\x00" * 200,
    "an executable": b"\x7fELF" + bytes(range(256)),
    "json bomb": b'{"a":' * 100_000,
    "html": b"<html><script>alert(1)</script></html>",
    "xml bomb": b'<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><l>&b;</l>',
    "thousands of findings": large("  k{i}: {{weight: x}}\n", count=20_000),
    "one more byte than a mebibyte": b"#" * (1 << 20) + b"\n",
}
