"""The parts of the screen as rows of styled text: last reading with its strip, odds, tables, options, talk."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from guide.core.jobs.wording import cause_say, in_brief, loudest
from guide.core.report.model import Strip
from guide.core.report.wording import percent
from guide.core.tree import in_words
from guide.edge.screen.cells import Charset, Row, cells, fitted, length, right_aligned, row, shortened, wrapped
from guide.edge.screen.facts import Last, Leading, Line
from guide.edge.screen.scene import Said, Who

LEAST_BAR = 12
_EIGHTHS = "▏▎▍▌▋▊▉"
_SHAPES = {"dot": ("●", "o"), "diamond": ("◆", "#"), "square": ("■", "#")}
LEAST_CELL = 7


def heading(title: str, width: int, charset: Charset) -> Row:
    """Return a rule across `width` with its title in it, if it has one."""
    dash = charset.pick("─", "-")
    if not title:
        return row(("class:rule", dash * width))
    shown = shortened(title, width - 4, charset)
    return row(("class:rule", dash * 2 + " "), ("class:title", shown),
               ("class:rule", " " + dash * max(0, width - cells(shown) - 4)))  # fmt: skip


def reading_rows(last: Last | None, width: int, charset: Charset) -> list[Row]:
    """Return the last reading, its band in words, and the strip of bands it stands on."""
    if last is None:
        return [row(("class:muted", "no answer yet"))]
    style = "class:odd" if last.verdict == "NOT USUAL" else "class:usual"
    value = charset.text(last.value)
    found = "" if last.value == last.band else f" {charset.pick('→', '->')} {charset.text(last.band)}"
    said = "" if last.verdict == last.band else last.verdict  # a band may itself be called usual
    judged = ", ".join(w for w in (said, "near an edge" if last.on_edge else "") if w)
    error = f" {charset.text(last.error)}" if last.error else ""
    tail = row((style, found), ("", f", {judged}" if judged else ""))
    first = (*row(("class:value", value), ("class:muted", error)), *tail)
    rows = [first if length(first) <= width else (*row(("class:value", value)), *tail)]
    usual = charset.text(f", usual {last.usual}") if last.usual else ""
    rows.append(row(("class:muted", shortened(charset.text(in_words(last.check)) + usual, width, charset))))
    if last.strip is not None and width >= LEAST_CELL * len(last.strip.cells):
        rows += strip_rows(last.strip, width, charset)
    return rows


def strip_rows(strip: Strip, width: int, charset: Charset) -> list[Row]:
    """Return three rows: the bands' names, the line with the reading on it, the edges. A double line is usual."""
    count = len(strip.cells)
    ends = [width * i // count for i in range(count + 1)]
    names: list[tuple[str, str]] = []
    for i, cell in enumerate(strip.cells):
        wide = ends[i + 1] - ends[i]
        name = shortened(charset.text(in_words(cell.name)), wide - 3, charset)
        style = "class:here" if cell.holds else "class:usual" if cell.normal else "class:muted"
        shown = f"[{name}]" if cell.holds else f" {name} "
        names.append((style, fitted_text(shown, wide)))
    edges = "".join(
        fitted_text(shortened(charset.text(c.edge), ends[i + 1] - ends[i] - 1, charset), ends[i + 1] - ends[i])
        for i, c in enumerate(strip.cells)
    )
    return [tuple(names), row(("class:strip", _line(strip, ends, charset))), row(("class:muted", edges))]


def _line(strip: Strip, ends: Sequence[int], charset: Charset) -> str:
    width = ends[-1]
    line = []
    for i, cell in enumerate(strip.cells):
        drawn = charset.pick("═", "=") if cell.normal else charset.pick("─", "-")
        line += [charset.pick("┼" if i else "├", "|"), *[drawn] * (ends[i + 1] - ends[i] - 1)]

    def column(at: float) -> int:
        return min(width - 1, max(0, round(at * width - 0.5)))

    left, at, right = column(strip.left), column(strip.at), column(strip.right)
    if right - left > 1:
        line[left], line[right] = charset.pick("├", "<"), charset.pick("┤", ">")
    line[at] = charset.pick(*_SHAPES[strip.shape])
    return "".join(line)


def fitted_text(text: str, width: int) -> str:
    return "".join(t for _, t in fitted((("", text),), width))


def odds_rows(odds: Sequence[Leading], width: int, height: int, charset: Charset) -> list[Row]:
    """Return the leading causes as bars with numbers, most likely first.

    In sentences where the width holds that of every cause, else all in brief: the form stays as the odds change.
    """
    shown = [o for o in odds[:height] if o.p >= 0.0005] or list(odds[:1])
    room = width - LEAST_BAR - 10
    whole = all(cells(charset.text(o.say)) <= room for o in odds)
    names = [charset.text(o.say if whole else in_brief(o.cause)) for o in shown]
    label = max(8, min(max(map(cells, names), default=0), room))
    long = max(LEAST_BAR, width - label - 10)
    rows = []
    for i, (one, name) in enumerate(zip(shown, names, strict=True)):
        text = fitted_text(shortened(name, label, charset), label)
        style = "class:lead" if i == 0 else ""
        rows.append(row((style, text), " ", ("class:bar", bar(one.p, long, charset)), (style, f" {percent(one.p):>8}")))
    return rows


def bar(p: float, long: int, charset: Charset) -> str:
    """Return a bar of `long` cells, `p` of it filled; whatever is possible at all shows a trace."""
    if charset is Charset.ASCII:
        full = max(1 if p > 0 else 0, round(p * long))
        return "#" * full + "." * (long - full)
    eighths = max(1 if p > 0 else 0, round(p * long * 8))
    full, rest = divmod(eighths, 8)
    drawn = "█" * full + (_EIGHTHS[rest - 1] if rest else "")
    return drawn + " " * (long - len(drawn))


def table_rows(lines: Sequence[Line], here: int, width: int, height: int, charset: Charset) -> list[Row]:
    """Return the part of a table that holds the present line, or its end."""
    # One line more is shown after the present one, where there is room for two.
    first = max(0, min(len(lines) - height, (here if here >= 0 else len(lines) - 1) - height + min(2, height)))
    name_width = min(max((cells(line.name) for line in lines), default=0), max(10, width // 2 - 4))
    value_width = min(max((cells(charset.text(line.shown)) for line in lines), default=0), 10)
    room = width - name_width - max(3, value_width) - 5
    rows = []
    for i, line in enumerate(lines[first : first + height], first):
        mark = charset.pick("▶", ">") if i == here else " "
        value = charset.text(line.shown) or ("now" if i == here else charset.pick("·", "."))
        band = charset.text(line.band) if line.band != line.shown else ""  # a word is its own band
        both = ", ".join(t for t in (band, line.mark) if t)
        said = both if cells(both) <= room else shortened(band or line.mark, room, charset)  # its colour says the mark
        name = fitted_text(shortened(charset.text(line.name), name_width, charset), name_width)
        style = "class:lead" if i == here else "class:odd" if line.mark == "not usual" else ""
        rows.append(row((style, f"{mark} {name} {value:>{max(3, value_width)}}  {said}")))
    return rows


def evidence_rows(message: dict[str, Any], width: int, charset: Charset) -> list[Row]:
    """Return what speaks for and against the verdict, loudest first, in bits."""
    return [
        row(("class:usual" if e["bits"] > 0 else "class:odd", f"{'for' if e['bits'] > 0 else 'against':<8}"),
            shortened(charset.text(f"{in_words(e['check'])} = {in_words(e['band'])}"), width - 20, charset),
            f"  {e['bits']:+.1f} bits")
        for e in loudest(message["evidence"])
    ]  # fmt: skip


def option_rows(message: dict[str, Any], width: int, charset: Charset) -> list[Row]:
    """Return the repairs to choose from, each with what it takes and what it leaves."""
    rows = []
    for option in message["options"]:
        kind = "  PROOF ONLY, no repair" if option["proof"] else ""
        text = charset.text(f"{option['do']} ({option['minutes']:g} min){kind}")
        first, *rest = wrapped(text, width - 4) or [""]
        rows.append(row(("class:key", f" {option['id']} "), " ", ("class:lead", first)))
        rows += [row(f"    {line}") for line in rest]
        for key in ("parts", "skill", "risk", "restores", "leaves"):
            if option[key]:
                rows += [row(("class:muted", f"    {line}"))
                         for line in wrapped(charset.text(f"{key}: {option[key]}"), width - 4)]  # fmt: skip
    return rows


def brief_option_rows(message: dict[str, Any], width: int, charset: Charset) -> list[Row]:
    """Return the repairs to choose from, a row each, for where what they take and leave has no room."""
    rows = []
    for option in message["options"]:
        tail = f" ({option['minutes']:g} min){'  PROOF ONLY' if option['proof'] else ''}"
        what = shortened(charset.text(option["do"]), width - 4 - cells(tail), charset)
        rows.append(row(("class:key", f" {option['id']} "), " ", ("class:lead", f"{what}{tail}")))
    return rows


def causes_rows(job: Any, causes: Sequence[str], width: int, charset: Charset) -> list[Row]:
    """Return causes a meter cannot tell apart, in words."""
    return [row(shortened(charset.text(f"- {cause_say(job, c)}"), width, charset)) for c in causes]


def talk_rows(talk: Sequence[Said], width: int, height: int, charset: Charset) -> list[Row]:
    """Return the end of the talk. Where the last thing said is longer than the room, its beginning is kept."""
    if height <= 0:
        return []
    blocks = [_spoken(said, width, charset) for said in talk[-height:]]
    rows: list[Row] = []
    for block in reversed(blocks):
        if len(block) + len(rows) <= height:
            rows = [*block, *rows]
            continue
        if not rows:
            more = row(("class:muted", f"        {charset.pick('…', '...')} more: a taller window shows it"))
            return [*block[: height - 1], more]
        break
    return rows


def newest_rows(talk: Sequence[Said], width: int, charset: Charset) -> int:
    """Return how many rows the last thing said takes."""
    return len(_spoken(talk[-1], width, charset)) if talk else 0


def _spoken(said: Said, width: int, charset: Charset) -> list[Row]:
    lines = wrapped(charset.text(said.text), max(10, width - 8)) or [""]
    style = "class:guide" if said.who is Who.GUIDE else "class:you"
    first = row(("class:muted", f"{said.who.value:>6}  "), (style, lines[0]))
    if said.sure:
        first = right_aligned(first, row(("class:title", f" ({charset.text(said.sure)})")), width)
    return [first, *(row(("", " " * 8), (style, line)) for line in lines[1:])]
