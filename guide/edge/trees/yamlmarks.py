"""YAML as plain text values, each with the line it stands on; everything a tree has no use for is refused.

The parser's events are taken one by one instead of composed nodes, so that aliases, tags and depth are refused before
anything is built from them. Every scalar stays text: `yes`, `off`, `012` and `1:30` are what the author typed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

import yaml

from guide.core.errors import TreeError
from guide.core.tree import Finding, Where

MAX_BYTES = 1 << 20
MAX_DEPTH = 10  # the format uses seven
MAX_SCALAR = 4000
MAX_KEYS = 5000  # in one map; the largest tree timed has a thousand causes
MOST_FINDINGS = 200  # more of one file is no help to anyone, and a file made to harm has a hundred thousand
UNREADABLE = "T00"
_TOO_DEEP = f"nests deeper than {MAX_DEPTH}; a tree is flatter, check the indentation"

Path = tuple[str | int, ...]
# libyaml where PyYAML was built with it, five times faster; the same events either way.
_Loader: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


@dataclass(frozen=True, slots=True)
class Document:
    """The values of one file and the line of every key and list item, by path from the root."""

    name: str
    data: Mapping[str, Any]
    lines: Mapping[Path, int]

    def where(self, path: Iterable[str | int]) -> Where:
        """Return where `path` stands; parts the file does not hold are skipped, so a missing key points at its
        parent."""
        known: Path = ()
        for part in path:
            if (*known, part) in self.lines:
                known = (*known, part)
        return Where(self.name, self.lines.get(known, 1))


def document(text: str, name: str) -> Document:
    """Return the one mapping `text` holds. Raises TreeError, with every duplicate key or the first fault of syntax."""
    builder = _Builder(name)
    try:
        size = len(text.encode())
    except UnicodeEncodeError:
        raise TreeError(builder.finding(0, "is not UTF-8; save it as UTF-8")) from None
    if size > MAX_BYTES:
        raise TreeError(builder.finding(0, "is over 1 MiB; a tree is a few hundred lines, split it"))
    try:
        _walk(text, builder)
    except yaml.reader.ReaderError as fault:
        line = text.count("\n", 0, fault.position if isinstance(fault.position, int) else 0)
        raise TreeError(builder.finding(line, "holds a control character; take it out")) from None
    except yaml.MarkedYAMLError as fault:
        raise TreeError(*builder.findings, _syntax(text, builder, fault)) from None
    if builder.findings:
        raise TreeError(*builder.findings)
    if not isinstance(builder.root, dict):
        raise TreeError(builder.finding(0, "is not a map of keys; begin with `version: 1`"))
    return Document(name, builder.root, builder.lines)


def _walk(text: str, builder: _Builder) -> None:
    loader = _Loader(text)
    try:
        while loader.check_event():
            event = loader.get_event()
            take = _TAKES.get(type(event))
            if take is not None:
                take(builder, event)
    finally:
        loader.dispose()


@dataclass(slots=True)
class _Frame:
    """One open map or list. `key` is the path part the next value goes to; None where a map waits for a key.

    `again` says that this key stood here before, `repeated` that all of this part did: its keys are then no news.
    """

    into: dict[str, Any] | list[Any]
    path: Path
    key: str | int | None = None
    again: bool = False
    repeated: bool = False


@dataclass(slots=True)
class _Builder:
    name: str
    root: Any = None
    lines: dict[Path, int] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    stack: list[_Frame] = field(default_factory=list)
    documents: int = 0

    def finding(self, line: int, message: str) -> Finding:
        """A finding at `line`, counted from 0 as the parser does."""
        return Finding(UNREADABLE, Where(self.name, line + 1), message)

    def refuse(self, event: Any, message: str) -> TreeError:
        return TreeError(*self.findings, self.finding(event.start_mark.line, message))

    def begin(self, event: Any) -> None:
        self.documents += 1
        if self.documents > 1:
            raise self.refuse(event, "begins a second document; keep one tree in a file")

    def alias(self, event: Any) -> None:
        raise self.refuse(event, f"`*{event.anchor[:40]}` repeats another part; write it out, aliases are not taken")

    def scalar(self, event: Any) -> None:
        self._plain(event)
        if len(event.value) > MAX_SCALAR:
            raise self.refuse(event, f"text of {len(event.value)} characters; keep it under {MAX_SCALAR}")
        frame = self.stack[-1] if self.stack else None
        if frame is not None and isinstance(frame.into, dict) and frame.key is None:
            self._new_key(frame, event)
        else:
            self._put(event, event.value)

    def open_map(self, event: Any) -> None:
        self._open(event, {})

    def open_list(self, event: Any) -> None:
        self._open(event, [])

    def close(self, event: Any) -> None:
        self.stack.pop()

    def _open(self, event: Any, into: dict[str, Any] | list[Any]) -> None:
        self._plain(event)
        if len(self.stack) >= MAX_DEPTH:
            raise self.refuse(event, _TOO_DEEP)
        above = self.stack[-1] if self.stack else None
        path = self._put(event, into)
        self.stack.append(_Frame(into, path, repeated=above is not None and (above.again or above.repeated)))

    def _new_key(self, frame: _Frame, event: Any) -> None:
        if len(frame.into) >= MAX_KEYS:
            raise self.refuse(event, f"is the {MAX_KEYS + 1}th key in one place; split the tree")
        key, path = event.value, (*frame.path, event.value)
        frame.key, frame.again = key, path in self.lines
        if frame.again and frame.repeated:
            return
        if frame.again:
            self.findings.append(
                self.finding(event.start_mark.line, f"`{key[:40]}` is already on line {self.lines[path]}; keep one")
            )
            if len(self.findings) >= MOST_FINDINGS:
                raise TreeError(*self.findings)
        else:
            self.lines[path] = event.start_mark.line + 1

    def _put(self, event: Any, value: Any) -> Path:
        """Hang `value` where it belongs; return its path."""
        if not self.stack:
            self.root, self.lines[()] = value, event.start_mark.line + 1
            return ()
        frame = self.stack[-1]
        if isinstance(frame.into, list):
            path = (*frame.path, len(frame.into))
            frame.into.append(value)
            self.lines[path] = event.start_mark.line + 1
            return path
        if frame.key is None:
            raise self.refuse(event, "a key is a map or list; use a plain word")
        path = (*frame.path, frame.key)
        frame.into[str(frame.key)] = value
        frame.key = None
        return path

    def _plain(self, event: Any) -> None:
        if event.anchor is not None:
            raise self.refuse(event, f"`&{event.anchor[:40]}` marks a part for repeating; take it out")
        if event.tag is not None:
            raise self.refuse(event, f"`{event.tag[:40]}` is a type tag; take it out, all values are text")


_TAKES = {
    yaml.DocumentStartEvent: _Builder.begin,
    yaml.AliasEvent: _Builder.alias,
    yaml.ScalarEvent: _Builder.scalar,
    yaml.MappingStartEvent: _Builder.open_map,
    yaml.SequenceStartEvent: _Builder.open_list,
    yaml.MappingEndEvent: _Builder.close,
    yaml.SequenceEndEvent: _Builder.close,
}


def _syntax(text: str, builder: _Builder, fault: yaml.MarkedYAMLError) -> Finding:
    mark = fault.problem_mark or fault.context_mark
    line = mark.line if mark else 0
    problem = " ".join((fault.problem or "is not YAML").split())
    if "nesting depth" in problem:  # libyaml looks ahead and meets its own bound first
        return builder.finding(line, _TOO_DEEP)
    return builder.finding(line, f"{problem}; {_remedy(problem, _line(text, line))}")


def _line(text: str, number: int) -> str:
    return next(islice(text.split("\n"), number, None), "")


def _remedy(problem: str, line: str) -> str:
    if "\t" in line[: len(line) - len(line.lstrip())]:
        return "use spaces, tabs cannot indent"
    if "mapping values are not allowed" in problem:
        return "put text that holds a colon in quotes, or check the indentation"
    return "check brackets, quotes and indentation here and just above"
