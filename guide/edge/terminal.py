"""The line mode: messages as plain lines, answers as typed lines. Works on any terminal and through a pipe."""

from __future__ import annotations

import contextlib
import os
import sys
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TextIO

from guide.core.jobs.questions import enter_means
from guide.core.jobs.wording import IN_ASCII, clean, in_brief, loudest
from guide.core.tree import in_words

Message = Mapping[str, Any]

# Okabe-Ito hues read well with every colour vision; the word always says the same as the colour.
_STYLES = {"caution": "\x1b[1;38;5;208m", "ask": "\x1b[1m", "verdict": "\x1b[1;38;5;32m", "error": "\x1b[1;38;5;166m"}
_RESET = "\x1b[0m"
_LEADING = 4
_BAR = 12


def coloured(out: TextIO, environment: Mapping[str, str] | None = None) -> bool:
    """Tell whether colour may be used: a terminal, and NO_COLOR not set."""
    environment = os.environ if environment is None else environment
    return out.isatty() and not environment.get("NO_COLOR") and environment.get("TERM") != "dumb"


def render(message: Message) -> list[str]:
    """Return the lines that show `message`; empty where there is nothing to show."""
    match message["type"]:
        case "read":
            edge = "  (near an edge)" if message["borderline"] and not message["between"] else ""
            unlike = "  (unlike good boards of this model)" if message.get("unlike") else ""
            return [f"  = {message['show']}{edge}{unlike}"]
        case "odds":
            return _odds(message)
        case "ask":
            return ["", *_labelled(message, _ask_label(message)), *_points(message)]
        case "caution":
            step = "setup" in message or "access" in message
            label = f"{'SET UP' if step else 'CAUTION'}  [power {message['power']}]"
            return ["", *_labelled(message, label), _answers(message)]
        case "verdict":
            return ["", *_labelled(message, "VERDICT"), *_evidence(message)]
        case "repair":
            return ["", *_labelled(message, "REPAIR"), *_options(message)]
        case "sweep":
            rows = ((in_words(r["check"]), r["show"], in_words(r["band"] or "")) for r in message["rows"])
            return [f"  {name:<28} {shown:>10}  {band}" for name, shown, band in rows]
        case "unclear":
            return [f"  ? {message['say']}", *([_answers(message)] if message.get("answers") else [])]
        case "told" if "show" in message:
            return [f"  {message['show']}"]
        case "heard":
            return [f"  heard: {message['words']}"]
        case "told" | "prove" | "held" | "closed" | "confirm" | "error":
            return [f"  {message['say'] if 'say' in message else message['message']}"]
    return []


def _labelled(message: Message, label: str) -> list[str]:
    return [label, f"  {message['say']}"]


def _ask_label(message: Message) -> str:
    again = "  ONCE MORE" if message["retake"] else ""
    return f"{message['measure'].replace('_', ' ').upper()}  [power {message['power']}]{again}"


def _points(message: Message) -> list[str]:
    lines = []
    if message.get("leads"):
        lines.append(f"  {message['leads']}")
    lines.append(_answers(message))
    return lines


def _answers(message: Message) -> str:
    unit = f"a reading in {message['unit']}, " if message.get("unit") else ""
    return f"  [{unit}{' | '.join(map(in_words, message['answers']))}]"


def _odds(message: Message) -> list[str]:
    shown = [c for c in message["causes"][:_LEADING] if c["p"] >= 0.005]
    names = [in_brief(c["id"]) for c in shown]
    width = max(map(len, names), default=0)
    return [
        f"    {name:<{width}}  {'#' * round(c['p'] * _BAR):<{_BAR}} {c['p'] * 100:5.1f} %"
        for name, c in zip(names, shown, strict=True)
    ]


def _evidence(message: Message) -> list[str]:
    lines = [
        f"    {'for' if e['bits'] > 0 else 'against':<8}{in_words(e['check'])} = {in_words(e['band'])}"
        f"  ({e['bits']:+.1f} bits)"
        for e in loudest(message["evidence"])[:6]
    ]
    return [*lines, _answers(message)]


def _options(message: Message) -> list[str]:
    lines, several = [], len({option["cause"] for option in message["options"]}) > 1
    for option in message["options"]:
        kind = "  PROOF ONLY, no repair" if option["proof"] else ""
        lines.append(f"    {option['id']}  {option['do']}  ({option['minutes']:g} min){kind}")
        keys = (*(("for",) if several else ()), "parts", "skill", "risk", "restores", "leaves")
        lines += [f"       {key}: {option[key]}" for key in keys if option[key]]
    return [*lines, _answers(message)]


class Lines:
    """A line-mode terminal: `show` messages, iterate over what is typed."""

    def __init__(self, *, source: TextIO | None = None, out: TextIO | None = None) -> None:
        self._source = source or sys.stdin
        self._out = out or sys.stdout
        self._colour = coloured(self._out)
        self._last: Message = {}

    def show(self, messages: Iterable[Message]) -> None:
        """Print `messages`; remember the question that stands for the Enter key."""
        for message in messages:
            if message.get("answers") and message["type"] != "unclear":
                self._last = message
            style = _STYLES.get(message["type"], "") if self._colour else ""
            for line in (part for whole in render(message) for part in self._fitted(clean(whole))):
                self._write(f"{style}{line}{_RESET if style else ''}\n")
        self._out.flush()

    def tell(self, text: str) -> None:
        """Print one line that is no message."""
        for line in self._fitted(clean(text)):
            self._write(f"{line}\n")
        self._out.flush()

    def _fitted(self, line: str) -> list[str]:
        """Return `line` broken between words where the terminal would break it inside one; as it is for a pipe."""
        width = _columns(self._out)
        if not width or len(line) <= width:
            return [line]
        indent = line[: len(line) - len(line.lstrip())]
        return textwrap.wrap(line, width, subsequent_indent=indent, break_on_hyphens=False) or [line]

    def _write(self, text: str) -> None:
        encoding = getattr(self._out, "encoding", None) or "utf-8"
        try:
            text.encode(encoding)
        except UnicodeEncodeError:
            text = text.translate(IN_ASCII)  # a reading must keep its unit on any terminal
        self._out.write(text.encode(encoding, "replace").decode(encoding))

    def typed(self) -> Iterator[str]:
        """Yield each line typed until end of input. An empty line means yes, next, or done, where one of them fits."""
        while True:
            line = self._line()
            if line is None:
                return
            text = line.strip("\r\n")
            yield enter_means(self._last) if not text.strip() else text

    def _line(self) -> str | None:
        if self._source is sys.stdin and self._source.isatty():
            _line_editing()
            try:
                return input("> ")
            except EOFError:
                return None
        line = self._source.readline(1_000_000)
        return line or None


def _columns(out: TextIO) -> int:
    """Return how wide the terminal behind `out` is, 0 where there is none."""
    try:
        return os.get_terminal_size(out.fileno()).columns if out.isatty() else 0
    except (OSError, ValueError):
        return 0


def _line_editing() -> None:
    """Switch on editing and history where the platform has them; importing the module is all it takes."""
    with contextlib.suppress(ImportError):
        import readline  # noqa: F401
