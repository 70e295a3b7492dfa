"""What the screen tells of a job, worked out from the job alone: headline, power, last reading, odds, tables."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from guide.core.jobs.comparing import good_boards
from guide.core.jobs.job import Job, Taken
from guide.core.jobs.phases import Phase
from guide.core.jobs.recap import odds_mislead
from guide.core.jobs.weighing import beliefs_of
from guide.core.jobs.wording import cause_say, counted, like_a_good_unit, placed_in, shown_reading
from guide.core.quantity import Measure
from guide.core.reading import Answered, as_normal, borderline, landed
from guide.core.report.model import Strip
from guide.core.report.readings import error_of, error_shown, usual_of
from guide.core.report.strips import strip_of
from guide.core.tree import NONE, OTHER, Check, Power, in_words

MODES = {
    Measure.DIODE: "DIODE", Measure.OHMS: "OHMS", Measure.CONTINUITY: "BEEP", Measure.VOLTS_DC: "VOLTS DC",
    Measure.VOLTS_AC: "VOLTS AC", Measure.AMPS_DC: "AMPS DC", Measure.HERTZ: "HERTZ", Measure.CELSIUS: "DEGREES",
    Measure.LOOK: "LOOK", Measure.ASK: "QUESTION",
}  # fmt: skip
POWER_WORDS = {Power.OFF: "POWER OFF", Power.ON: "POWER ON", Power.UNKNOWN: "POWER NOT KNOWN"}


@dataclass(frozen=True, slots=True)
class Headline:
    """The two things to read from afar: what to do, and where."""

    what: str
    where: str = ""


def headline(job: Job) -> Headline:
    if job.told:
        return Headline("CAUTION" if job.told in job.tree.hazards else "SET UP")
    if job.closing is not None:
        return Headline("CLOSE IT ?")
    check = job.check
    match job.phase:
        case Phase.ASKING if check is not None:
            return Headline(MODES[check.measure], point_of(job, check))
        case Phase.CONFIRMING if job.pending is not None:
            return Headline(f"{shown_reading(job.pending.reading)} ?")
        case Phase.CONCLUDED if job.verdict is not None:
            return Headline("STOP HERE") if job.handed_over_for else Headline(
                _verdict(job), f"{job.verdict.p * 100:.0f} %")  # fmt: skip
        case Phase.INTAKE:
            return Headline("COUNTER")
        case Phase.REPAIRING:
            return Headline("REPAIR")
        case Phase.VERIFYING:
            return Headline("FUNCTION TEST")
        case Phase.CLOSED:
            return Headline("CLOSED")
    return Headline("GUIDE")


def _verdict(job: Job) -> str:
    given = job.verdict
    assert given is not None, "asked for with a verdict only"
    if given.cause == OTHER:
        return "NOT LISTED"
    if given.cause == NONE:
        return "ALL GOOD"
    if not given.separable and len(given.causes) > 1:
        return "ONE OF THESE"
    return "LIKELY" if job.tree.settles(given.p) else "NOT SETTLED"


def point_of(job: Job, check: Check) -> str:
    """Return the id of the point where the moving probe goes, large: the one fewest checks share. Empty without any."""
    shared = Counter(p for c in job.tree.checks.values() for p in {c.red, c.black} if p)
    probes = [p for p in (check.red, check.black) if p]
    return in_words(min(probes, key=lambda p: shared[p])).upper() if probes else ""


def probes_of(job: Job, check: Check, *, named_in_full: bool) -> str:
    """Return where both leads go: by the points' ids, and in full what those are."""
    names = job.tree.points if named_in_full else {}

    def named(point: str) -> str:
        return f"{point} ({names[point]})" if names.get(point, point) != point else point

    ends = [f"{lead} on {named(p)}" for lead, p in (("red", check.red), ("black", check.black)) if p]
    return ", ".join(ends)


