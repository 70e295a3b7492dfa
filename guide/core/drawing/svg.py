"""A picture of a tree as SVG: rectangles for checks, double ones for sweeps, rounded ones for causes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import pairwise
from xml.sax.saxutils import escape

from guide.core.drawing.graph import Edge, Group, Kind, Node, Picture
from guide.core.drawing.layout import Layout, Point, Sizes, layout_of
from guide.core.palette import COLOURS

SIZES = Sizes()
MARGIN = 24.0
HEAD = 58.0
COLUMNS = 4  # of groups, or more where the routes are wider
GLYPH = 5.6  # a usual letter's width where text is 10.5 units high
LINE = 14.0
MOST_FINDINGS = 40
FAR_DROP, FAR_ROWS = 40.0, 2  # where routes that lead too far are named below their check
C = COLOURS


def svg_of(picture: Picture) -> str:
    """Return the picture as one SVG document, valid XML, every text escaped."""
    names = [n.id for n in picture.routed]
    found = layout_of(names, [(e.source, e.target) for e in picture.edges], SIZES)
    least = COLUMNS * (SIZES.width + SIZES.gap) - SIZES.gap
    width = max(found.width, least)
    shift = (MARGIN + (width - found.width) / 2, HEAD + MARGIN)
    body = list(_routes(picture, found, shift))
    top = shift[1] + found.height + (SIZES.gap if names else 0.0)
    for group in picture.groups:
        made, top = _group(group, top, width)
        body += made
    foot, top = _foot(picture, top + 20, width)
    whole = (width + 2 * MARGIN, top + MARGIN)
    return "\n".join([*_head(picture, whole), *body, *foot, "</svg>"]) + "\n"


def _head(picture: Picture, whole: Point) -> Iterator[str]:
    wide, high = (_n(v) for v in whole)
    title = escape(f"{picture.tree}: {picture.symptom}")
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" height="{high}" role="img"'
        f' font-family="Liberation Sans, Helvetica Neue, Arial, sans-serif" font-size="10.5" fill="{C["ink"]}">'
    )
    yield f"<title>{title}</title>"
    yield (
        f'<defs><marker id="tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="8" markerHeight="8" orient="auto"'
        f' markerUnits="userSpaceOnUse"><path d="M0 0L8 4L0 8z" fill="{C["ink"]}"/></marker></defs>'
    )
    yield f'<rect width="{wide}" height="{high}" fill="{C["paper"]}"/>'
    yield _text(MARGIN, 30, _cut(picture.symptom, whole[0] / 1.7), 'font-size="17" font-weight="bold"')
    yield _text(MARGIN, 50, _cut(f"{picture.tree} · {picture.device}", whole[0]), f'fill="{C["muted"]}"')


def _routes(picture: Picture, found: Layout, shift: Point) -> Iterator[str]:
    """Routes first, so that nodes lie over them, and their bands last, so that nothing covers those."""
    labels: list[str] = []
    leaving: dict[str, list[Edge]] = {}
    for edge in picture.edges:
        leaving.setdefault(edge.source, []).append(edge)
    for edges in leaving.values():
        drawn = [e for e in edges if (e.source, e.target) in found.routes]
        ordered = sorted(drawn, key=lambda e: found.routes[e.source, e.target][1][0])
        for index, edge in enumerate(ordered):
            line, label = _route(edge, found, shift, (index, len(ordered)))
            yield line
            labels.append(label)
        labels += _named([e for e in edges if e not in drawn], found, shift)
    for node in picture.routed:
        x, y = found.places[node.id]
        yield from _node(node, x + shift[0], y + shift[1])
    yield from labels


def _route(edge: Edge, found: Layout, shift: Point, place: tuple[int, int]) -> tuple[str, str]:
    index, count = place
    middles = [(x + shift[0], y + shift[1]) for x, y in found.routes[edge.source, edge.target]]
    port = middles[0][0] + SIZES.width * ((index + 0.5) / count - 0.5) * 0.86
    down = middles[1][1] > middles[0][1]
    start = (port, middles[0][1] + (SIZES.height if down else 0.0))
    end = (middles[-1][0], middles[-1][1] + (0.0 if down else SIZES.height))
    passed = [p for x, y in middles[1:-1] for p in ((x, y), (x, y + SIZES.height))]
    points = [start, *(passed if down else _upward(passed)), end]
    bend = SIZES.drop * (0.5 if down else -0.5)
    curve = [f"M{_n(points[0][0])} {_n(points[0][1])}"]
    for (x1, y1), (x2, y2) in pairwise(points):
        straight = x1 == x2
        curve.append(
            f"L{_n(x2)} {_n(y2)}" if straight
            else f"C{_n(x1)} {_n(y1 + bend)} {_n(x2)} {_n(y2 - bend)} {_n(x2)} {_n(y2)}"
        )  # fmt: skip
    colour, width = (C["ink"], "3") if edge.taken else (C["rule"], "1.2")
    line = f'<path d="{"".join(curve)}" fill="none" stroke="{colour}" stroke-width="{width}" marker-end="url(#tip)"/>'
    return line, _label(edge, start, index, down)


def _named(edges: Sequence[Edge], found: Layout, shift: Point) -> Iterator[str]:
    """Return routes that lead too far to be drawn, in words below where they leave."""
    for row, edge in enumerate(edges[:FAR_ROWS]):
        rest = len(edges) - FAR_ROWS if row == FAR_ROWS - 1 else 0
        said = f"{', '.join(edge.bands)} → {edge.target}{f' and {rest} more' if rest > 0 else ''}"
        x, y = found.places[edge.source]
        at = (x + shift[0] + SIZES.width / 2, y + shift[1] + SIZES.height + FAR_DROP + row * LINE)
        yield _label_at(at, _cut(said, SIZES.width), said, taken=edge.taken)


def _upward(points: Sequence[Point]) -> list[Point]:
    return [p for a, b in zip(points[1::2], points[::2], strict=True) for p in (a, b)]


def _label(edge: Edge, start: Point, index: int, down: bool) -> str:
    """Return the bands of a route just past where it leaves; neighbours stand on two heights."""
    said = _cut(", ".join(edge.bands), 19 * GLYPH)
    y = start[1] + (13.0 + 13.0 * (index % 2)) * (1 if down else -1)
    return _label_at((start[0], y), said, ", ".join(edge.bands), taken=edge.taken)


def _label_at(at: Point, said: str, whole: str, *, taken: bool) -> str:
    half = len(said) * GLYPH / 2 + 3
    weight = ' font-weight="bold"' if taken else ""
    return (
        f'<rect x="{_n(at[0] - half)}" y="{_n(at[1] - 9)}" width="{_n(2 * half)}" height="12" fill="{C["paper"]}"/>'
        f'<text x="{_n(at[0])}" y="{_n(at[1])}" text-anchor="middle"{weight}>{escape(said)}'
        f"<title>{escape(whole)}</title></text>"
    )


def _group(group: Group, top: float, width: float) -> tuple[list[str], float]:
    columns = max(1, int((width + SIZES.gap) // (SIZES.width + SIZES.gap)))
    made = [_text(MARGIN, top + 26, group.title, 'font-size="13" font-weight="bold"')]
    top += 38
    for i, node in enumerate(group.nodes):
        x = MARGIN + i % columns * (SIZES.width + SIZES.gap)
        made += _node(node, x, top + i // columns * (SIZES.height + SIZES.gap))
    rows = (len(group.nodes) + columns - 1) // columns
    return made, top + rows * (SIZES.height + SIZES.gap)


def _node(node: Node, x: float, y: float) -> Iterator[str]:
    w, h = SIZES.width, SIZES.height
    usual = "normal" if node.kind is Kind.CAUSE else "panel"
    fill = C["taken" if node.steps else "finding" if node.rules else usual]
    stroke, thick = (C["ink"], "2.6") if node.steps else (C["rule"], "1")
    round_ = "18" if node.kind is Kind.CAUSE else "2"
    yield f'<g transform="translate({_n(x)} {_n(y)})"><title>{escape(f"{node.title}: {node.says}")}</title>'
    border = f'stroke="{stroke}" stroke-width="{thick}"'
    yield f'<rect width="{_n(w)}" height="{_n(h)}" rx="{round_}" fill="{fill}" {border}/>'
    if node.kind is Kind.SWEEP:
        yield f'<rect x="4" y="4" width="{_n(w - 8)}" height="{_n(h - 8)}" fill="none" stroke="{stroke}"/>'
    badge = _badge(node)
    room = w - 20 - len(badge) * GLYPH * 1.1
    yield _text(10, 17, _cut(node.title, room, glyph=GLYPH * 1.16), 'font-size="11.5" font-weight="bold"')
    if badge:
        colour = C["ink"] if node.steps else C["bad"]
        yield _text(w - 8, 17, badge, f'text-anchor="end" font-weight="bold" fill="{colour}"')
    for i, line in enumerate(_lines(node, w - 18)):
        yield _text(10, 33 + i * LINE, line)
    yield "</g>"


def _badge(node: Node) -> str:
    """Return the job's steps and the findings about a node, in words short enough for its corner."""
    steps = node.steps if len(node.steps) < 4 else (*node.steps[:2], "…", node.steps[-1])
    said = [", ".join(s if s == "verdict" else f"#{s}" for s in steps)] if steps else []
    rules = node.rules if len(node.rules) < 3 else (node.rules[0], f"+{len(node.rules) - 1}")
    return " ".join([*said, *([f"! {' '.join(rules)}"] if rules else [])])


