"""The shape of a tree file, as pydantic models: which keys, what they hold, what they are when left out.

Cross references, bands against units, safety and evidence are not looked at here; that is the linter's.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from guide.core.quantity import Measure
from guide.core.tree import AS_FOUND, Power

# How a measure is spelled in a tree: the trade's way, or the name the JSON-lines contract has for it.
MEASURES = {
    "V dc": Measure.VOLTS_DC,
    "V ac": Measure.VOLTS_AC,
    "A dc": Measure.AMPS_DC,
    "ohm": Measure.OHMS,
    "Hz": Measure.HERTZ,
    "degC": Measure.CELSIUS,
} | {m.value: m for m in Measure}


def _listed(value: Any) -> Any:
    """One word stands for a list of one."""
    return [value] if isinstance(value, str) else value


def _measure(value: Any) -> Any:
    if isinstance(value, str) and value not in MEASURES:
        same = next((name for name in MEASURES if name.casefold() == value.strip().casefold()), None)
        way = f"write `{same}`" if same else f"write one of {', '.join(MEASURES)}"
        raise ValueError(f"`{value[:40]}` is no measure; {way}")
    return MEASURES[value] if isinstance(value, str) else value


def _power(value: Any) -> Any:
    return Power.UNKNOWN if value == "any" else value


Text = Annotated[str, Field(min_length=1)]
Id = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]*$", max_length=60)]
Texts = Annotated[tuple[Text, ...], BeforeValidator(_listed), Field(min_length=1)]
Ids = Annotated[tuple[Id, ...], BeforeValidator(_listed), Field(min_length=1)]
Number = Annotated[float, Field(allow_inf_nan=False)]
Minutes = Annotated[float, Field(ge=0, le=10_000, allow_inf_nan=False)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)


class HazardShape(_Part):
    say: Text
    power: Annotated[Literal[Power.OFF, Power.ON, Power.UNKNOWN], BeforeValidator(_power)] = Power.UNKNOWN
    until: str = ""


class StepShape(_Part):
    say: Text
    until: Text = "ready"
    minutes: Minutes | None = None
    power: Literal[Power.OFF, Power.ON] = Power.OFF


class CheckShape(_Part):
    ask: str = ""
    measure: Annotated[Measure, BeforeValidator(_measure)] | None = None
    answer: dict[Id, Texts] = {}
    bands: dict[Id, Text] = {}
    hazard: str = ""
    source: Ids = ()
    normal: Ids = ()
    expect: dict[Id, Ids] = {}
    p: dict[Id, dict[Id, Number]] = {}
    reliability: Number = 0.98
    then: dict[Id, Id] = {}
    after: dict[Id, Ids] = {}
    red: Id | None = None
    black: Id | None = None
    setup: Id = AS_FOUND
    access: Ids = ()
    minutes: Minutes = 2.0
    twin: Annotated[tuple[Id, ...], Field(min_length=2, max_length=2)] | None = None
    why: str = ""
    fact: Id | Literal[""] = ""


class RepairShape(_Part):
    do: Text
    minutes: Minutes
    hazard: str = ""
    parts: str = ""
    skill: str = ""
    risk: str = ""
    restores: str = ""
    leaves: str = ""
    proof: bool = False


class VerifyShape(_Part):
    check: Id
    band: Id
    otherwise: Id = Field(alias="else")


class CauseShape(_Part):
    weight: Number
    say: Text
    repair: tuple[RepairShape, ...] = ()
    verify: VerifyShape | None = None
    ground: str = ""
    customer: str = ""


class SweepShape(_Part):
    say: Text
    checks: Ids


class TreeShape(_Part):
    version: int
    device: Text
    symptom: Text
    heard_as: Texts = ()
    family: str = ""
    start: str = ""
    decide_at: Number = 0.9
    sources: dict[Id, Text] = {}
    hazards: dict[Id, HazardShape] = {}
    points: dict[Id, Text] = {}
    setups: dict[Id, StepShape] = {}
    access: dict[Id, StepShape] = {}
    checks: Annotated[dict[Id, CheckShape], Field(min_length=1)]
    causes: Annotated[dict[Id, CauseShape], Field(min_length=1)]
    sweeps: dict[Id, SweepShape] = {}
