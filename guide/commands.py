"""What each command does; every import that costs time happens here, when its command runs."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from enum import StrEnum
from pathlib import Path
from typing import Any

from guide import app
from guide.core.errors import BadInput
from guide.core.intent import Utterance
from guide.core.questions import Message
from guide.core.reading import Source
from guide.edge.store import Store
from guide.edge.terminal import Lines
from guide.edge.trees.library import Library


class Mode(StrEnum):
    """How the technician and the tool talk."""

    TYPED = "typed"
    VOICE = "voice"
    JSONL = "jsonl"


def mode(jsonl: bool, voice: bool, typed: bool) -> Mode:
    """Return the mode the flags ask for; raises BadInput where they contradict each other."""
    chosen = [m for m, on in ((Mode.JSONL, jsonl), (Mode.VOICE, voice), (Mode.TYPED, typed)) if on]
    if len(chosen) > 1:
        raise BadInput(f"--{chosen[0]} and --{chosen[1]} exclude each other; give one")
    return chosen[0] if chosen else Mode.TYPED


def library(extra: Sequence[Path]) -> Library:
    """Return the trees in the package, in GUIDE_HOME/trees and in `extra`."""
    return Library(app.home_folder(), tuple(extra))


@contextmanager
def store(home: Path | None = None) -> Iterator[Store]:
    """Open the store for one command."""
    opened = Store(home or app.home_folder())
    try:
        yield opened
    finally:
        opened.close()


# --- the bench -----------------------------------------------------------------------------------------------


def bench() -> int:
    """Offer what is open, or begin a job from the symptom typed."""
    lines = Lines()
    with store() as kept:
        waiting = kept.jobs("open", "aside", limit=9)
    for job in waiting:
        wait = f", waits for {job.waits_for}" if job.waits_for else ""
        lines.tell(f"  {job.id}  {job.device}: {job.symptom} ({job.answers} answers{wait})")
    lines.tell(
        "Type a job's number to go on with it, or a symptom to begin." if waiting else "Type the symptom to begin."
    )
    for words in lines.typed():
        if words == "repeat":
            continue
        if words.strip() in {job.id for job in waiting}:
            return resume(words.strip(), Mode.TYPED, [], adopt=False)
        return begin(words, None, "", Mode.TYPED, [])
    return 0


def begin(words: str, tree_id: str | None, device: str, how: Mode, extra: Sequence[Path]) -> int:
    """Begin a job on the tree named or matched."""
    trees = library(extra)
    chosen = tree_id or _matched(trees, words, how)
    if chosen is None:
        return 2
    text, _ = trees.text(chosen)
    tree = trees.tree(chosen)
    with store() as kept:
        session, first = app.begin(kept, tree, text, device=device, symptom=words)
        with app.holding(kept, session):
            return _talk(session, first, how)


def _matched(trees: Library, words: str, how: Mode) -> str | None:
    """Return the tree for `words`; a tie is asked, where somebody can answer."""
    from guide.core.symptoms import match

    if not words.strip():
        raise BadInput(
            'say what is wrong, for example: guide begin "no power"; or name a tree with --tree (see `guide trees`)'
        )
    found = match(words, trees.heads())
    if not found:
        raise BadInput(f"no tree fits {words[:60]!r}; see `guide trees`, or name one with --tree")
    tied = [m for m in found if m.score >= found[0].score - 1e-9]
    if len(tied) == 1:
        return tied[0].tree
    if how is not Mode.TYPED:
        raise BadInput(f"more than one tree fits: {', '.join(m.tree for m in tied)}; name one with --tree")
    lines = Lines()
    lines.tell("More than one tree fits. Which?")
    for number, one in enumerate(tied, 1):
        lines.tell(f"  {number}  {one.tree}")
    for answer in lines.typed():
        if answer.strip().isdigit() and 1 <= int(answer) <= len(tied):
            return tied[int(answer) - 1].tree
        lines.tell(f"Type a number from 1 to {len(tied)}.")
    return None


def resume(job: str | None, how: Mode, extra: Sequence[Path], *, adopt: bool) -> int:
    """Go on with a job, the newest open one if none is named."""
    with store() as kept:
        number = job or _newest(kept)
        kept.summary(number)
        with kept.hold(number):
            session, first = app.resume(kept, number, newer=_newer(kept, number, extra) if adopt else None)
            return _talk(session, [*_moved_on(kept, number, extra, adopt=adopt), *first], how)


def _newest(kept: Store) -> str:
    waiting = kept.jobs("open", "aside", limit=1)
    if not waiting:
        raise BadInput('no job is open; begin one with: guide begin "what is wrong"')
    return waiting[0].id


def _newer(kept: Store, job: str, extra: Sequence[Path]) -> Any:
    trees, (tree_id, _, _) = library(extra), kept.tree_of(job)
    return trees.tree(tree_id), trees.text(tree_id)[0]


def _moved_on(kept: Store, job: str, extra: Sequence[Path], *, adopt: bool) -> list[Message]:
    """Say once on resume that the tree has changed since the job began."""
    tree_id, sha256, _ = kept.tree_of(job)
    trees = library(extra)
    if adopt or tree_id not in trees.ids() or app.digest(trees.text(tree_id)[0]) == sha256:
        return []
    say = (
        f"The tree {tree_id} has changed since this job began. It goes on with the old one;"
        f" guide resume {job} --adopt takes the new."
    )
    return [{"type": "told", "job": job, "say": say}]


def _talk(session: app.Session, first: list[Message], how: Mode) -> int:
    if how is Mode.JSONL:
        app.serve(session, first, sys.stdin, _flushed)
        return 0
    if how is Mode.VOICE:
        return _voiced(session, first)
    return _lines(session, first, Lines())


def _flushed(line: str) -> None:
    sys.stdout.write(line)
    sys.stdout.flush()


def _lines(session: app.Session, first: list[Message], lines: Lines) -> int:
    lines.show(first)
    for text in lines.typed():
        told = session.hear(Utterance(text, Source.TYPED))
        lines.show(told)
        if app.done(told):
            break
    _farewell(session, lines)
    return 0


def _farewell(session: app.Session, lines: Lines) -> None:
    job = session.job
    if job.closed:
        lines.tell(f"Next: guide report {job.id}, or guide outcome {job.id} CAUSE when you know better.")
    else:
        lines.tell(f"Job {job.id} is kept. Next: guide resume {job.id}")


def _voiced(session: app.Session, first: list[Message]) -> int:
    raise BadInput("voice is not built in yet; use --typed")


# --- what is there -------------------------------------------------------------------------------------------


def jobs(*, as_json: bool) -> int:
    """List jobs, newest first."""
    with store() as kept:
        found = kept.jobs()
    if as_json:
        return _document([asdict(j) for j in found])
    lines = Lines()
    for job in found:
        wait = f"  waits for {job.waits_for}" if job.waits_for else ""
        until = f" until {job.until}" if job.until else ""
        lines.tell(f"{job.id:>5}  {job.state:<6}  {job.answers:>3} answers  {job.device}: {job.symptom}{wait}{until}"
                   f"{f'  was {job.outcome}' if job.outcome else ''}")  # fmt: skip
    if not found:
        lines.tell('No job yet. Begin one with: guide begin "what is wrong"')
    return 0


def _document(data: Any) -> int:
    sys.stdout.write(json.dumps(data, ensure_ascii=False, indent=1) + "\n")
    return 0


def outcome(job: str, cause: str, note: str) -> int:
    """Record what a job really was."""
    from guide.core import events as ev

    with store() as kept, kept.hold(job):
        session = app.Session(kept, app.load(kept, job), app.now)
        known = session.job.tree.causes
        if cause not in known:
            raise BadInput(f"{session.job.tree.id} has no cause {cause!r}; it knows: {', '.join(known)}")
        session.apply((ev.OutcomeSet(cause, note),))
    Lines().tell(f"Job {job} was {cause}.")
    return 0


def list_trees(words: str, extra: Sequence[Path], *, as_json: bool) -> int:
    """List trees, best match first where words are given."""
    from guide.core.symptoms import match

    trees = library(extra)
    headers = {h.id: h for h in trees.heads()}
    ids = [m.tree for m in match(words, headers.values())] if words.strip() else sorted(headers)
    if as_json:
        return _document(
            [
                {"id": i, "family": headers[i].family, "device": headers[i].device, "symptom": headers[i].symptom}
                for i in ids
            ]
        )
    lines = Lines()
    for tree_id in ids:
        lines.tell(f"{tree_id:<44} {headers[tree_id].symptom}")
    if not ids:
        lines.tell(f"No tree fits {words[:60]!r}.")
    return 0


def lint(paths: Sequence[Path], extra: Sequence[Path], *, as_json: bool) -> int:
    """Print findings; exit code 1 where there are any."""
    from guide.edge.trees.linting import findings_in

    found = findings_in(paths, library(extra))
    if as_json:
        _document([{"rule": f.rule, "file": f.where.file, "line": f.where.line, "message": f.message} for f in found])
    else:
        lines = Lines()
        for one in found:
            lines.tell(str(one))
        if not found:
            lines.tell("No findings.")
    return 1 if found else 0


def hear(
    files: Sequence[Path],
    words: str | None,
    measure: str | None,
    check: str | None,
    extra: Sequence[Path],
    *,
    as_json: bool,
) -> int:
    """Say what recordings or words mean."""
    raise BadInput("hear is not built in yet")


# --- the demo ------------------------------------------------------------------------------------------------

DEMO_TREE, DEMO_CAUSE = "fernleaf-gh2/sensor-bus-dead", "cable-broken"
DEMO_PAUSE_S = 1.2


def demo(*, voice: bool, fast: bool) -> int:
    """Play a whole job with a simulated technician and meter, through the same code path as a real one."""
    if voice:
        raise BadInput("voice is not built in yet")
    from guide.edge.fakes import Technician

    trees, lines = library([]), Lines()
    text, _ = trees.text(DEMO_TREE)
    tree = trees.tree(DEMO_TREE)
    lines.tell(f"Demo: {tree.device}. {tree.symptom}. The technician and the meter are simulated.")
    with store(app.home_folder() / "demo") as kept:
        session, told = app.begin(kept, tree, text)
        technician = Technician(tree, DEMO_CAUSE, seed=1)
        while True:
            lines.show(told)
            if app.done(told):
                break
            answer = technician.answer(told[-1])
            if not fast:
                time.sleep(DEMO_PAUSE_S)
            lines.tell(f"> {answer}")
            told = session.hear(Utterance(answer))
    lines.tell('Now yours: guide begin "what is wrong", or guide trees to see what it knows.')
    return 0
