"""Lint over files: what the loader finds and what the rules find, for named paths or the whole library."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from guide.core.errors import BadInput, TreeError
from guide.core.lint import WEAK_ENDING, lint
from guide.core.tree import Finding, Tree
from guide.edge.trees import treefile
from guide.edge.trees.library import SUFFIX, Library, file_text, shown, trees_under


@dataclass(frozen=True, slots=True)
class Linted:
    """Every finding, and the trees with an ending short of what they ask of a verdict."""

    findings: tuple[Finding, ...]
    weak: tuple[Tree, ...]


def linted(paths: Sequence[Path], library: Library) -> Linted:
    """Return every finding of the trees at `paths` (files or folders), or of the whole library where none is named.

    Each is held against the library's other trees too, for symptoms that sound alike. Raises BadInput for a path that
    is not there or holds no tree.
    """
    named = _files(paths) if paths else dict(library.paths)
    found: list[Finding] = []
    trees: dict[str, Tree] = {}
    for tree_id, path in named.items():
        tree, faults = _loaded(tree_id, path)
        found.extend(faults)
        if tree is not None:
            trees[tree_id] = tree
    same = {path.resolve() for path in named.values()}  # a named folder may lie inside the library
    others = {t.id: t for t in library.all() if library.paths[t.id].resolve() not in same} if paths else {}
    weak = []
    for tree in trees.values():
        here = lint(tree, (others | trees).values())
        found.extend(here)
        if any(f.rule == WEAK_ENDING for f in here):
            weak.append(tree)
    return Linted(tuple(found), tuple(weak))


def unknown(paths: Sequence[Path], library: Library) -> tuple[Path, ...]:
    """Return the files among `paths` that are no trees of the library: nobody could begin a job on them."""
    return tuple(path for path in _files(paths).values() if not library.knows(path)) if paths else ()


def _loaded(tree_id: str, path: Path) -> tuple[Tree | None, tuple[Finding, ...]]:
    try:
        text = file_text(path)
    except TreeError as fault:
        return None, fault.findings
    return treefile.load(text, shown(path), tree_id)


def _files(paths: Sequence[Path]) -> Mapping[str, Path]:
    found: dict[str, Path] = {}
    for path in paths:
        if path.is_dir():
            below = trees_under(path)
            if not below:
                raise BadInput(f"{path}: no {SUFFIX} file below this folder; name a tree or a folder of trees")
            found.update(below)
        elif path.exists():
            found[_id_of(path)] = path
        else:
            raise BadInput(f"{path}: no such file or folder; name a tree or a folder of trees")
    return found


def _id_of(path: Path) -> str:
    """The id a lone file would have: its path below the nearest folder called `trees`, else its name."""
    parts = path.resolve().with_suffix("").parts
    if "trees" in parts[:-1]:
        last = len(parts) - 2 - parts[-2::-1].index("trees")
        return "/".join(parts[last + 1 :])
    return parts[-1]
