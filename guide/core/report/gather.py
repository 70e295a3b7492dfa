"""A job's events walked once more, noting what a report tells: what was taken, what moved the odds, what was done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from guide.core.jobs import events as ev
from guide.core.jobs.folding import evolve
from guide.core.jobs.job import Job, opened
from guide.core.jobs.weighing import beliefs_of
from guide.core.meter import HANDHELD, MeterProfile
from guide.core.report.aftermath import Aftermath
from guide.core.report.model import Noted, Odds, Pair, Report, Row, Source, Standing, Step, Wait
from guide.core.report.readings import asked, pairs_with, placed_row, ranked, row_of
from guide.core.report.wording import BY, tidy
from guide.core.tree import Tree

LEAST_SHOWN = 0.005


def report_of(tree: Tree, recorded: Iterable[ev.Recorded], *, meter: MeterProfile = HANDHELD) -> Report:
    """Return the report of the job whose events are `recorded`, on the tree it is pinned to."""
    walk = _Walk(opened(tree, meter=meter))
    for one in recorded:
        walk.on(one)
    return walk.report()


# What is recorded first where a job is taken up again, or of one that is done.
_COMING_BACK = (ev.Resumed, ev.MeterUsed, ev.TreeAdopted, ev.OutcomeSet)


class _Walk:
    """Mutable only while the events are walked; `report` is what is kept of it."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.began = self.last = ""
        self.sha256 = ""
        self.worked_s = 0.0
        self.meters: list[str] = []
        self.rows: list[Row] = []
        self.path: list[Step] = []
        self.live: dict[tuple[str, int], list[int]] = {}  # rows of a check that may still be struck, by epoch
        self.steps: list[int] = []  # each row's place in the path
        self.odds: list[Odds] = []
        self.pairs: dict[tuple[str, int], Pair] = {}
        self.cautions: dict[str, list[tuple[str, str]]] = {}
        self.notes: list[Noted] = []
        self.waits: list[Wait] = []
        self.after = Aftermath()

    def on(self, one: ev.Recorded) -> None:
        """Take in one event: what it means is told with the job before and after it."""
        before, event = self.job, one.event
        self._clock(one)
        self.job = after = evolve(before, event)
        match event:
            case ev.Opened():
                self.sha256 = event.tree_sha256
            case ev.MeterUsed(meter) if meter.name not in self.meters:
                self.meters.append(meter.name)
            case ev.TreeAdopted(_, new):
                self.sha256 = new
            case ev.ReadingTaken():
                self._taken(before, event, one.at)
            case ev.CheckPassed(check, reason):
                self._passed(before, check, reason)
            case ev.ReadingWithdrawn(check):
                self._struck(check, Standing.WITHDRAWN)
                if not after.proof:
                    self._moved(f"{check} taken back")
            case ev.ReadingPlaced():
                self._placed(event)
            case ev.CheckChosen(check, "stale"):
                self._struck(check, Standing.REPLACED)
            case ev.HazardCleared(hazard, words):
                self.cautions.setdefault(hazard, []).append((words, one.at))
            case ev.NoteAdded(text):
                self.notes.append(Noted(one.at, tidy(text, longest=4000)))
            case ev.Held(reason, until):
                self.waits.append(Wait(one.at, tidy(reason), tidy(until), ""))
            case ev.Resumed() if self.waits and not self.waits[-1].resumed:
                self.waits[-1] = replace(self.waits[-1], resumed=one.at)
        self._first_odds(before, after, event)
        self.after.on(before, one, after)

    def _clock(self, one: ev.Recorded) -> None:
        """Count the time worked: gaps that end in taking the job up, or in saying what it was, were spent elsewhere."""
        self.began = self.began or one.at
        if self.last and not isinstance(one.event, _COMING_BACK):
            self.worked_s += max(0.0, seconds(self.last, one.at))
        self.last = one.at

    def _first_odds(self, before: Job, after: Job, event: ev.Event) -> None:
        if isinstance(event, ev.Opened) or (isinstance(event, ev.ShopKnown) and len(self.odds) == 1):
            self.odds = [Odds(0, "before any reading", self._chances(after))]
        elif isinstance(event, ev.ProofFailed):
            self._moved("the proof failed")

    def _taken(self, before: Job, event: ev.ReadingTaken, at: str) -> None:
        number = len(self.rows) + 1
        by = "intake" if event.source == "intake" else before.chosen_by
        row = row_of(before, event, number=number, at=at, by=_by(by), why=_why(before))
        if event.check in before.taken:
            self._struck(event.check, Standing.REPEATED, rows_only=True)
        self.live.setdefault((row.check, row.epoch), []).append(len(self.rows))
        self.steps.append(len(self.path))
        self.rows.append(row)
        self.path.append(
            Step(number, row.check, row.ask, row.by, row.why, row.shown, row.band, row.normal, Standing.COUNTS)
        )
        if not before.proof:
            self._moved(row.check, number)
        for pair in pairs_with(self.job, event.check):
            self.pairs[pair.check, pair.epoch] = pair

    def _placed(self, event: ev.ReadingPlaced) -> None:
        """Show the band a reading counts with, and that it is not the one it was taken with."""
        for i in self.live.get((tidy(event.check), self.job.epoch), [])[-1:]:
            was = self.rows[i].band
            self.rows[i] = placed_row(self.job, self.rows[i], event)
            now, step = self.rows[i], self.steps[i]
            self.path[step] = replace(self.path[step], band=now.band, normal=now.normal)
            self._moved(f"{event.check} placed anew, {now.band} and not {was}")

    def _passed(self, before: Job, check: str, reason: str) -> None:
        by, said = _by(before.chosen_by), tidy(reason)
        self.path.append(Step(0, tidy(check), asked(before, check), by, _why(before), said, "", None, "passed"))

    def _struck(self, check: str, standing: Standing, *, rows_only: bool = False) -> None:
        """Mark what was said of `check` since the bench last changed; what was taken away keeps its mark."""
        key = (tidy(check), self.job.epoch)
        for i in self.live.get(key, ()):
            if self.rows[i].standing is not standing:
                self.rows[i] = replace(self.rows[i], standing=standing)
            if not rows_only:
                step = self.steps[i]
                self.path[step] = replace(self.path[step], standing=standing)
        if not rows_only:
            self.live.pop(key, None)

    def _moved(self, label: str, number: int = 0) -> None:
        self.odds.append(Odds(number, tidy(label), self._chances(self.job)))

    @staticmethod
    def _chances(job: Job) -> tuple[tuple[str, float], ...]:
        return ranked(beliefs_of(job), least=LEAST_SHOWN)

    def report(self) -> Report:
        """Return what was gathered."""
        job, tree = self.job, self.job.tree
        meters = ", then ".join(self.meters) or job.meter.name
        return Report(
            job=tidy(job.id), tree=tidy(tree.id), tree_version=tree.version, tree_sha256=tidy(self.sha256),
            device=tidy(job.facts.get("device") or job.device), symptom=tidy(job.symptom), meter=tidy(meters),
            began=self.began, last=self.last,
            facts=tuple((tidy(k), tidy(v)) for k, v in job.facts.items() if v.strip()),
            shop_jobs=job.shop.jobs if job.shop else 0, handed_over=bool(job.handed_over_for),
            cautions=self.after.cautions(tree, self.cautions), rows=tuple(self.rows),
            pairs=tuple(self.pairs.values()), odds=tuple(self.odds), path=tuple(self.path),
            verdicts=tuple(self.after.verdicts), options=self.after.options, repairs=tuple(self.after.repairs),
            overrides=tuple(self.after.overrides), notes=tuple(self.notes), waits=tuple(self.waits),
            ending=self.after.ending,
            minutes_planned=round(sum(self._minutes(r.check) for r in self.rows if r.source != "intake"), 2),
            minutes_worked=round(self.worked_s / 60, 2),
            causes=tuple((tidy(c.id), tidy(c.say).rstrip(". ")) for c in tree.causes.values()), sources=self._sources(),
        )  # fmt: skip

    def _minutes(self, check: str) -> float:
        return self.job.tree.checks[check].minutes if check in self.job.tree.checks else 0.0

    def _sources(self) -> tuple[Source, ...]:
        """Return the grounds of the checks that were taken, in the order of the tree."""
        taken = {r.check for r in self.rows}
        used = {s for c in self.job.tree.checks.values() if c.id in taken for s in c.sources}
        return tuple(Source(tidy(s.id), tidy(s.text)) for s in self.job.tree.sources.values() if s.id in used)


def _by(code: str) -> str:
    """Return how a check came to be the next, in words."""
    return BY.get(code, tidy(code))


def _why(job: Job) -> str:
    """Return the planner's sentence; for every other way of choosing, how it was chosen says why."""
    return tidy(job.chosen_why) if job.chosen_by == "plan" else ""


def seconds(earlier: str, later: str) -> float:
    """Return the time between two ISO moments, in seconds; 0 where one of them is no moment."""
    try:
        return (datetime.fromisoformat(later) - datetime.fromisoformat(earlier)).total_seconds()
    except (ValueError, TypeError):
        return 0.0
