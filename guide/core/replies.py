"""Answers to requests that change nothing: why, where are we, what if, help, and the words on coming back."""

from __future__ import annotations

from guide.core import planner
from guide.core.costs import minutes
from guide.core.intent import Command, Do
from guide.core.job import Job, evidence
from guide.core.phases import Phase
from guide.core.prompts import odds
from guide.core.questions import Message, question
from guide.core.reading import likeliest
from guide.core.table import table_of
from guide.core.weighing import beliefs_of
from guide.core.what_is import what_is
from guide.core.wording import cause_say, shown_reading

HELP = (
    "Give the reading, or say: repeat, skip, can't reach, go back, scratch that, why, what if, where are we, "
    "note, hold, enough, what is."
)


def reply(job: Job, request: Do) -> list[Message]:
    """Return the messages that answer `request`."""
    match request.command:
        case Command.REPEAT:
            standing = question(job)
            return [standing] if standing else []
        case Command.WHY:
            return [_told(job, why(job))]
        case Command.WHERE_ARE_WE:
            return [_told(job, where_are_we(job)), odds(job)]
        case Command.WHAT_IF:
            return [_told(job, what_if(job, request.text))]
        case Command.WHAT_IS:
            explained = what_is(request.text)
            return [{**_told(job, explained.say), "show": explained.show}]
        case Command.HELP:
            return [_told(job, HELP)]
    return [_told(job, "That has no effect here.")]


def _told(job: Job, say: str) -> Message:
    return {"type": "told", "job": job.id, "say": say}


def why(job: Job) -> str:
    """Return in one or two sentences why the standing check was chosen, with numbers."""
    check = job.check
    if job.told:
        return "The next check needs this first."
    if check is None:
        return "The verdict rests on: " + readings_line(job)
    author = f" {check.why.rstrip('.')}." if check.why else ""
    match job.chosen_by:
        case "retake":
            return "The reading was so near an edge that the meter's own error could put it on either side."
        case "stale":
            return "The verdict would rest on this reading, and it was taken too long ago."
        case "proof":
            return "It was wrong before the repair, or it is the reading that proves this repair."
    beliefs = beliefs_of(job)
    told = planner.information(table_of(job.tree)[check.id], beliefs)
    offer = planner.Choice(check.id, told, minutes(job.tree, check, job.bench))
    lead = "The tree's author leads here. " if job.chosen_by in ("route", "start") else ""
    return f"{lead}{job.chosen_why or planner.why(job.tree, beliefs, offer)}{author}"


def readings_line(job: Job) -> str:
    """Return every answer that counts, with its band."""
    said = [f"{job.taken[c].check} {shown_reading(job.taken[c].readings[-1])} ({job.taken[c].band})"
            for c in job.order if c in job.taken]  # fmt: skip
    return "; ".join(said) + "." if said else "no reading yet."


def where_are_we(job: Job) -> str:
    """Return the state of the job in a few sentences."""
    ranked = sorted(beliefs_of(job).items(), key=lambda item: -item[1])[:3]
    led = ", ".join(f"{cause_say(job, c)} {p * 100:.0f} percent" for c, p in ranked)
    taken, passed = len(job.taken), len(job.passed)
    skipped = f", {passed} passed over" if passed else ""
    return (
        f"Job {job.id}, {job.tree.device}, {job.tree.symptom}. {taken} answers taken{skipped},"
        f" {len(job.left())} checks left. Power {job.power.value}. Leading: {led}. Readings: {readings_line(job)}"
    )


def recap(job: Job) -> str:
    """Return two sentences for a technician who comes back to the job."""
    ranked = sorted(beliefs_of(job).items(), key=lambda item: -item[1])
    tail = " Cautions first." if job.phase in (Phase.BRIEFING, Phase.ASKING) else ""
    last = readings_line(job)
    if job.stale:
        tail = f" {len(job.stale)} of them are old and are taken again where it matters.{tail}"
    lead = f" Leading: {cause_say(job, ranked[0][0])}, {ranked[0][1] * 100:.0f} percent." if job.taken else ""
    head = f"Back on job {job.id}, {job.tree.device}, {job.tree.symptom}. {len(job.taken)} answers so far: {last}"
    return f"{head}{lead}{tail}"


def what_if(job: Job, answer: str) -> str:
    """Return where a band of the standing check would lead; `answer` is a band's name or OL."""
    check = job.check
    if check is None:
        return "There is no check to suppose an answer for."
    wanted = answer.strip().lower()
    named = {b.name.lower(): b.name for b in check.bands}
    over = next((b.name for b in check.bands if b.over_range), None)
    band = named.get(wanted) or (over if wanted in ("ol", "o l", "open") else None)
    if band is None:
        return f"Suppose one of these: {', '.join(named)}."
    supposed = planner.what_if(job.tree, evidence(job), check.id, band)
    top = likeliest(supposed)
    then = check.then.get(band)
    led = f" The author then goes to {then}." if then else ""
    return f"If {band}: {cause_say(job, top)} would lead with {supposed[top] * 100:.0f} percent.{led}"
