"""Safety: a caution before every check and repair, in the power state the meter mode needs."""

from __future__ import annotations

from collections.abc import Iterator

from guide.core.quantity import POWERED, UNPOWERED, Measure
from guide.core.tree import NO_HAZARD, Finding, Power, Tree


def hazards_named(tree: Tree) -> Iterator[Finding]:
    """T09: a check or repair without a hazard. Only a look or a question may say `none`; a twin touches nothing."""
    for check in tree.asked():
        if not check.hazard:
            yield Finding("T09", check.where, f"{check.id} has no hazard; name the caution that goes before it")
        elif check.hazard == NO_HAZARD and check.measure.takes_a_reading:
            message = f"{check.id} touches the board, so its hazard is not `none`; name a caution"
            yield Finding("T09", check.mark("hazard"), message)
    for cause in tree.causes.values():
        for repair in cause.repairs:
            if repair.hazard in ("", NO_HAZARD):
                message = f"a repair of {cause.id} has no hazard; name the caution that goes before it"
                yield Finding("T09", repair.where, message)


def power_states(tree: Tree) -> Iterator[Finding]:
    """T10: ohms, diode or continuity where power may be on; volts, amps or hertz where it may be off.

    A meter that feeds its own current needs a dead board; one that listens needs a live one.
    """
    for check in tree.asked():
        hazard = tree.hazards.get(check.hazard)
        if hazard is None:
            continue
        needs = _needs(check.measure)
        if needs is not Power.UNKNOWN and hazard.power is not needs:
            message = (
                f"{check.id} measures {check.measure.replace('_', ' ')}, which needs power {needs}, "
                f"and {hazard.id} is power {_said(hazard.power)}; name a hazard with power {needs}"
            )
            yield Finding("T10", check.mark("hazard"), message)


def acknowledgements(tree: Tree) -> Iterator[Finding]:
    """T11: a hazard without `until`, so nobody can say it is done."""
    for hazard in tree.hazards.values():
        if not hazard.until:
            message = f"hazard {hazard.id} has no `until`; add the word that acknowledges it"
            yield Finding("T11", hazard.where, message)


def leads_named(tree: Tree) -> Iterator[Finding]:
    """T27: in a tree that lists its points, a metered check that does not say where red and black go.

    Temperature is taken with one probe, so it needs no second lead.
    """
    if not tree.points:
        return
    for check in tree.asked():
        wanted = {"red": check.red, "black": check.black}
        if check.measure is Measure.CELSIUS:
            del wanted["black"]
        lacking = [lead for lead, point in wanted.items() if point is None]
        if check.measure.takes_a_reading and lacking:
            message = f"{check.id} does not say where the {' and the '.join(lacking)} lead goes; add the point"
            yield Finding("T27", check.where, message)


def _needs(measure: Measure) -> Power:
    if measure in UNPOWERED:
        return Power.OFF
    return Power.ON if measure in POWERED else Power.UNKNOWN


def _said(power: Power) -> str:
    return "any" if power is Power.UNKNOWN else power.value
