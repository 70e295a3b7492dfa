"""Where trees are found: in the package, then in GUIDE_HOME/trees, then in folders named on the command line.

A tree's id is its path below one of these without the suffix; a later folder's tree replaces an earlier one's. Listing
ids reads folder entries only, and matching words reads the few head keys of each file; a whole file is read for the
tree that is asked for.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

import guide
from guide.core.errors import BadInput, TreeError, UnknownTree
from guide.core.symptoms import Head
from guide.core.tree import Finding, Tree, Where
from guide.edge.trees.yamlmarks import MAX_BYTES, UNREADABLE, document

SUFFIX = ".yaml"
_HEAD_KEYS = ("version", "device", "symptom", "heard_as", "family")
_TOP_KEY = re.compile(r"^(?=[A-Za-z_\"'{?&!%-])", re.MULTILINE)


@dataclass
class Library:
    """The trees of one bench. Each file's text is read once; `broken` gathers what `heads` and `all` had to skip."""

    home: Path
    extra: tuple[Path, ...] = ()
    broken: dict[str, tuple[Finding, ...]] = field(default_factory=dict)
    _texts: dict[str, str] = field(default_factory=dict)

    @cached_property
    def paths(self) -> Mapping[str, Path]:
        """The file of every tree id, in the order of ids. Raises BadInput for an extra folder that is not there."""
        for folder in self.extra:
            if not folder.is_dir():
                raise BadInput(f"{folder}: no such folder of trees; check --trees")
        found: dict[str, Path] = {}
        for folder in (packaged(), self.home / "trees", *self.extra):
            found.update(trees_under(folder))
        return dict(sorted(found.items()))

    def ids(self) -> tuple[str, ...]:
        return tuple(self.paths)

    def text(self, tree_id: str) -> tuple[str, Path]:
        """Return the text of a tree and its file. Raises UnknownTree, TreeError."""
        path = self.paths.get(tree_id)
        if path is None:
            raise UnknownTree(f"no tree is called {tree_id[:60]}; {self._near(tree_id)}")
        if tree_id not in self._texts:
            self._texts[tree_id] = file_text(path)
        return self._texts[tree_id], path

    def tree(self, tree_id: str) -> Tree:
        """Return the tree, fit to run. Raises UnknownTree, TreeError."""
        from guide.edge.trees import treefile  # pydantic costs 50 ms, and listing does without

        text, path = self.text(tree_id)
        return treefile.read(text, shown(path), tree_id)

    def all(self) -> Iterator[Tree]:
        """Every tree that can be loaded; the others' findings are put in `broken`."""
        from guide.edge.trees import treefile

        for tree_id in self.ids():
            try:
                text, path = self.text(tree_id)
            except TreeError as fault:
                self.broken[tree_id] = fault.findings
                continue
            tree, findings = treefile.load(text, shown(path), tree_id)
            if tree is None:
                self.broken[tree_id] = findings
            else:
                yield tree

    def heads(self) -> tuple[Head, ...]:
        """Return the head of every tree that has one; the others' findings are put in `broken`."""
        found = []
        for tree_id in self.ids():
            try:
                text, path = self.text(tree_id)
                found.append(head(text, shown(path), tree_id))
            except TreeError as fault:
                self.broken[tree_id] = fault.findings
        return tuple(found)

    def knows(self, path: Path) -> bool:
        """Tell whether the file at `path` is one of these trees."""
        return path.resolve() in {known.resolve() for known in self.paths.values()}

    def where_to(self, path: Path) -> str:
        """Return what makes the file at `path`, which lies elsewhere, one of these trees."""
        ending = "" if path.name.endswith(SUFFIX) else f", with a name that ends in {SUFFIX}"
        return f"put it below {self.home / 'trees'}{ending}, or name its folder with --trees"

    def _near(self, tree_id: str) -> str:
        from difflib import get_close_matches

        path = Path(tree_id)
        same = {known.resolve(): name for name, known in self.paths.items()} if path.is_file() else {}
        if path.is_file():
            name = same.get(path.resolve(), "")
            way = f"a tree goes by its id, not its file; {self.where_to(path)}"
            return f"that file is the tree {name}" if name else way
        near = get_close_matches(tree_id[:60], self.ids(), n=1, cutoff=0.5)
        return f"did you mean {near[0]}?" if near else "`guide trees` lists them"


def packaged() -> Path:
    """Return the folder of shipped trees: in the wheel inside the package, in a source tree beside it."""
    inside = Path(guide.__file__).parent / "trees"
    return inside if inside.is_dir() else inside.parents[1] / "trees"


def trees_under(folder: Path) -> Mapping[str, Path]:
    """Return the tree files below `folder` by id; nothing where there is no such folder."""
    found = {}
    for at, folders, files in os.walk(folder):
        folders[:] = sorted(f for f in folders if not f.startswith("."))
        for name in sorted(files):
            if name.endswith(SUFFIX) and not name.startswith("."):
                path = Path(at, name)
                found[path.relative_to(folder).with_suffix("").as_posix()] = path
    return found


def file_text(path: Path) -> str:
    """Return the text of a tree file. Raises TreeError for one that cannot be read, is over 1 MiB or not UTF-8.

    Newlines are kept as they are, so the text's SHA-256 is the file's.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as fault:
        raise _unread(path, 1, f"cannot be read ({fault.strerror}); check the file and its rights") from None
    if len(data) > MAX_BYTES:
        raise _unread(path, 1, "is over 1 MiB; a tree is a few hundred lines, split it")
    try:
        return data.decode()
    except UnicodeDecodeError as fault:
        line = data.count(b"\n", 0, fault.start) + 1
        raise _unread(path, line, "is not UTF-8; save the file as UTF-8") from None


def _unread(path: Path, line: int, message: str) -> TreeError:
    return TreeError(Finding(UNREADABLE, Where(shown(path), line), message))


def head(text: str, name: str, tree_id: str) -> Head:
    """Return the head keys of a tree's text. Raises TreeError.

    Only the sections of those keys are parsed: in a map laid out in lines a top key is what starts a line. A file laid
    out otherwise is parsed whole.
    """
    sections = [s for s in _TOP_KEY.split(text) if s.split(":", 1)[0] in _HEAD_KEYS]
    for part in ("".join(sections), text):
        try:
            data = document(part, name).data
        except TreeError as refused:
            fault = refused.findings[0]
            continue
        if all(isinstance(data.get(key), str) for key in ("device", "symptom")):
            return _head(data, tree_id)
        fault = Finding(UNREADABLE, Where(name, 1), "the tree has no device and symptom in words; add them")
    raise TreeError(fault)


def _head(data: Mapping[str, Any], tree_id: str) -> Head:
    heard = data.get("heard_as") or ()
    words = [heard] if isinstance(heard, str) else [w for w in heard if isinstance(w, str)]
    rest = {key: str(data.get(key, "")) for key in ("family", "version")}
    return Head(tree_id, str(data["device"]), str(data["symptom"]), tuple(words), **rest)


def shown(path: Path) -> str:
    """Return `path` as findings show it: from the working folder where it lies below, else whole."""
    try:
        return path.resolve().relative_to(Path.cwd()).as_posix()
    except ValueError:
        return str(path)
