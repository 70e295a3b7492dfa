"""The loop: hear, decide, append, evolve, speak. Stamps `seq` and `at`; alone knows the core and the edges."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from enum import Enum
from pathlib import Path

from guide.core.errors import BadInput, StoreError
from guide.core.intent import Do, Expecting, Intent, Pick, Unclear, Utterance
from guide.core.jobs import events as ev, shop
from guide.core.jobs.adopting import homeless, placed_anew
from guide.core.jobs.deciding import decide
from guide.core.jobs.folding import evolve, fold
from guide.core.jobs.job import Job, opened
from guide.core.jobs.onward import advance
from guide.core.jobs.phases import Phase, next_phase
from guide.core.jobs.prompts import messages
from guide.core.jobs.questions import Message, expecting, question
from guide.core.jobs.recap import recap
from guide.core.jobs.refusals import refused
from guide.core.jobs.replies import reply, unclear_say
from guide.core.meter import HANDHELD, MeterProfile
from guide.core.quantity import Measure
from guide.core.tree import Tree
from guide.core.words.understanding import understand
from guide.edge.collector import set_apart, uncollected
from guide.edge.jobs.store import Store
from guide.edge.trees import treefile

# A line longer than this is no answer; a note of a page still fits.
LONGEST_LINE = 4000
# A reading from before the night is taken again where a verdict would rest on it (common practice, no source).
STALE_AFTER = timedelta(hours=12)


class Intake(Enum):
    """Whether a new job starts at the counter or goes straight to the tree."""

    FIRST = "first"
    LATER = "later"


Clock = Callable[[], str]


def now() -> str:
    """Return the time as it is kept: ISO 8601, UTC, to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def home_folder(environment: Mapping[str, str] | None = None) -> Path:
    """Return where jobs live: GUIDE_HOME, else the platform's data folder."""
    environment = os.environ if environment is None else environment
    if environment.get("GUIDE_HOME"):
        return Path(environment["GUIDE_HOME"]).expanduser()
    from platformdirs import user_data_path

    return user_data_path("guide", appauthor=False)


@dataclass(slots=True)
class Session:
    """One open job: the only mutable thing, a thin shell around the frozen `Job`."""

    store: Store
    job: Job
    clock: Clock
    parting: str = ""  # what was said as the job was closed or put aside

    def opening(self) -> list[Message]:
        """Return the question that stands now."""
        standing = question(self.job)
        return [standing] if standing else []

    def hear(self, utterance: Utterance) -> list[Message]:
        """Return what to say to `utterance`; what it brought about is on disk by then."""
        utterance = replace(utterance, text=written_whole(utterance.text))
        if len(utterance.text) > LONGEST_LINE:
            return [self._unclear(Unclear(f"That line is too long ({len(utterance.text)} characters).", ""))]
        understood = understand(utterance, expecting(self.job))
        if self.job.phase is Phase.INTAKE and not isinstance(understood, Do):
            understood = Pick("", utterance.text)  # at the counter any words are an answer
        if isinstance(understood, Unclear):
            # What must not be diagnosed may turn up at any question, in words that answer none.
            why = refused(utterance.text)
            return [self._unclear(Unclear(why, understood.heard) if why else understood)]
        return self.try_act(understood)

    def try_act(self, intent: Intent) -> list[Message]:
        """Return what to say to `intent`; where the disk will not take it, that is said and the question stands."""
        try:
            return self.act(intent)
        except StoreError as error:
            return [{"type": "error", "job": self.job.id, "message": str(error)}, *self.opening()]

    def act(self, intent: Intent) -> list[Message]:
        """Return what to say to an intent that needs no understanding (a meter's reading, a key)."""
        decided = decide(self.job, intent)
        if isinstance(decided, Unclear):
            return [self._unclear(decided)]
        if not decided:
            return reply(self.job, intent) if isinstance(intent, Do) else []
        return self.apply(decided)

    def apply(self, decided: tuple[ev.Event, ...]) -> list[Message]:
        """Append `decided`, and only then evolve and speak."""
        before, at = self.job, self.clock()
        after = fold(before, decided)
        recorded = [ev.Recorded(before.seq + i, at, event) for i, event in enumerate(decided, 1)]
        with self.store.at_once():
            self.store.append(after.id, recorded, answers=after.answers)
            if any(isinstance(e, ev.Closed | ev.OutcomeSet) for e in decided):
                teach(self.store, after)
        self.job = after
        told = messages(before, decided, after)
        if extra := self._no_photos(decided):
            told = [*told[:-1], extra, *told[-1:]]  # before the question that stands
        self.parting = next((m["say"] for m in told if m["type"] in ("held", "closed")), "")
        return told

    def _no_photos(self, decided: tuple[ev.Event, ...]) -> Message | None:
        """Say at once which photo files are not there: on the day of the report nobody knows what was meant."""
        said = next((e.facts["photos"] for e in decided if isinstance(e, ev.FactsNoted) and e.facts.get("photos")), "")
        if not said:
            return None
        from guide.edge.reporting.photos import missing

        names = ", ".join(missing(said, Path.cwd()))
        say = f"There is no file {names}. Say go back to name it again."
        return {"type": "told", "job": self.job.id, "say": say} if names else None

    def _unclear(self, unclear: Unclear) -> Message:
        standing = question(self.job) or {}
        message = {"type": "unclear", "job": self.job.id, "say": unclear_say(unclear, standing), "heard": unclear.heard,
                   "answers": standing.get("answers", [])}  # fmt: skip
        if standing.get("unit"):
            message["unit"] = standing["unit"]
        return message


