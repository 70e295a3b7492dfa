"""The pictures of a report as SVG text, from small templates that HTML and PDF share.

Geometry is worked out here in user units; the templates only draw it. Every picture says in its `title` what it shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from markupsafe import Markup

from guide.core.jobs.wording import in_brief
from guide.core.palette import LINES
from guide.core.report.gather import LEAST_SHOWN
from guide.core.report.markdown import leading
from guide.core.report.model import Odds, Pair, Report, Row, Side, Standing, Step, Strip
from guide.core.report.wording import STRUCK, percent
from guide.core.tree import in_words
from guide.edge.reporting.templating import rendered

WIDTH = 460.0  # of every picture, in user units; text is 11 units high
GLYPH = 6.8  # a usual letter's width at that size in the widest of the usual fonts: a page is read on any machine
STRIP_HEIGHT = 42.0


def clipped(text: str, width: float, *, size: float = 11) -> str:
    """Return `text`, cut with a mark where it is wider than `width` units in letters of `size`."""
    most = max(1, int(width / (GLYPH * size / 11)))
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def number(value: float) -> str:
    """Return a coordinate with one decimal at most, as short as it goes."""
    return f"{value:.1f}".rstrip("0").rstrip(".")


@dataclass(frozen=True, slots=True)
class Box:
    x: str
    width: str
    middle: str
    name: str
    edge: str
    normal: bool
    holds: bool


def strip(row: Row) -> Markup:
    """Return a reading against its bands: a dot with a whisker, a diamond for OL, a square for a word."""
    assert row.strip is not None, "only a reading with bands has a strip"
    size = WIDTH / len(row.strip.cells)
    boxes = [
        Box(number(i * size), number(size), number((i + 0.5) * size), clipped(in_words(cell.name), size - 8),
            cell.edge if len(cell.edge) * GLYPH < size * 1.6 else "", cell.normal, cell.holds)
        for i, cell in enumerate(row.strip.cells)
    ]  # fmt: skip
    told = f"{in_words(row.check)}: {row.shown} {row.error_shown}".rstrip() + f", band {in_words(row.band)}"
    hollow = row.standing is not Standing.COUNTS
    return rendered("strip.svg.j2", boxes=boxes, told=told, hollow=hollow, shape=row.strip.shape, **_mark(row.strip))


def _mark(drawn: Strip) -> dict[str, str]:
    at, left, right = (min(WIDTH - 5, max(5.0, p * WIDTH)) for p in (drawn.at, drawn.left, drawn.right))
    return {"at": number(at), "left": number(left), "right": number(right)}


def pair(compared: Pair) -> Markup | None:
    """Return two twins on one axis, None where they are not two numbers."""
    if compared.first is None or compared.second is None:
        return None
    sides = (compared.first, compared.second)
    low = min(s.value - s.error for s in sides)
    high = max(s.value + s.error for s in sides)
    if not (isfinite(low) and isfinite(high)):
        return None
    span = (high - low) or abs(high) or 1.0
    start, width = 150.0, WIDTH - 160.0

    def place(value: float) -> float:
        return start + width * (0.08 + 0.84 * (value - low) / span)

    drawn = [_side(s, place) for s in sides]
    return rendered("pair.svg.j2", sides=drawn, told=f"{compared.ask}: {compared.told}", start=number(start))


def _side(side: Side, place: object) -> dict[str, str]:
    assert callable(place)
    at = place(side.value)
    return {
        "label": clipped(side.label, 140), "shown": side.shown, "at": number(at),
        "left": number(place(side.value - side.error)), "right": number(place(side.value + side.error)),
    }  # fmt: skip


CHART_TOP, CHART_HEIGHT, LABELS = 8.0, 170.0, 156.0
AXIS = 42.0
LEAST_GAP = 12.0


def odds(report: Report) -> Markup | None:
    """Return the odds of the leading causes after each step as lines, None where nothing moved them."""
    points, causes = report.odds, leading(report, most=len(LINES))
    if len(points) < 2:
        return None
    says = dict(report.causes)
    lines = [_line(i, cause, points) for i, cause in enumerate(causes)]
    ends = spread([CHART_TOP + CHART_HEIGHT * (1 - _p(points[-1], cause)) for cause in causes])
    labels = [
        {"y": number(y), "text": clipped(f"{_share(points[-1], cause)} {in_brief(cause)}", LABELS - 12)}
        for cause, y in zip(causes, ends, strict=True)
    ]
    told = "; ".join(f"{says.get(c, c)} {_share(points[-1], c)}" for c in causes)
    return rendered("odds.svg.j2", chart=lines, labels=labels, ticks=_ticks(points), told=told, axis=AXIS,
                    top=CHART_TOP, height=CHART_HEIGHT, right=WIDTH - LABELS)  # fmt: skip


def _p(point: Odds, cause: str) -> float:
    return dict(point.chances).get(cause, 0.0)


def _share(point: Odds, cause: str) -> str:
    found = _p(point, cause)
    return percent(found) if found else f"< {percent(LEAST_SHOWN)}"


def _x(index: int, count: int) -> float:
    return AXIS + (WIDTH - LABELS - AXIS) * index / max(1, count - 1)


def _line(index: int, cause: str, points: Sequence[Odds]) -> dict[str, object]:
    colour, dash, mark = LINES[index]
    placed = [(_x(i, len(points)), CHART_TOP + CHART_HEIGHT * (1 - _p(p, cause))) for i, p in enumerate(points)]
    few = placed if len(placed) <= 40 else placed[-1:]
    return {
        "colour": colour, "dash": dash, "mark": mark, "points": " ".join(f"{number(x)},{number(y)}" for x, y in placed),
        "marks": [(round(x, 1), round(y, 1)) for x, y in few],
    }  # fmt: skip


def _ticks(points: Sequence[Odds]) -> list[dict[str, str]]:
    """Return reading numbers below the axis, as many as fit."""
    every = max(1, len(points) // 14)
    return [
        {"x": number(_x(i, len(points))), "text": str(p.number) if p.number else "start" if i == 0 else "·"}
        for i, p in enumerate(points)
        if i % every == 0
    ]


def spread(heights: Sequence[float]) -> list[float]:
    """Return label heights moved apart just enough not to touch, kept inside the chart, order kept."""
    order = sorted(range(len(heights)), key=lambda i: heights[i])
    placed = list(heights)
    floor = CHART_TOP
    for i in order:
        placed[i] = floor = max(placed[i], floor)
        floor += LEAST_GAP
    ceiling = CHART_TOP + CHART_HEIGHT
    for i in reversed(order):
        placed[i] = min(placed[i], ceiling)
        ceiling = placed[i] - LEAST_GAP
    return placed


STEP_WIDTH, STEP_HEIGHT, STEPS_A_ROW = 84.0, 34.0, 5
STEP_LETTERS = 9


def path(report: Report) -> Markup | None:
    """Return the path taken as boxes from left to right, row by row, None where there is none."""
    if not report.path:
        return None
    steps = [_step(i, step) for i, step in enumerate(report.path)]
    rows = (len(steps) + STEPS_A_ROW - 1) // STEPS_A_ROW
    told = f"{len(steps)} steps: " + ", ".join(in_words(s.check) for s in report.path[:20])
    return rendered("path.svg.j2", steps=steps, told=told, height=number(rows * (STEP_HEIGHT + 14)),
                    box=(number(STEP_WIDTH), number(STEP_HEIGHT)))  # fmt: skip


def _step(index: int, step: Step) -> dict[str, object]:
    x = index % STEPS_A_ROW * (STEP_WIDTH + 10)
    y = index // STEPS_A_ROW * (STEP_HEIGHT + 14)
    answer = step.answer if step.standing == "passed" else in_words(step.band)
    title = f"{step.number}. {step.check}" if step.number else step.check
    below = STRUCK.get(step.standing, answer)
    return {
        "x": round(x, 1), "y": round(y, 1), "title": clipped(in_words(title), STEP_WIDTH - 4, size=STEP_LETTERS),
        "below": clipped(below, STEP_WIDTH - 4, size=STEP_LETTERS), "struck": step.standing in STRUCK,
        "odd": step.normal is False,
        "first": index == 0, "wraps": index > 0 and index % STEPS_A_ROW == 0,
    }  # fmt: skip
