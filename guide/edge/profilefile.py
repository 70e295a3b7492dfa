"""The technician's own meter from a small TOML file. What it leaves out is taken from the default handheld."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

from guide.core.errors import BadInput
from guide.core.meter import HANDHELD, MeterProfile, ModeSpec
from guide.core.quantity import Measure, Unit
from guide.core.tomltext import toml_text

# What such a file may say; `guide help meter` shows it.
EXAMPLE = """\
name = "bench 6000"
leads = 0.15             # ohm, both together; leads_margin is give or take
[ohms]
percent = 0.5            # of the reading
counts = 3               # last digits
ranges = [600, 6e3, 60e3, 600e3, 6e6, 60e6]
display = 6000           # steps in one range
[diode]
test_current = 1e-3      # A
compliance = 3.0         # V
[continuity]
beep_below = 30          # ohm
"""
LARGEST = 64 * 1024  # bytes; a profile is a page of text
_HEADER = re.compile(r"\s*\[\s*([A-Za-z_]+)\s*\]")
_KEY = re.compile(r"\s*([A-Za-z_]+)\s*=")
_ALWAYS = {"name", "leads", "leads_margin"}
# key -> field of ModeSpec, least and greatest value
_NUMBERS = {
    "percent": ("percent", 0.0, 50.0),
    "counts": ("counts", 0.0, 1e4),
    "display": ("display_counts", 100.0, 1e8),
    "test_current": ("test_current_a", 1e-9, 1.0),
    "compliance": ("compliance_v", 0.1, 100.0),
    "beep_below": ("beep_below_ohm", 0.1, 1e4),
}
_ONLY = {"test_current": Measure.DIODE, "compliance": Measure.DIODE, "beep_below": Measure.CONTINUITY}

_Blame = Callable[[str, str], BadInput]  # key and what is wrong -> the error, with its line


def profile_from(path: Path) -> MeterProfile:
    """Return the profile in the file at `path`. Raises BadInput with file:line for anything it cannot take."""
    try:
        raw = path.read_bytes()
    except OSError as error:
        raise BadInput(f"{path}: {error.strerror or error}; give a meter profile that can be read") from error
    if len(raw) > LARGEST:
        raise BadInput(f"{path}: larger than {LARGEST // 1024} KiB; a meter profile is a page of text")
    text, data = toml_text(raw, str(path))
    return _profile(data, path, _lines(text))


def _lines(text: str) -> Mapping[tuple[str, str], int]:
    """Return the line of each (section, key), the key empty for the section's own header."""
    found: dict[tuple[str, str], int] = {}
    section = ""
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            section = header.group(1)
            found.setdefault((section, ""), number)
        elif key := _KEY.match(line):
            found.setdefault((section, key.group(1)), number)
    return found


def _profile(data: Mapping[str, object], path: Path, lines: Mapping[tuple[str, str], int]) -> MeterProfile:
    def blame(section: str) -> _Blame:
        def error(key: str, wrong: str) -> BadInput:
            places = ((section, key), (key, ""), (section, ""), ("", section))
            line = next((lines[p] for p in places if p in lines), 1)
            return BadInput(f"{path}:{line}: {wrong}")

        return error

    modes = dict(HANDHELD.modes)
    for name, value in data.items():
        if name in _ALWAYS:
            continue
        measure = next((m for m in modes if m.value == name), None)
        if measure is not None and not isinstance(value, dict):
            raise blame("")(name, f"{name} is a section; write [{name}] and its figures below it")
        if measure is None or not isinstance(value, dict):
            known = ", ".join((*sorted(_ALWAYS), *(m.value for m in modes)))
            raise blame("")(name, f"a meter has no {name}; use {known}")
        modes[measure] = _mode(modes[measure], value, blame(name))
    label = data.get("name", HANDHELD.name)
    if not isinstance(label, str) or not label.strip():
        raise blame("")("name", "name is a word or two in quotes")
    return MeterProfile(label.strip(), {m: _with_leads(s, data, blame("")) for m, s in modes.items()})


def _with_leads(spec: ModeSpec, data: Mapping[str, object], blame: _Blame) -> ModeSpec:
    """Leads given once hold for every mode that reads ohms."""
    if spec.measure.unit is not Unit.OHM:
        return spec
    given = {key: _number(data[key], key, 0.0, 10.0, blame) for key in ("leads", "leads_margin") if key in data}
    lead = given.get("leads", spec.lead_ohm)
    return replace(spec, lead_ohm=lead, lead_margin_ohm=given.get("leads_margin", min(lead, spec.lead_margin_ohm)))


def _mode(spec: ModeSpec, given: Mapping[str, object], blame: _Blame) -> ModeSpec:
    changed: dict[str, object] = {}
    for key, value in given.items():
        if key == "ranges":
            changed["tops"] = _ranges(value, blame)
        elif key in _NUMBERS and _ONLY.get(key, spec.measure) is spec.measure:
            field, least, most = _NUMBERS[key]
            number = _number(value, key, least, most, blame)
            changed[field] = round(number) if field == "display_counts" else number
        else:
            known = ", ".join(("ranges", *(k for k in _NUMBERS if _ONLY.get(k, spec.measure) is spec.measure)))
            raise blame(key, f"{spec.measure.value} has no {key}; use {known}")
    return replace(spec, **changed)  # type: ignore[arg-type]


def _number(value: object, key: str, least: float, most: float, blame: _Blame) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise blame(key, f"{key} is a number, not {value!r}")
    if not least <= value <= most:
        raise blame(key, f"{key} is between {least:g} and {most:g}, not {value:g}")
    return float(value)


def _ranges(value: object, blame: _Blame) -> tuple[float, ...]:
    if not isinstance(value, list) or not value:
        raise blame("ranges", "ranges is a list of the range ends, such as [6, 60, 600]")
    ends = tuple(_number(end, "ranges", 1e-9, 1e12, blame) for end in value)
    if any(b <= a for a, b in pairwise(ends)):
        raise blame("ranges", "ranges rise from the lowest end to the highest")
    return ends