def _lines(node: Node, width: float) -> list[str]:
    """Return what stands in the box: the question on two lines at most, then facts, five lines in all."""
    letters = int(width / GLYPH)
    asked = textwrap.wrap(node.says, letters, max_lines=2, placeholder=" …") or [""]
    return [*asked, *(_cut(f, width) for f in node.facts)][:5]


def _foot(picture: Picture, top: float, width: float) -> tuple[list[str], float]:
    said = [
        "A rectangle is a check, a double one a sweep, a rounded one a cause. Bands in brackets are a good unit's.",
        *(["Yellow and thick: the path of the job, #n its nth reading."] if picture.path else []),
        *([f"! marks findings: {len(picture.findings)}."] if picture.findings else []),
        *picture.findings[:MOST_FINDINGS],
        *([f"… and {len(picture.findings) - MOST_FINDINGS} more"] if len(picture.findings) > MOST_FINDINGS else []),
    ]
    lines = [line for one in said for line in textwrap.wrap(one, int(width / GLYPH))]
    made = [_text(MARGIN, top + (i + 1) * LINE, line, f'fill="{C["muted"]}"') for i, line in enumerate(lines)]
    return made, top + len(lines) * LINE


def _text(x: float, y: float, said: str, more: str = "") -> str:
    return f'<text x="{_n(x)}" y="{_n(y)}"{" " + more if more else ""}>{escape(said)}</text>'


def _cut(text: str, width: float, *, glyph: float = GLYPH) -> str:
    most = max(1, int(width / glyph))
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")
