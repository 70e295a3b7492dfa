"""What came of the readings: verdicts, repairs offered and made, proofs, overrides, and how the job ended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from guide.core import tree
from guide.core.jobs import events as ev
from guide.core.jobs.comparing import good_boards, told_weights
from guide.core.jobs.concluding import grounds
from guide.core.jobs.evidence import apart_shown
from guide.core.jobs.job import Job
from guide.core.jobs.mending import options
from guide.core.jobs.wording import cause_say, only_told, shown_reading
from guide.core.odds.belief import SHOWN_BITS
from guide.core.reading import as_normal, placed
from guide.core.report.model import Caution, Ending, Ground, Noted, Option, Repair, Rival, Verdict
from guide.core.report.readings import PLACES, asked, usual_of
from guide.core.report.wording import tidy
from guide.core.tree import NONE, OTHER

BESIDE = {OTHER: "None of the causes this procedure lists", NONE: "Nothing wrong that this procedure can find"}


class Aftermath:
    """Mutable only while the events are walked."""

    def __init__(self) -> None:
        self.verdicts: list[Verdict] = []
        self.options: tuple[Option, ...] = ()
        self.repairs: list[Repair] = []
        self.overrides: list[Noted] = []
        self.ending: Ending | None = None

    def on(self, before: Job, one: ev.Recorded, after: Job) -> None:
        match one.event:
            case ev.VerdictGiven() as given:
                self.verdicts.append(verdict_at(after, given, one.at))
            case ev.VerdictAccepted():
                self._fate("accepted")
                self._put_back()
                self.options = tuple(_option(*found) for found in options(after))
            case ev.VerdictSetAside():
                self._fate("set aside")
            case ev.ReadingWithdrawn() if after.proof:
                self._proof_again(anew=after.verdict != before.verdict)
            case ev.ReadingWithdrawn() | ev.ReadingPlaced() if before.verdict and not after.verdict:
                self._fate("taken back")
            case ev.RepairChosen(cause, index):
                self._chosen(before, cause, index, one.at)
            case ev.Closed() | ev.OutcomeSet():
                self._ended(before, one)
            case ev.RepairWithdrawn() | ev.ProofReopened() | ev.TestWithdrawn():
                self._taken_back(one.event)
            case _:
                self._proven(one)

    def _proven(self, one: ev.Recorded) -> None:
        match one.event:
            case ev.RepairDone():
                self._last(done_at=one.at)
            case ev.ProofPassed():
                self._last(proof="passed")
            case ev.ProofFailed(checks):
                self._last(proof="failed", failed=tuple(tidy(c) for c in checks))
                self._fate("refuted")
            case ev.ProofOverridden(words):
                self._last(proof="overridden")
                self.overrides.append(Noted(one.at, f"went on without the proof ({tidy(words)})"))
            case ev.FunctionFailed():
                self._last(function="still faulty")
                self._fate("refuted")
            case ev.CauseShown():
                self._last(function="works")

    def _proof_again(self, *, anew: bool) -> None:
        """Forget how the proof came out, for one of its readings was taken back; `anew` where it had felled the verdict
        that led to it."""
        self._last(proof="", failed=(), function="")
        if not anew:
            return
        if self.verdicts[-1].fate != "refuted":
            self._fate("taken back")
        felled = max(i for i, v in enumerate(self.verdicts) if v.fate == "refuted")
        self.verdicts[felled] = replace(self.verdicts[felled], fate="accepted")

    def _taken_back(self, event: ev.Event) -> None:
        """What was a slip came of no repair."""
        match event:
            case ev.RepairWithdrawn():
                self._last(done_at="")
            case ev.ProofReopened():
                self._last(proof="")
                self.overrides.pop()
            case _:
                self._last(function="")
        self._fate("accepted")

    def _fate(self, fate: str) -> None:
        if self.verdicts:
            self.verdicts[-1] = replace(self.verdicts[-1], fate=fate)

    def _chosen(self, before: Job, cause: str, index: int, at: str) -> None:
        listed = options(before)
        self.options = tuple(_option(*found) for found in listed) or self.options
        found = next((f for f in listed if f[1] == cause and f[2] == index), None)
        if found is not None:
            self.repairs.append(Repair(at, _option(*found), "", "", (), ""))

    def _put_back(self) -> None:
        """A repair chosen and put back before it was done is none."""
        if self.repairs and not self.repairs[-1].done_at:
            self.repairs.pop()

    def _last(self, **changes: str | tuple[str, ...]) -> None:
        if self.repairs:
            self.repairs[-1] = replace(self.repairs[-1], **changes)  # type: ignore[arg-type]

    def _ended(self, before: Job, one: ev.Recorded) -> None:
        event = one.event
        assert isinstance(event, ev.Closed | ev.OutcomeSet)
        if isinstance(event, ev.Closed) and event.works:
            self._last(function="works")
        if isinstance(event, ev.Closed) and before.repair is not None and before.handed_over_for:
            self._last(done_at=one.at)
        proven = event.proven if isinstance(event, ev.Closed) else bool(self.ending and self.ending.proven)
        cause = event.cause
        say, told = said(before, cause) if cause else ("", "")
        # What a job really was may be said while it is open, and long after it was closed: it closed when it did.
        closed = isinstance(event, ev.Closed) or before.closed is not None
        at = self.ending.at if isinstance(event, ev.OutcomeSet) and closed and self.ending else one.at
        self.ending = Ending(at, tidy(cause), say, told, proven, tidy(event.note), closed=closed)

    @staticmethod
    def cautions(known: tree.Tree, cleared: Mapping[str, Sequence[tuple[str, str]]]) -> tuple[Caution, ...]:
        """Return each caution that was acknowledged, in the order of the first time."""
        return tuple(
            Caution(
                tidy(hazard), tidy(known.hazards[hazard].say if hazard in known.hazards else hazard),
                tuple(tidy(words) for words, _ in times), tuple(at for _, at in times),
            )
            for hazard, times in cleared.items()
        )  # fmt: skip


def said(job: Job, cause: str) -> tuple[str, str]:
    """Return what `cause` is, for the bench and for the customer."""
    listed = job.tree.causes.get(cause)
    if cause in BESIDE or listed is None:
        say = BESIDE.get(cause, tidy(cause))
        return say, say
    say = tidy(cause_say(job, cause))
    return say, tidy(listed.customer).rstrip(". ") or say


def verdict_at(job: Job, given: ev.VerdictGiven, at: str) -> Verdict:
    """Return the verdict with its evidence, as it was when it was given."""
    say, told = said(job, given.cause)
    return Verdict(
        at=at, cause=tidy(given.cause), say=say, customer=told, p=round(given.p, PLACES),
        causes=tuple(tidy(c) for c in given.causes), says=tuple(said(job, c)[0] for c in given.causes),
        customers=tuple(said(job, c)[1] for c in given.causes),
        rivals=tuple(Rival(tidy(c), said(job, c)[0], round(p, PLACES)) for c, p in given.rivals),
        separable=given.separable, grounds=tuple(_ground(job, *g) for g in grounds(job)), fate="stands",
        settled=job.tree.settles(given.p),
    )  # fmt: skip


def _ground(job: Job, name: str, band: str, bits: float) -> Ground:
    check = job.tree.checks[name]
    taken = job.taken.get(name)
    weights = told_weights(job, name, taken.readings[-1], band, taken.weights) if taken else {band: 1.0}
    boards = good_boards(job, name, taken.readings[-1]) if taken else ""
    shown = tidy(shown_reading(taken.readings[-1])) if taken else apart_shown(job, check)
    weight = round(max(-SHOWN_BITS, min(SHOWN_BITS, bits)), 3)
    usual = boards or usual_of(check, check.bands)
    normal, where = not boards and as_normal(weights, band, check.usual), tidy(placed(weights, band))
    told = only_told(check)
    return Ground(tidy(name), asked(job, name), check.measure.value, where, shown, usual, normal, weight, told)


def _option(number: str, cause: str, _index: int, repair: tree.Repair) -> Option:
    return Option(
        number, tidy(cause), tidy(repair.do).rstrip(". "), repair.minutes, tidy(repair.parts), tidy(repair.skill),
        tidy(repair.risk), tidy(repair.restores), tidy(repair.leaves), repair.proof,
    )  # fmt: skip
