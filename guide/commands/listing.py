"""What is there: jobs and their outcomes, trees and their findings."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path

from guide import app
from guide.commands.common import document, library, profile, store
from guide.core.errors import BadInput
from guide.core.jobs import events as ev
from guide.core.jobs.wording import counted, in_a_list, in_brief, what_it_was
from guide.core.lint import endings_table
from guide.core.symptoms import Head, match
from guide.core.tree import OTHER, in_words
from guide.edge.jobs.store import EVERY, Store, Summary
from guide.edge.terminal import Lines
from guide.edge.trees.linting import linted, unknown

NO_FAMILY = "other trees"
MOST_ENDINGS_TOLD = 100
MOST_JOBS_TOLD = 200


def jobs(words: Sequence[str] = (), *, as_json: bool) -> int:
    """List jobs, newest first: those that hold every one of `words`, or the newest and all that wait."""
    with store() as kept:
        found = kept.matching(words) if words else kept.jobs(limit=EVERY) if as_json else _at_hand(kept)
        unlisted = 0 if words or as_json else kept.count() - len(found)
    if as_json:
        return document([asdict(j) for j in found])
    lines = Lines()
    for job in found:
        wait = f"  waits for {job.waits_for}" if job.waits_for else ""
        until = f" until {job.until}" if job.until else ""
        # A Friday is one of many: which, tells the day it was said.
        since = f", put aside {job.touched[:10]}" if job.state == "aside" and (wait or until) else ""
        answers = f"{counted(job.answers, 'answer'):>11}"
        lines.tell(f"{job.id:>5}  {job.state:<6}  {answers}  {in_a_list(job.device, job.symptom)}{wait}{until}{since}"
                   f"{f'  was {_was(job.outcome)}' if job.outcome else ''}")  # fmt: skip
    if unlisted:
        lines.tell(f"and {unlisted} closed before these; guide jobs WORDS finds any of them")
    if words and not found:
        lines.tell(f"No job holds {' '.join(words)[:60]!r}.")
    elif not found:
        lines.tell('No job yet. Begin one with: guide begin "what is wrong"')
    return 0


def _at_hand(kept: Store) -> list[Summary]:
    """The newest jobs, and whatever waits, however old: a job must not fall out of sight while it is open."""
    newest = kept.jobs(limit=MOST_JOBS_TOLD)
    waiting = kept.jobs("open", "aside", limit=EVERY)
    return sorted({job.id: job for job in (*newest, *waiting)}.values(), key=lambda job: -int(job.id))


def _was(outcome: str) -> str:
    cause, colon, words = outcome.partition(": ")  # a cause the tree does not have comes with the technician's words
    return f"{in_brief(cause)}{colon}{words}"


def outcome(job: str, cause: str, note: str) -> int:
    """Record what a job really was."""
    with store() as kept, kept.hold(job):
        session = app.Session(kept, app.load(kept, job, meter=profile()), app.now)
        known = session.job.tree.causes
        other, _, what = cause.partition(":")
        if other.strip().lower() in ("something else", OTHER):
            cause, note = OTHER, " ".join(part for part in (what.strip(), note) if part)
        # As jobs and reports name it, too: cable broken, nothing wrong.
        cause = {in_brief(c).lower(): c for c in known}.get(in_words(cause).strip().lower(), cause)
        if cause not in known:
            listed = ", ".join(known)
            raise BadInput(f"{session.job.tree.id} has no cause {cause!r}; it knows: {listed}, something else: …")
        session.apply((ev.OutcomeSet(cause, app.written_whole(note)),))
    what = what_it_was(session.job, cause, note)
    still = "" if session.job.closed else f" It is still open: guide resume {job}"
    Lines().tell(f"Job {job} was {in_brief(cause)}: {what}.{still}")
    return 0


def list_trees(words: str, extra: Sequence[Path], *, as_json: bool) -> int:
    """List trees by family, or the best match first where words are given."""
    trees = library(extra)
    headers = {h.id: h for h in trees.heads()}
    ids = [m.tree for m in match(words, headers.values())] if words.strip() else sorted(headers)
    if as_json:
        return document(
            [
                {"id": i, "family": headers[i].family, "device": headers[i].device, "symptom": headers[i].symptom}
                for i in ids
            ]
        )
    lines = Lines()
    for line in _index([headers[i] for i in ids]) if not words.strip() else (_entry(headers[i]) for i in ids):
        lines.tell(line)
    if not ids:
        lines.tell(f"No tree fits {words[:60]!r}.")
    return 0


def _index(heads: Sequence[Head]) -> Iterator[str]:
    """Trees under the name of their family, families and trees in order of name; those without one come last."""
    families = sorted({h.family for h in heads}, key=lambda name: (not name, name.lower()))
    for family in families:
        yield family or NO_FAMILY
        yield from (f"  {_entry(h)}" for h in heads if h.family == family)


def _entry(head: Head) -> str:
    return f"{head.id:<44} {' '.join(head.symptom.split())}"


def lint(paths: Sequence[Path], extra: Sequence[Path], *, as_json: bool) -> int:
    """Print findings, and all endings of a tree with a weak one; exit code 1 where there are any."""
    known = library(extra)
    told = linted(paths, known)
    found = told.findings
    if as_json:
        document([{"rule": f.rule, "file": f.where.file, "line": f.where.line, "message": f.message} for f in found])
    else:
        lines = Lines()
        for one in found:
            lines.tell(str(one))
        for tree in told.weak:
            rows = endings_table(tree).splitlines()
            more = len(rows) - 1 - MOST_ENDINGS_TOLD
            lines.tell(f"\nEndings of {tree.id}, which asks {tree.decide_at:g}:")
            for row in rows[: 1 + MOST_ENDINGS_TOLD]:
                lines.tell(f"  {row}".rstrip())
            if more > 0:
                lines.tell(f"  and {more} more")
        if not found:
            lines.tell("No findings.")
        for path in unknown(paths, known):
            lines.tell(f"{path} is not among the trees guide knows; {known.where_to(path)}.")
    return 1 if found else 0