def progress(job: Job) -> str:
    """Return how far it is: answers and, while a cause is looked for, checks left, or how far the proof is."""
    if job.proof:
        return f"{sum(c in job.taken for c in job.proof)} of {counted(len(job.proof), 'reading')} of the proof"
    if job.phase is Phase.VERIFYING:
        return "function test"
    if job.known_good and not job.verdict:
        return f"{len(job.taken)} of {counted(len(job.sweep_checks()), 'reading')}"
    answers = counted(job.answers, "answer")
    if job.handed_over_for:
        return f"{answers}, handed over"
    stage = "repair" if job.phase is Phase.REPAIRING else f"{counted(len(job.left()), 'check')} left"
    return f"{answers}, {stage}"


def last_taken(job: Job) -> Taken | None:
    """Return the newest answer that counts."""
    return next((job.taken[c] for c in reversed(job.order) if c in job.taken), None)


@dataclass(frozen=True, slots=True)
class Last:
    """The last reading as shown: its check, its value with the meter's error, its band and how that compares."""

    check: str
    value: str
    error: str
    band: str
    verdict: str  # usual, not usual, or empty where nothing is usual
    usual: str
    on_edge: bool
    strip: Strip | None


_COMPARED: Mapping[bool | None, str] = {True: "usual", False: "NOT USUAL"}


def last_reading(job: Job) -> Last | None:
    taken = last_taken(job)
    check = job.tree.checks.get(taken.check) if taken else None
    if taken is None or check is None:
        return None
    reading = taken.readings[-1]
    bands, error = check.bands, error_of(reading, taken.meter.spec(check.measure))
    usual = () if check.fact else check.usual  # what happened to a device is told, and is never usual
    boards = good_boards(job, taken.check, reading)
    compared = _COMPARED.get(False if boards else as_normal(taken.weights, taken.band, usual), "")
    strip = None if isinstance(reading, Answered) else strip_of(
        reading, bands, check.usual, taken.band, check.measure.unit, error)  # fmt: skip
    near = not boards and borderline(taken.weights) and len(landed(taken.weights, taken.band)) == 1
    where = in_words(placed_in(job, taken))
    told = boards or (usual_of(check, bands) if usual else "")
    return Last(taken.check, shown_reading(reading), error_shown(reading, error), where, compared, told, near, strip)


@dataclass(frozen=True, slots=True)
class Leading:
    """A cause and its probability."""

    cause: str
    say: str
    p: float


def odds_of(job: Job) -> tuple[Leading, ...]:
    """Return the causes, most likely first; empty where they would mislead."""
    if odds_mislead(job) or job.phase is Phase.CLOSED:
        return ()
    ranked = sorted(beliefs_of(job).items(), key=lambda item: -item[1])
    return tuple(Leading(c, cause_say(job, c), p) for c, p in ranked)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a table of readings; `mark` is what the reader should know of it."""

    name: str
    shown: str
    band: str
    mark: str


def table_of_readings(job: Job) -> tuple[str, tuple[Line, ...], int]:
    """Return the table in hand: its title, its lines, and which line is the present one (-1 for none).

    The points of a sweep, the readings that prove a repair, or every answer so far.
    """
    if job.sweep_checks():
        checks, title = job.sweep_checks(), f"point by point: {in_words(job.sweep)}"
    elif job.proof:
        checks, title = job.proof, "proof of the repair"
    else:
        checks, title = tuple(c for c in job.order if c in job.taken or c in job.passed), "answers so far"
    lines = tuple(_table_line(job, c) for c in checks)
    return title, lines, checks.index(job.chosen) if job.chosen in checks else -1


def _table_line(job: Job, name: str) -> Line:
    check, taken = job.tree.checks.get(name), job.taken.get(name)
    if taken is not None:
        odd = check is not None and not check.fact and like_a_good_unit(job, name) is False
        mark = "old" if name in job.stale else "not usual" if odd else ""
        return Line(in_words(name), shown_reading(taken.readings[-1]),
                    in_words(placed_in(job, taken)), mark)  # fmt: skip
    return Line(in_words(name), job.passed.get(name, ""), "", "no evidence" if name in job.passed else "")
