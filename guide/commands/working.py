"""Working on a job: the bench, begin, resume, and the conversation itself."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from guide import app
from guide.commands.common import Mode, library, store
from guide.commands.metered import Reader, converse, line_or_nothing
from guide.core.errors import BadInput
from guide.core.intent import Command, Do, Utterance
from guide.core.job import EVERY_READING
from guide.core.questions import Message
from guide.core.reading import Source
from guide.core.symptoms import leading, match
from guide.edge.store import Store
from guide.edge.terminal import Lines
from guide.edge.trees.library import Library

PIECE = 1_000_000


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


def begin(
    words: str,
    tree_id: str | None,
    device: str,
    how: Mode,
    extra: Sequence[Path],
    *,
    intake: bool | None = None,
    meter: str | None = None,
) -> int:
    """Begin a job on the tree named or matched; the intake comes first where a person is there to answer it."""
    trees = library(extra)
    chosen = tree_id or _matched(trees, words, how)
    if chosen is None:
        return 2
    text, _ = trees.text(chosen)
    tree = trees.tree(chosen)
    with store() as kept:
        asks = sys.stdin.isatty() and how is not Mode.JSONL if intake is None else intake
        counter = app.Intake.FIRST if asks else app.Intake.LATER
        session, first = app.begin(kept, tree, text, device=device, symptom=words, intake=counter)
        with app.holding(kept, session):
            return _talk(session, first, how, meter)


def learn(model: str, tree_id: str, how: Mode, extra: Sequence[Path], *, meter: str | None = None) -> int:
    """Read every metered point of a known-good board, as a reference for its model."""
    trees = library(extra)
    text, _ = trees.text(tree_id)
    tree = trees.tree(tree_id)
    with store() as kept:
        session, first = app.begin(kept, tree, text, device=model, symptom="known-good board", sweep=EVERY_READING)
        with app.holding(kept, session):
            return _talk(session, first, how, meter)


def _matched(trees: Library, words: str, how: Mode) -> str | None:
    """Return the tree for `words`; a tie is asked, where somebody can answer."""
    if not words.strip():
        raise BadInput(
            'say what is wrong, for example: guide begin "no power"; or name a tree with --tree (see `guide trees`)'
        )
    tied = leading(match(words, trees.heads()))
    if not tied:
        raise BadInput(f"no tree fits {words[:60]!r}; see `guide trees`, or name one with --tree")
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


def resume(
    job: str | None,
    how: Mode,
    extra: Sequence[Path],
    *,
    adopt: bool,
    intake: bool = False,
    meter: str | None = None,
) -> int:
    """Go on with a job, the newest open one if none is named."""
    with store() as kept:
        number = job or _newest(kept)
        kept.summary(number)
        with kept.hold(number):
            newer = _newer(kept, number, extra) if adopt else None
            counter = app.Intake.FIRST if intake else app.Intake.LATER
            session, first = app.resume(kept, number, newer=newer, intake=counter)
            return _talk(session, [*_moved_on(kept, number, extra, adopt=adopt), *first], how, meter)


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


@contextmanager
def _reader(address: str | None) -> Iterator[Reader | None]:
    """Open the connected meter for one conversation, if one was asked for."""
    if address is None:
        yield None
        return
    from guide.edge.instruments.discover import connect

    with connect(None if address == "auto" else address, app.home_folder()) as meter:
        yield Reader(meter)


def _talk(session: app.Session, first: list[Message], how: Mode, meter: str | None = None) -> int:
    with _reader(meter) as reader:
        return _talked(session, first, how, reader)


def _talked(session: app.Session, first: list[Message], how: Mode, reader: Reader | None) -> int:
    if reader is not None and how is not Mode.VOICE:
        return _metered(session, first, how, reader)
    if how is Mode.JSONL:
        # In pieces, so that a line without an end is refused as too long and not collected.
        app.serve(session, first, iter(lambda: sys.stdin.readline(PIECE), ""), _flushed)
        return 0
    if how is Mode.VOICE:
        return _voiced(session, first)
    return _lines(session, first, Lines())


def _metered(session: app.Session, first: list[Message], how: Mode, reader: Reader) -> int:
    lines = Lines()
    show = app.teller(_flushed) if how is Mode.JSONL else lines.show
    converse(session, first, reader, show, line_or_nothing)
    if how is Mode.JSONL:
        if not session.job.held and not session.job.closed:
            show(session.act(Do(Command.HOLD)))
    else:
        _farewell(session, lines)
    return 0


def _flushed(line: str) -> None:
    sys.stdout.write(line)
    sys.stdout.flush()


def _lines(session: app.Session, first: list[Message], lines: Lines) -> int:
    lines.show(first)
    app.ready_for_words()
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