def teach(store: Store, job: Job) -> None:
    """Keep what `job` teaches once it is closed, in place of what it taught before."""
    events = (r.event for r in store.events(job.id))
    learned = shop.lesson(job.tree, events, meter=job.meter)
    model = job.facts.get("device") or job.device
    store.keep_lesson(job.id, job.tree.id, model, learned.to_json() if learned else None)


def written_whole(text: str) -> str:
    """Return `text` with what cannot be written down replaced: bytes of a command line or a pipe that are no UTF-8."""
    return text if text.isascii() else text.encode("utf-8", "replace").decode("utf-8")


def begin(
    store: Store,
    tree: Tree,
    text: str,
    *,
    device: str = "",
    symptom: str = "",
    meter: MeterProfile = HANDHELD,
    clock: Clock = now,
    intake: Intake = Intake.LATER,
    sweep: str = "",
) -> tuple[Session, list[Message]]:
    """Open a new job on `tree` and return it with the first things to say. A job is on disk with its first events.

    Raises BadInput for what is never diagnosed here, StoreError.
    """
    if (why := refused(f"{device}, {symptom}")) is not None:
        raise BadInput(why)
    sha256, device = digest(text), written_whole(device)
    symptom, named = written_whole(symptom) or tree.symptom, device or tree.device
    session = Session(store, opened(tree, meter=meter), clock)
    more: tuple[ev.Event, ...] = (ev.MeterUsed(meter), *_taught(store, tree, device, meter))
    if intake is Intake.FIRST:
        facts = (ev.FactsNoted({"device": device}),) if device else ()
        more = (*more, ev.IntakeBegun(), *facts)
    if sweep:
        more = (*more, ev.SweepBegun(sweep))
    with store.at_once():
        job_id = store.begin(tree.id, sha256, text, at=clock(), device=named, symptom=symptom)
        opening = (ev.Opened(job_id, tree.id, sha256, symptom, named, meter.name), *more)
        return session, session.apply((*opening, *advance(fold(session.job, opening))))


def _taught(store: Store, tree: Tree, device: str, meter: MeterProfile) -> tuple[ev.ShopKnown, ...]:
    """Return what closed jobs on this tree have taught, those of the same device model for reference readings."""
    model = (device or tree.device).casefold()
    kept = [(of, shop.lesson_from(job, body)) for job, of, body in store.lessons(tree.id)]
    known = shop.known(tree, [one for _, one in kept], of_model=[one for of, one in kept if of == model], meter=meter)
    return (known,) if known else ()


