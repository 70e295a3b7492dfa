"""Working on a job: the bench, begin, resume, and the conversation itself."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from guide import app
from guide.commands.common import Mode, View, library, profile, store
from guide.commands.jsonlines import lines_in, serve, teller
from guide.commands.matching import matched
from guide.commands.metered import Reader, converse, line_or_nothing
from guide.commands.screening import Telling, choose, on_screen, shows_a_screen, spoken_on_screen
from guide.core.choice import Choice
from guide.core.errors import BadInput, Unavailable
from guide.core.intent import Command, Do, Utterance
from guide.core.jobs.job import EVERY_READING, Job
from guide.core.jobs.questions import Message, enter_means, question
from guide.core.jobs.shop import most_raised
from guide.core.jobs.wording import counted, in_a_list, in_brief
from guide.core.reading import Source
from guide.core.tree import NONE
from guide.edge.jobs.store import Store, Summary
from guide.edge.terminal import Lines


def bench(view: View = View.SCREEN) -> int:
    """Offer what is open, or begin a job from the symptom typed; what fits nothing is asked again."""
    trouble = ""
    while True:
        with store() as kept:
            waiting = kept.jobs("open", "aside", limit=9)
        words = choose(_at_the_bench(waiting, trouble), view)
        if words is None:
            return 0
        if words in {job.id for job in waiting}:
            return resume(words, Mode.TYPED, [], adopt=False, view=view)
        try:
            tree = matched(library([]), words, Mode.TYPED, view)
        except BadInput as error:
            trouble = str(error)
            continue
        if tree is not None:
            return begin(words, tree, "", Mode.TYPED, [], view=view)


def _at_the_bench(waiting: Sequence[Summary], trouble: str) -> Choice:
    items = tuple(
        (job.id, f"{in_a_list(job.device, job.symptom)} ({counted(job.answers, 'answer')}"
         f"{f', waits for {job.waits_for}' if job.waits_for else ''})")
        for job in waiting
    )  # fmt: skip
    hint = "Type a job's number to go on with it, or a symptom to begin." if items else "Type the symptom to begin."
    return Choice("the bench", items, hint, trouble=trouble, enter=waiting[0].id if waiting else "")


def begin(
    words: str,
    tree_id: str | None,
    device: str,
    how: Mode,
    extra: Sequence[Path],
    *,
    intake: bool | None = None,
    meter: str | None = None,
    view: View = View.SCREEN,
) -> int:
    """Begin a job on the tree named or matched; the intake comes first where a person is there to answer it."""
    _refuse_wrong_settings(how)
    trees = library(extra)
    chosen = tree_id or matched(trees, words, how, view)
    if chosen is None:
        return 2
    text, _ = trees.text(chosen)
    tree = trees.tree(chosen)
    with store() as kept:
        asks = sys.stdin.isatty() and how is not Mode.JSONL if intake is None else intake
        counter = app.Intake.FIRST if asks else app.Intake.LATER
        session, first = app.begin(kept, tree, text, device=device, symptom=words, intake=counter, meter=profile())
        with app.holding(kept, session):
            return _talk(session, [*_begun(session, how), *first], how, meter, view)


def _refuse_wrong_settings(how: Mode) -> None:
    """Find mistakes in the voice's settings before anything is begun. Raises BadInput."""
    if how is Mode.VOICE:
        from guide.edge.voice.settings import settings

        settings(app.home_folder())


def _begun(session: app.Session, how: Mode) -> list[Message]:
    """Say which tree the words led to, so that a wrong one is seen before the first check; a rig reads it in `ask`."""
    job = session.job
    say = f"Job {job.id}: {job.tree.symptom.rstrip('.')} ({job.tree.id}).{_taught_say(job)}"
    return [] if how is Mode.JSONL else [{"type": "told", "job": job.id, "say": say}]


def _taught_say(job: Job) -> str:
    """Say what closed jobs here change most, so that nobody takes odds of this shop for those of the tree."""
    if job.shop is None or not job.shop.jobs:
        return ""
    cause, of_tree, here = most_raised(job.tree, job.shop.weights)
    now, before = f"{here * 100:.0f} percent", f"{of_tree * 100:.0f}"
    if now == f"{before} percent":
        return ""
    times = counted(job.shop.jobs, "closed job")
    return f" What {times} here taught counts: {in_brief(cause)} {now}, by the tree alone {before}."


