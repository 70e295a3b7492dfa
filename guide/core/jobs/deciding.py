"""What happens next: an intent becomes events, and the job moves on to the next thing to say.

`decide` never raises on speech. Every answer is followed by `advance`, so that the events of one answer end where
the technician is waited for.
"""

from __future__ import annotations

import re
from itertools import dropwhile

from guide.core.intent import Command, Do, Intent, Pick, Say, Unclear
from guide.core.jobs import events as ev
from guide.core.jobs.adopting import placed_anew
from guide.core.jobs.folding import fold
from guide.core.jobs.intake import answer_of, last_answered, next_question
from guide.core.jobs.job import Job
from guide.core.jobs.onward import STEP_BACK, advance
from guide.core.jobs.phases import Phase, next_phase
from guide.core.jobs.refusals import refused
from guide.core.jobs.repairing import Decision, closing, repairing, something_else, taken_back, verifying
from guide.core.jobs.taking import Trust, counted, taking
from guide.core.jobs.weighing import offered, verdict_so_far
from guide.core.jobs.wording import is_a_reference
from guide.core.reading import Answered
from guide.core.tree import AS_FOUND, CANT_SEE, NONE, Check

_UNTIL = re.compile(r"\s(?:until|till|til)\s", re.IGNORECASE)
# What would be an answer is said after these.
NO_ANSWER = "That is no answer here."
NOT_SKIPPED = "This step cannot be skipped."
_NONE_TO_TAKE_BACK = "There is no answer to take back."
_PROVES = "This proves the repair. Take it, or say override to go on without."
_NEEDED = "This must be known before anything is touched. Answer it, or say hold and find out."


def decide(job: Job, intent: Intent) -> Decision:
    """Return the events that `intent` brings about, up to the next question; empty for a mere request (`why`)."""
    if job.phase is Phase.CLOSED:
        return Unclear("This job is closed.", _words(intent))
    first = _first(job, intent)
    if isinstance(first, Unclear) or not first:
        return first
    after = fold(job, first)
    return (*first, *advance(after))


def _words(intent: Intent) -> str:
    match intent:
        case Do(command, text):
            return f"{command.value} {text}".strip()
        case Say(_, words) | Pick(_, words):
            return words


def _first(job: Job, intent: Intent) -> Decision:
    match intent:
        case Do(Command.NOTE, text):
            return (ev.NoteAdded(text),) if text else Unclear("Say note, and then what to note.", "note")
        case Do(Command.HOLD, text):
            return (_held(text),)
        case _ if job.closing is not None:
            return closing(job.closing, intent) or _request(intent)
        case Do(Command.GO_BACK | Command.SCRATCH_THAT) if job.phase is Phase.REPAIRING and job.repair is not None:
            return repairing(job, intent) or _request(intent)
    if job.phase is Phase.INTAKE:
        return _at_the_counter(job, intent)
    match intent:
        case Do(Command.GO_BACK):
            return _go_back(job)
        case Do(Command.SCRATCH_THAT):
            return _scratch(job)
    if job.told:
        return _told(job, intent)
    match job.phase:
        case Phase.ASKING:
            return _asking(job, intent)
        case Phase.CONFIRMING:
            return _confirming(job, intent)
        case Phase.CONCLUDED:
            return _concluded(job, intent)
        case Phase.REPAIRING:
            return repairing(job, intent) or _request(intent)
        case Phase.VERIFYING:
            return verifying(job, intent) or _request(intent)
    return _request(intent)


def _at_the_counter(job: Job, intent: Intent) -> Decision:
    question = next_question(job.facts)
    match intent:
        case Do(Command.GO_BACK | Command.SCRATCH_THAT as command):
            return _back_at_the_counter(job, command)
        case Do(Command.ENOUGH):
            return (ev.IntakeEnded(),)
        case Do(Command.SKIP | Command.NO | Command.CANT_REACH):
            said = ""
        case Pick(_, words) | Say(_, words):
            said = answer_of(question.id, words.strip()) if question else ""
        case _:
            return _request(intent)
    if (why := refused(said)) is not None:
        return Unclear(why, said)
    noted = ev.FactsNoted({question.id: said}) if question else None
    if noted is None:
        return (ev.IntakeEnded(),)
    last = next_question({**job.facts, **noted.facts}) is None
    return (noted, ev.IntakeEnded()) if last else (noted,)


def _back_at_the_counter(job: Job, command: Command) -> Decision:
    """Return the taking back of the counter's last answer, skipped or not."""
    answered = last_answered(job.facts)
    if answered is None or next_phase(job.phase, ev.IntakeBegun.kind) is None:
        return Unclear(_NONE_TO_TAKE_BACK, command.value)
    return (ev.IntakeBegun(answered),)


def _held(text: str) -> ev.Held:
    """Split `for the customer until Friday` into whom or what the job waits for, and until when."""
    before, *after = _UNTIL.split(f" {text} ", maxsplit=1)
    until, _, behind = after[0].partition(" for ") if after else ("", "", "")  # until Friday for the customer
    said = dropwhile(lambda word: word.lower() in ("for", "the", "a", "on"), f"{before} {behind}".split())
    return ev.Held(" ".join(said).rstrip(",;:"), until.strip(" ,;:"))


def _request(intent: Intent) -> Decision:
    match intent:
        case Do(Command.SOMETHING_ELSE):
            return Unclear("That closes a job. Say enough first; to keep words with the job, say note.", _words(intent))
        case Do(Command.YES | Command.NO | Command.ENOUGH | Command.TAKE_IT | Command.OVERRIDE):
            return Unclear(NO_ANSWER, _words(intent))
        case Do(Command.SKIP | Command.CANT_REACH):
            return Unclear(NOT_SKIPPED, _words(intent))
        case Do():
            return ()
    return Unclear(NO_ANSWER, _words(intent))