def resume(
    store: Store,
    job_id: str,
    *,
    meter: MeterProfile = HANDHELD,
    clock: Clock = now,
    newer: tuple[Tree, str] | None = None,
    intake: Intake = Intake.LATER,
) -> tuple[Session, list[Message]]:
    """Take up `job_id` where it stands. `newer` is the tree's present version and text, if it is to be adopted.

    Raises UnknownJob, StoreError, TreeError.
    """
    job = load(store, job_id, meter=meter)
    if job.phase is Phase.CLOSED:
        raise BadInput(f"job {job_id} is closed; see `guide report {job_id}`, or begin a new one")
    session = Session(store, job, clock)
    if newer is not None:
        adopt(session, *newer)
    aside = session.job.held
    moved = placed_anew(session.job)
    other = () if session.job.metered and session.job.meter == meter else (ev.MeterUsed(meter),)
    first: tuple[ev.Event, ...] = (*moved, *other, ev.Resumed(_stale(store, session.job, clock())))
    after = fold(session.job, first)
    if intake is Intake.FIRST:
        if next_phase(after.phase, ev.IntakeBegun.kind) is None:
            raise BadInput(f"job {job_id} has its verdict; the intake comes before that")
        first = (*first, ev.IntakeBegun())
        after = evolve(after, first[-1])
    told = session.apply((*first, *advance(after)))
    return session, [{"type": "told", "job": job_id, "say": recap(session.job, aside=aside)}, *told]


def _stale(store: Store, job: Job, at: str) -> tuple[str, ...]:
    """Return the answered checks whose reading is older than STALE_AFTER."""
    limit = datetime.fromisoformat(at) - STALE_AFTER
    at_of = store.times(job.id, (taken.seq for taken in job.taken.values()))
    return tuple(c for c, taken in job.taken.items() if datetime.fromisoformat(at_of[taken.seq]) < limit)


def load(store: Store, job_id: str, *, meter: MeterProfile = HANDHELD) -> Job:
    """Return a job as its events tell it, on the tree text it is pinned to."""
    tree_id, sha256, text = store.tree_of(job_id)
    tree = treefile.read(text, f"{tree_id}@{sha256[:8]}", tree_id)
    with uncollected():
        return _folded(store, job_id, opened(tree, meter=meter))


def _folded(store: Store, job_id: str, job: Job) -> Job:
    events = [r.event for r in store.events(job_id)]
    if not events:
        raise StoreError(f"job {job_id} holds no event: it was never begun; leave it and begin again")
    return fold(job, events)


def adopt(session: Session, tree: Tree, text: str) -> None:
    """Move the job to a newer version of its tree. Raises BadInput where what was done would have no home."""
    old = session.job
    if lost := homeless(old, tree):
        raise BadInput(f"the new {tree.id} has no place for {', '.join(lost)}; go on with the old one")
    _, old_sha, _ = session.store.tree_of(old.id)
    new_sha = digest(text)
    if new_sha == old_sha:
        return
    with session.store.at_once():
        session.store.keep_tree(tree.id, new_sha, text)
        session.apply((ev.TreeAdopted(old_sha, new_sha),))
    session.job = load(session.store, old.id, meter=old.meter)


def digest(text: str) -> str:
    """Return the SHA-256 of a tree's text, in hex."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


@contextmanager
def holding(store: Store, session: Session) -> Iterator[Session]:
    """Keep the session's job to this process."""
    with store.hold(session.job.id):
        yield session


def done(told: Iterable[Message]) -> bool:
    """Tell whether the session ends here: put aside or closed."""
    return any(m["type"] in ("held", "closed") for m in told)


def ready_for_words() -> None:
    """Build what words are understood with while the technician reads the first prompt, not at their first answer."""
    understand(Utterance("zero volts"), Expecting(Measure.VOLTS_DC))  # it goes through all there is
    set_apart()
