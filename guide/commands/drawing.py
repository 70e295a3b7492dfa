"""Pictures of trees."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from guide import app
from guide.commands.common import library, profile, store
from guide.commands.data import write_private
from guide.core.drawing import Picture, markdown_of, picture_of, svg_of
from guide.core.errors import BadInput, TreeError
from guide.core.lint import lint
from guide.core.report import report_of
from guide.edge.terminal import Lines
from guide.edge.trees import treefile
from guide.edge.trees.library import shown


def draw(tree_id: str, to: Path | None, job: str | None, extra: Sequence[Path]) -> int:
    """Draw a tree with its findings, and the path of a job where one is named; Markdown where no file is."""
    make = _drawing_form(to) if to else markdown_of
    picture = _of_job(job, tree_id) if job else _of_tree(tree_id, extra)
    text = make(picture)
    if to is None:
        Lines().tell(text.rstrip("\n"))
        return 0
    write_private(to, text.encode("utf-8"))
    Lines().tell(f"The tree {tree_id} is drawn in {to}.")
    return 0


def _drawing_form(to: Path) -> Callable[[Picture], str]:
    made = {".svg": svg_of, ".md": markdown_of}.get(to.suffix.lower())
    if made is None:
        raise BadInput(f"{to}: the end of the name says the form; use .svg or .md")
    return made


def _of_tree(tree_id: str, extra: Sequence[Path]) -> Picture:
    text, path = library(extra).text(tree_id)
    tree, found = treefile.load(text, shown(path), tree_id)
    if tree is None:
        raise TreeError(*found)
    return picture_of(tree, (*found, *lint(tree)))


def _of_job(job: str, tree_id: str) -> Picture:
    """Draw the tree as the job has it, which may be older than the one in the library."""
    with store() as kept:
        held, recorded = app.load(kept, job, meter=profile()), kept.events(job)
    if held.tree.id != tree_id:
        raise BadInput(f"job {job} walks {held.tree.id}, not {tree_id[:60]}; guide draw {held.tree.id} --job {job}")
    return picture_of(held.tree, lint(held.tree), job=report_of(held.tree, recorded, meter=held.meter))
