"""What is known of a job now. All of it follows from its events: see `folding`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from guide.core.jobs import events as ev
from guide.core.jobs.phases import Phase
from guide.core.meter import HANDHELD, MeterProfile
from guide.core.odds.costs import Bench
from guide.core.reading import Reading
from guide.core.tree import AS_FOUND, UNSEEN, Check, Power, Tree

EVERY_READING = "every-reading"  # the sweep over a known-good board that a shop learns a model from


def _nothing() -> Mapping[str, str]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Taken:
    """A check's answer as it counts now: every repeat, the band weights and the likeliest band."""

    check: str
    readings: tuple[Reading, ...]
    band: str
    weights: Mapping[str, float]
    words: str
    source: str
    seq: int
    meter: MeterProfile = HANDHELD  # it was read with


@dataclass(frozen=True, slots=True)
class Proved:
    """A proof that came to its end: the readings it took, the repair it was for, the verdict that led to it, and what a
    bypass had shown before. Kept so that a reading taken back leads into the proof again and not away from the repair.
    """

    proof: tuple[str, ...]
    repair: ev.RepairChosen | None
    verdict: ev.VerdictGiven | None
    shown: str


@dataclass(frozen=True)  # no slots: `_with` copies the dictionary, five times faster than replace on this many fields
class Job:
    """One device on the bench. Everything here follows from the events; nothing else is kept."""

    tree: Tree
    meter: MeterProfile = HANDHELD
    metered: bool = False  # which meter it is stands in the events
    id: str = ""
    seq: int = 0  # number of events so far
    phase: Phase = Phase.NEW
    symptom: str = ""
    device: str = ""
    facts: Mapping[str, str] = field(default_factory=_nothing)
    shop: ev.ShopKnown | None = None
    known_good: bool = False  # read to learn its model from
    # the bench
    power: Power = Power.UNKNOWN
    cleared: frozenset[str] = frozenset()
    setup: str = ""  # empty: not known
    opened: frozenset[str] = frozenset()
    told: str = ""  # hazard or step that waits for its word
    # the check in hand
    chosen: str = ""
    chosen_by: str = ""
    chosen_why: str = ""
    pending: ev.ReadingHeard | None = None
    route: str = ""  # where the author's route leads next; empty: the planner's choice
    sweep: str = ""  # the sweep being walked
    again: str = ""  # a check whose reading straddles an edge and is taken once more
    # what is known
    taken: Mapping[str, Taken] = field(default_factory=lambda: MappingProxyType({}))
    passed: Mapping[str, str] = field(default_factory=_nothing)
    order: tuple[str, ...] = ()
    stale: frozenset[str] = frozenset()  # answers too old to rest a verdict on
    verdict: ev.VerdictGiven | None = None
    aside_at: int = -1  # how many answers there were when the verdict was set aside
    # after the verdict
    repair: ev.RepairChosen | None = None
    tried: ev.RepairChosen | None = None  # the last repair that did not cure it
    epoch: int = 0
    earlier: int = 0  # answers that counted before the bench was changed by a repair
    proof: tuple[str, ...] = ()
    proved: Proved | None = None
    before: Job | None = None  # as it was before the newest step after the verdict that can be taken back
    order_then: tuple[str, ...] = ()  # the answers right after that step
    overridden: bool = False
    shown: str = ""
    closing: ev.ClosingHeard | None = None  # how it would close, once a yes is said
    closed: ev.Closed | None = None
    outcome: str = ""
    outcome_note: str = ""
    held: ev.Held | None = None

    @property
    def check(self) -> Check | None:
        """The check in hand: being asked, confirmed or briefed."""
        return self.tree.checks.get(self.chosen)

    @property
    def waits_for_yes(self) -> bool:
        """Whether what was just heard is read back and counts only after a yes."""
        return self.phase is Phase.CONFIRMING or self.closing is not None

    @property
    def bench(self) -> Bench:
        return Bench(self.power, self.cleared, self.setup or AS_FOUND, self.opened)

    @property
    def answers(self) -> int:
        """How many answers were taken and stand, those before a repair too."""
        return self.earlier + len(self.taken)

    @property
    def handed_over_for(self) -> str:
        """The cause the work was ended for (a swollen pack, mains inside); empty where it may go on."""
        ended = (c for c, t in self.taken.items() if self.tree.hands_over(c, t.band))
        return next((self.tree.checks[c].then[self.taken[c].band] for c in ended), "")

    @property
    def slip(self) -> Job | None:
        """The job before the newest step after the verdict, if nothing was answered since it."""
        return self.before if self.order == self.order_then else None

    def sweep_left(self) -> tuple[str, ...]:
        """Checks of the sweep being walked that have no answer yet, in the order of the part."""
        return tuple(c for c in self.sweep_checks() if c not in self.taken and c not in self.passed)

    def sweep_checks(self) -> tuple[str, ...]:
        """Checks of the sweep being walked; every metered one, unpowered before powered, for `EVERY_READING`."""
        if self.sweep == EVERY_READING:
            metered = [c for c in self.tree.asked() if c.measure.takes_a_reading]
            return tuple(c.id for c in sorted(metered, key=lambda c: self.tree.needs(c) is Power.ON))
        return self.tree.sweeps[self.sweep].checks if self.sweep in self.tree.sweeps else ()

    def came(self, check: str) -> str | None:
        """Return the band `check` came out in, `UNSEEN` where it was passed over, None where it was not asked yet."""
        return self.taken[check].band if check in self.taken else UNSEEN if check in self.passed else None

    def may_ask(self, check: Check) -> bool:
        """Tell whether all that `check` comes after came out as it must."""
        return check.follows(self.came)

    def left(self) -> tuple[Check, ...]:
        """Checks that were neither taken nor passed over since the bench last changed and make sense, now or after
        others that are left."""
        answered = {*self.taken, *self.passed}
        waiting = [c for c in self.tree.asked() if c.id not in answered]
        return self.tree.sensible(waiting, self.came)

    def passed_over(self) -> tuple[Check, ...]:
        """Checks without an answer that were skipped or out of reach or sight, and would make sense."""
        return self.tree.sensible([c for c in self.tree.asked() if c.id in self.passed], self.came)


def opened(tree: Tree, *, meter: MeterProfile = HANDHELD) -> Job:
    """Return the job before its first event."""
    return Job(tree, meter)