def _go_back(job: Job) -> Decision:
    if job.phase is Phase.CONFIRMING:
        return (ev.ReadingRefused(job.chosen),)
    if (slip := job.slip) is not None:
        back = taken_back(slip)
        # A tree adopted since the step may have other bands for the readings that count again.
        return (*back, *placed_anew(fold(job, back)))
    if (job.phase is Phase.VERIFYING and job.proved is None) or (not job.order and job.epoch):
        return Unclear(_NONE_TO_TAKE_BACK, Command.GO_BACK.value)
    if not job.order:
        return _back_at_the_counter(job, Command.GO_BACK)
    return (ev.ReadingWithdrawn(job.order[-1]),)


def _scratch(job: Job) -> Decision:
    return (ev.ReadingRefused(job.chosen),) if job.phase is Phase.CONFIRMING else _go_back(job)


def _told(job: Job, intent: Intent) -> Decision:
    """A caution or step stands: only its own word clears it."""
    match intent:
        case Pick(answer, words) if answer == until_of(job, job.told):
            if job.told in job.tree.hazards:
                return (ev.HazardCleared(job.told, words),)
            return (ev.StepMade(AS_FOUND if job.told == STEP_BACK else job.told, words),)
        case Do(Command.SKIP | Command.CANT_REACH) if job.phase is not Phase.BRIEFING or not job.chosen:
            way = f"Say {until_of(job, job.told)} when it is done, or go back to choose another repair."
            return Unclear(f"A caution is not skipped. {way}", _words(intent))
        case Do(Command.SKIP | Command.CANT_REACH | Command.OVERRIDE as command):
            # The caution is never passed over: what it stands before is, and the caution comes again before the next.
            return _passed_over(job, job.chosen, command)
        case Do(Command.ENOUGH) if job.phase is Phase.BRIEFING:
            return _enough(job)
    return _request(intent)


def _passed_over(job: Job, check: str, command: Command) -> Decision:
    """Return what comes of leaving out `check`; a reading that proves a repair is overridden aloud or taken."""
    if command is Command.OVERRIDE and job.proof:
        return (ev.ProofOverridden(command.value),)
    if command is Command.OVERRIDE:
        return Unclear("There is no proof to override.", command.value)
    return Unclear(_PROVES, command.value) if job.proof else _unseen(job, check, command.value)


def _unseen(job: Job, check: str, words: str) -> Decision:
    """Return what comes of a check that nothing is known of; some must be answered before anything is touched."""
    if job.tree.checks[check].must_be_known:
        return Unclear(_NEEDED, words)
    return (ev.CheckPassed(check, words),)


def _enough(job: Job) -> Decision:
    if job.check is not None and job.check.must_be_known and not job.proof:
        return Unclear(_NEEDED, Command.ENOUGH.value)  # a verdict would lead on to repairs
    return Unclear(_PROVES, Command.ENOUGH.value) if job.proof else (verdict_so_far(job),)


def until_of(job: Job, told: str) -> str:
    """Return the word that clears the caution or step `told`."""
    tree = job.tree
    item = tree.hazards.get(told) or tree.setups.get(told) or tree.access.get(told)
    return item.until if item else "ready"


# --- a check stands -------------------------------------------------------------------------------------------


def _asking(job: Job, intent: Intent) -> Decision:
    check = job.check
    assert check is not None, "the asking phase has a check"
    match intent:
        case Say(reading, words, source, agreed):
            return counted(
                job, check, ev.ReadingHeard(check.id, reading, words, source.value), Trust.of(source, agreed)
            )
        case Pick():
            return _picked(job, check, intent)
        case Do(Command.SKIP | Command.CANT_REACH | Command.OVERRIDE as command):
            return _passed_over(job, check.id, command)
        case Do(Command.ENOUGH):
            return _enough(job)
    return _request(intent)


def _picked(job: Job, check: Check, pick: Pick) -> Decision:
    if pick.answer == CANT_SEE:
        if job.proof:
            return Unclear(_PROVES, pick.words)
        return _unseen(job, check.id, CANT_SEE)
    heard = ev.ReadingHeard(check.id, Answered(pick.answer), pick.words, pick.source.value)
    return counted(job, check, heard, Trust.of(pick.source, pick.agreed))


def _confirming(job: Job, intent: Intent) -> Decision:
    check, pending = job.check, job.pending
    assert check is not None, "the confirming phase has a check"
    assert pending is not None, "the confirming phase has a pending reading"
    match intent:
        case Do(Command.YES):
            return (taking(job, check, pending),)
        case Do(Command.NO):
            return (ev.ReadingRefused(check.id),)
        case Say() | Pick():
            return _asking(job, intent)
        case Do(Command.SKIP | Command.CANT_REACH | Command.OVERRIDE):
            return _asking(job, intent)
    return _request(intent)


# --- a verdict stands -------------------------------------------------------------------------------------------


def _concluded(job: Job, intent: Intent) -> Decision:
    match intent:
        case Do(Command.TAKE_IT):
            offer = offered(job)
            if offer is None:
                return Unclear("No check is left that would tell more. Say enough.", Command.TAKE_IT.value)
            return (ev.VerdictSetAside(offer.check),)
        case Do(Command.ENOUGH | Command.YES) if is_a_reference(job):
            return (ev.Closed(NONE),)
        case Do(Command.ENOUGH | Command.YES):
            return (ev.VerdictAccepted(),)
        case Do(Command.SOMETHING_ELSE):
            return something_else(intent)
    return _request(intent)