def learn(
    model: str,
    tree_id: str,
    how: Mode,
    extra: Sequence[Path],
    *,
    meter: str | None = None,
    view: View = View.SCREEN,
) -> int:
    """Read every metered point of a known-good board, as a reference for its model."""
    _refuse_wrong_settings(how)
    trees = library(extra)
    text, _ = trees.text(tree_id)
    tree = trees.tree(tree_id)
    with store() as kept:
        session, first = app.begin(
            kept, tree, text, device=model, symptom="known-good board", sweep=EVERY_READING, meter=profile()
        )
        with app.holding(kept, session):
            return _talk(session, first, how, meter, view)


def resume(
    job: str | None,
    how: Mode,
    extra: Sequence[Path],
    *,
    adopt: bool,
    intake: bool = False,
    meter: str | None = None,
    view: View = View.SCREEN,
) -> int:
    """Go on with a job, the newest open one if none is named."""
    _refuse_wrong_settings(how)
    with store() as kept:
        number = job or _newest(kept)
        kept.summary(number)
        with kept.hold(number):
            newer = _newer(kept, number, extra) if adopt else None
            counter = app.Intake.FIRST if intake else app.Intake.LATER
            session, first = app.resume(kept, number, newer=newer, intake=counter, meter=profile())
            return _talk(session, [*_moved_on(kept, number, extra, adopt=adopt), *first], how, meter, view)


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

    with connect(None if address == "auto" else address, app.home_folder(), profile=profile()) as meter:
        yield Reader(meter)


def _talk(session: app.Session, first: list[Message], how: Mode, meter: str | None, view: View) -> int:
    with _reader(meter) as reader:
        try:
            if not (how is Mode.TYPED and shows_a_screen(view)):
                _talked(session, first, how, reader, view)
                return ended(session.job)
            on_screen(session, first, reader)
            _left_the_screen(session, Lines())
        except KeyboardInterrupt:
            if how is not Mode.JSONL:
                _farewell(session, Lines())
            raise
        _farewell(session, Lines())
        return ended(session.job)


def ended(job: Job) -> int:
    """Return the exit code of a conversation: 1 where the job was closed and what it was is not proven. A board that is
    good as it came needs no proof."""
    closed = job.closed
    return int(closed is not None and not closed.proven and closed.cause != NONE)


def _talked(session: app.Session, first: list[Message], how: Mode, reader: Reader | None, view: View) -> None:
    if reader is not None and how is not Mode.VOICE:
        _metered(session, first, how, reader)
    elif how is Mode.JSONL:
        serve(session, first, lines_in())
    elif how is Mode.VOICE:
        _voiced(session, first, reader, view)
    else:
        _lines(session, first, Lines())


def _metered(session: app.Session, first: list[Message], how: Mode, reader: Reader) -> None:
    lines = Lines()
    show = teller() if how is Mode.JSONL else lines.show
    enter = (lambda: "") if how is Mode.JSONL else (lambda: enter_means(question(session.job) or {}))
    converse(session, first, reader, show, line_or_nothing, enter=enter)
    if how is Mode.JSONL:
        if not session.job.held and not session.job.closed:
            show(session.act(Do(Command.HOLD)))
    else:
        _farewell(session, lines)


def _lines(session: app.Session, first: list[Message], lines: Lines) -> None:
    lines.show(first)
    app.ready_for_words()
    for text in lines.typed():
        told = session.hear(Utterance(text, Source.TYPED))
        lines.show(told)
        if app.done(told):
            break
    _farewell(session, lines)


def _left_the_screen(session: app.Session, lines: Lines) -> None:
    """Say in lines what was told last, for the screen has gone with it: as what the job was closed or put aside."""
    if session.parting:
        lines.tell(session.parting)


def _farewell(session: app.Session, lines: Lines) -> None:
    job = session.job
    if job.closed:
        lines.tell(f"Next: guide report {job.id}, or guide outcome {job.id} CAUSE when you know better.")
    else:
        lines.tell(f"Job {job.id} is kept. Next: guide resume {job.id}")


def _voiced(session: app.Session, first: list[Message], reader: Reader | None, view: View) -> None:
    """Speak and listen; where there is no sound card or recogniser, say so once and go on typed."""
    from guide.commands import spoken

    lines = Lines()
    try:
        tell = Telling(lines.tell)
        with spoken.microphone(app.home_folder(), tell) as (hearer, mouth):
            talk = spoken.Talk(session, hearer, mouth, reader)
            if shows_a_screen(view):
                spoken_on_screen(talk, first, tell)
                _left_the_screen(session, lines)
            else:
                spoken.converse(talk, first, lines.show, line_or_nothing)
    except Unavailable as error:
        lines.tell(f"{error}. Type the answers; `guide doctor` says what listens.")
        if reader is None:
            _lines(session, first, lines)
        else:
            _metered(session, first, Mode.TYPED, reader)
        return
    _farewell(session, lines)
