"""The technician's meter as data: what each mode can show and how far it may be off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from guide.core.quantity import Measure


@dataclass(frozen=True, slots=True)
class ModeSpec:
    """One mode of one meter, in base units.

    Accuracy is ±(`percent` of reading + `counts` last digits), the usual statement of handheld meters
    (dmm.accuracy.style: handheld meter manuals). `tops` are the range ends, rising; `display_counts` is the number
    of steps in one range. `over_above` is where the display turns to OL. The leads add `lead_ohm`, give or take
    `lead_margin_ohm`: the one is taken off the reading, the other widens it (JCGM 100:2008, 3.2.4: a known effect is
    corrected, its uncertainty kept).
    `test_current_a` and `compliance_v` describe diode mode, `beep_below_ohm` continuity.
    """

    measure: Measure
    percent: float
    counts: float
    tops: tuple[float, ...]
    display_counts: int = 6000
    lead_ohm: float = 0.0
    lead_margin_ohm: float = 0.0
    test_current_a: float | None = None
    compliance_v: float | None = None
    beep_below_ohm: float | None = None
    signed: bool = False

    @property
    def over_above(self) -> float:
        """The greatest value the mode can show."""
        return self.tops[-1]

    def resolution_at(self, value: float) -> float:
        """Return the worth of the last digit on the lowest range that holds `value`."""
        top = next((t for t in self.tops if abs(value) <= t), self.tops[-1])
        return top / self.display_counts

    def half_width(self, value: float, resolution: float) -> float:
        """Return the ± half-width of the accuracy statement, in base units.

        The count is the finer of the digits the technician gave and the meter's own, for a reading said with few
        digits (`about four hundred`) carries its own looseness elsewhere.
        """
        count = min(resolution, self.resolution_at(value)) if resolution > 0 else self.resolution_at(value)
        return abs(value) * self.percent / 100 + self.counts * count

    def nulled(self, shorted: float) -> ModeSpec:
        """Return the mode with its leads known: `shorted` is what it showed with the tips held together, 0 where the
        meter has taken it off itself (REL). What is left is one last digit."""
        return replace(self, lead_ohm=max(0.0, shorted), lead_margin_ohm=self.resolution_at(0.0))


@dataclass(frozen=True, slots=True)
class MeterProfile:
    """A named meter: its modes."""

    name: str
    modes: Mapping[Measure, ModeSpec] = field(default_factory=dict)

    def spec(self, measure: Measure) -> ModeSpec | None:
        """Return the mode's data, None for looks and questions."""
        return self.modes.get(measure)

    def nulled(self, shorted: float) -> MeterProfile:
        """Return the profile with the leads known in every mode they matter to (see `ModeSpec.nulled`)."""
        modes = {m: s.nulled(shorted) if s.lead_ohm or s.lead_margin_ohm else s for m, s in self.modes.items()}
        return replace(self, modes=modes)


# A 6000-count handheld. Diode: 1 mA and 3 V (dmm.diode.current and dmm.diode.compliance: found in five meter
# manuals, 0.5 to 1.5 mA and 1.5 to 3.2 V). Continuity: dmm.cont.threshold, found 50 to 100 ohm, bench meters less.
# Accuracy: example 0.8 % + 2 digits found on ohms; the other percentages are common practice, no source.
# Leads: 0.2 ohm for two in series, 0.1 to 0.5 seen (dmm.leads.r: common practice, no source).
HANDHELD = MeterProfile(
    "handheld, 6000 counts",
    {
        m.measure: m
        for m in (
            ModeSpec(Measure.DIODE, 0.8, 2, (3.0,), 3000, test_current_a=1e-3, compliance_v=3.0),
            ModeSpec(Measure.OHMS, 0.8, 2, (600.0, 6e3, 60e3, 600e3, 6e6, 60e6), lead_ohm=0.2, lead_margin_ohm=0.2),
            ModeSpec(Measure.CONTINUITY, 0.8, 2, (600.0,), lead_ohm=0.2, lead_margin_ohm=0.2, beep_below_ohm=50.0),
            ModeSpec(Measure.VOLTS_DC, 0.5, 2, (0.06, 0.6, 6.0, 60.0, 600.0, 1000.0), signed=True),
            ModeSpec(Measure.VOLTS_AC, 1.0, 3, (0.06, 0.6, 6.0, 60.0, 600.0, 750.0)),
            ModeSpec(Measure.AMPS_DC, 1.0, 3, (0.06, 0.6, 6.0, 10.0), signed=True),
            ModeSpec(Measure.HERTZ, 0.1, 2, (60.0, 600.0, 6e3, 60e3, 600e3, 6e6, 60e6)),
            ModeSpec(Measure.CELSIUS, 1.0, 3, (600.0, 1370.0), signed=True),
        )
    },
)
