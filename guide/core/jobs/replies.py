"""Answers to requests that change nothing: why, what if, help."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from guide.core.intent import Command, Do, Pick, Say, Unclear, Utterance
from guide.core.jobs.deciding import NO_ANSWER, NOT_SKIPPED
from guide.core.jobs.evidence import evidence
from guide.core.jobs.job import Job
from guide.core.jobs.phases import Phase
from guide.core.jobs.prompts import odds
from guide.core.jobs.questions import Message, check_expecting, question
from guide.core.jobs.recap import grounds_line, odds_mislead, where_are_we
from guide.core.jobs.weighing import beliefs_of, known_by, next_best, offered
from guide.core.jobs.wording import ask_of, cause_say
from guide.core.odds import planner, ranking
from guide.core.odds.costs import minutes
from guide.core.odds.table import table_of
from guide.core.quantity import Measure
from guide.core.reading import band_weights, likeliest
from guide.core.tree import STOP, Check, in_words
from guide.core.words.understanding import MOST_SAID, NOT_UNDERSTOOD, to_say, understand
from guide.core.words.what_is import what_is

COMMANDS = "repeat, skip, can't reach, go back, scratch that, why, what if, where are we, note, hold, enough, what is"
MOST_HELPED = 20  # answers named to who asks for help


def reply(job: Job, request: Do) -> list[Message]:
    """Return the messages that answer `request`."""
    match request.command:
        case Command.REPEAT:
            standing = question(job)
            return [standing] if standing else []
        case Command.WHY:
            return [_told(job, why(job))]
        case Command.WHERE_ARE_WE:
            return [_told(job, where_are_we(job)), *([] if odds_mislead(job) else [odds(job)])]
        case Command.WHAT_IF:
            return [_told(job, what_if(job, request.text))]
        case Command.WHAT_IS:
            explained = what_is(request.text)
            return [{**_told(job, explained.say), "show": explained.show}]
        case Command.HELP:
            return [_told(job, f"{takes(question(job) or {}, most=MOST_HELPED)} Or: {COMMANDS}.")]
    return [_told(job, "That has no effect here.")]


def unclear_say(unclear: Unclear, standing: Mapping[str, Any]) -> str:
    """Return why it is unclear, and where that does not say it what would answer `standing`."""
    bare = unclear.reason in (NO_ANSWER, NOT_SKIPPED, NOT_UNDERSTOOD)
    return f"{unclear.reason} {takes(standing)}" if bare else unclear.reason


def takes(standing: Mapping[str, Any], *, most: int = MOST_SAID) -> str:
    """Return in one sentence what the question `standing` takes."""
    measure = standing.get("measure")
    return to_say(Measure(measure) if measure else None, standing.get("answers", ()), most=most)


def _told(job: Job, say: str) -> Message:
    return {"type": "told", "job": job.id, "say": say}


def why(job: Job) -> str:
    """Return in one or two sentences why the standing check was chosen, with numbers."""
    check = job.check
    if job.told:
        if job.phase is not Phase.BRIEFING:
            return "The repair needs this first."
        before = f": {ask_of(job, job.chosen)}" if job.chosen else "."
        return f"The next check needs this first{before}"
    if check is None:
        return grounds_line(job)
    author = f"{check.why.rstrip('.')}. " if check.why else ""
    match job.chosen_by:
        case "retake":
            return "The reading was so near an edge that the meter's own error could put it on either side."
        case "stale":
            return "The verdict would rest on this reading, and it was taken too long ago."
        case _ if job.proof:
            return "It was wrong before the repair, or it is the reading that proves this repair."
    beliefs = beliefs_of(job)
    told = ranking.information(table_of(job.tree)[check.id], beliefs)
    offer = planner.Choice(check.id, told, minutes(job.tree, check, job.bench), *_beside(job, check.id))
    lead = "The tree's author leads here. " if job.chosen_by in ("route", "start") else ""
    # What stands beside an author's check is what the planner would ask, and may well tell more.
    said = job.chosen_why or planner.why(job.tree, beliefs, offer, beside="By the odds alone")
    # What is asked stands on the screen and was just said.
    return f"{lead}{author}{said.removeprefix(check.ask.strip()).lstrip('. ')}"


def _beside(job: Job, check: str) -> tuple[str, float, float] | tuple[()]:
    """Return the best of the other checks, for comparison with one the author leads to."""
    best = next_best(job)
    return (best.check, best.bits, best.minutes) if best is not None and best.check != check else ()


def what_if(job: Job, answer: str) -> str:
    """Return where an answer to the standing check, or to the one a verdict offers, would lead; `answer` is a reading,
    a word or a band's name."""
    offer = None if job.check else offered(job)
    check = job.check or (job.tree.checks[offer.check] if offer and not odds_mislead(job) else None)
    if check is None:
        return "There is no check to suppose an answer for."
    asked = "" if job.check else f"{check.ask} "
    band = _supposed_band(job, check, answer)
    if band is None:
        named = ", ".join(in_words(b.name) for b in check.bands)
        return f"{asked}Suppose a reading, or one of these: {named}."
    odds_then = planner.what_if(job.tree, evidence(job), check.id, band, **known_by(job))
    top, shown = likeliest(odds_then), in_words(band)
    led = _led(job, check.led(band))
    return f"{asked}If {shown}: {cause_say(job, top)} would lead with {odds_then[top] * 100:.0f} percent.{led}"


def _supposed_band(job: Job, check: Check, answer: str) -> str | None:
    named = {in_words(b.name).lower(): b.name for b in check.bands}
    if (band := named.get(in_words(answer.strip().lower()))) is not None:
        return band
    match understand(Utterance(answer), check_expecting(check, job.meter)):
        case Say(reading):
            return likeliest(band_weights(reading, check.bands, job.meter.spec(check.measure)))
        case Pick(picked) if picked in named.values():
            return picked
    return None


def _led(job: Job, then: str) -> str:
    """Return where the author goes, in words; empty where the odds decide."""
    if then == STOP:
        return " The author's order ends there."
    if then in job.tree.checks:
        return f" The author then asks: {ask_of(job, then)}"
    return ""
