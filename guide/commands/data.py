"""A job's own data: out as one document, in from one, gone on request."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from guide import app
from guide.commands.common import store
from guide.core.errors import BadInput
from guide.core.jobs import events as ev
from guide.core.jobs.folding import evolve
from guide.core.jobs.job import opened
from guide.core.jobs.wording import counted
from guide.edge.jobs import jobfile
from guide.edge.jobs.store import EVERY, Store
from guide.edge.terminal import Lines
from guide.edge.trees import treefile


def export(job: str, to: Path | None) -> int:
    """Write a job with its tree's text as one JSON document."""
    with store() as kept:
        summary = kept.summary(job)
        text = jobfile.written(
            kept.tree_of(job), kept.events(job), device=summary.device, symptom=summary.symptom, began=summary.began
        )
    if to is None:
        sys.stdout.write(text)
        return 0
    write_private(to, text.encode("utf-8"))
    Lines().tell(f"Job {job} is in {to}.")
    return 0


def write_private(path: Path, data: bytes) -> None:
    """Write `data` to a file only this user can read. Raises BadInput where it cannot be written."""
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "wb") as file:
            if path.is_file():  # an older file may be open to others; a device stays as it is
                path.chmod(0o600)
            file.write(data)
    except OSError as error:
        raise BadInput(f"{path}: cannot be written ({error.strerror}); name another place with --to") from error


def bring_in(path: Path) -> int:
    """Take a job from a document into this store, under a number of its own."""
    document = jobfile.read(path)
    if app.digest(document.tree.text) != document.tree.sha256:
        raise BadInput(f"{path}: tree.sha256: the tree's text is not the one the job is pinned to; export it again")
    tree = treefile.read(document.tree.text, f"{path}:tree", document.tree.id)
    recorded = jobfile.history(document, tree, path)
    job = opened(tree)
    for one in recorded:
        job = evolve(job, one.event)
    with store() as kept, kept.at_once():
        if same := _same_job(kept, document, recorded):
            raise BadInput(f"{path}: that job is here already, as job {same}; a job brought in twice would teach twice")
        number = kept.begin(
            tree.id, document.tree.sha256, document.tree.text, at=document.began, device=document.device,
            symptom=document.symptom,
        )  # fmt: skip
        kept.append(number, [_numbered(one, number) for one in recorded], answers=job.answers)
        app.teach(kept, app.load(kept, number))
    Lines().tell(f"Brought in as job {number}.")
    return 0


def _same_job(kept: Store, document: jobfile.JobDocument, recorded: Sequence[ev.Recorded]) -> str:
    """Return the number of the job that holds all of `recorded` already; empty where there is none."""
    began = (j.id for j in kept.jobs(limit=EVERY) if (j.began, j.tree) == (document.began, document.tree.id))
    for number in began:
        here = list(kept.events(number))
        if here[: len(recorded)] == [_numbered(one, number) for one in recorded]:
            return number
    return ""


def _numbered(recorded: ev.Recorded, number: str) -> ev.Recorded:
    """Give the job the number it has in this store."""
    if isinstance(recorded.event, ev.Opened):
        return replace(recorded, event=replace(recorded.event, job=number))
    return recorded


def delete(job: str, *, sure: bool) -> int:
    """Remove a job for good."""
    with store() as kept:
        summary = kept.summary(job)
        if not sure:
            what = f"{summary.device}, {counted(summary.answers, 'answer')}"
            raise BadInput(f"job {job} ({what}) would be gone for good; add --yes")
        with kept.hold(job):
            kept.delete(job)
    Lines().tell(f"Job {job} is deleted, and what it taught with it.")
    return 0
