"""A picture of a tree as Markdown with a Mermaid flowchart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from guide.core.drawing.graph import Edge, Kind, Node, Picture
from guide.core.markdown import escaped, listed, table
from guide.core.palette import COLOURS

_SHAPES = {Kind.CHECK: ('["', '"]'), Kind.SWEEP: ('[["', '"]]'), Kind.CAUSE: ('(["', '"])')}
# Characters that mean something to Mermaid, to HTML inside it or to the fence around it, as its entity codes.
_CODES = {ord(c): f"#{ord(c)};" for c in "\"'`<>&#;{}[]()|\\~$%*_@"}


def coded(text: str) -> str:
    """Return `text` so that a Mermaid label shows it as it is."""
    return " ".join(text.split()).translate(_CODES)


def markdown_of(picture: Picture) -> str:
    """Return a Markdown page: the flowchart, then what does not fit into its boxes."""
    lines = [f"# {escaped(picture.symptom)}", "", f"{escaped(picture.tree)} · {escaped(picture.device)}", ""]
    lines += ["```mermaid", *_flowchart(picture), "```", ""]
    rows = [(n.title, n.kind, n.says, "; ".join(n.facts)) for n in picture.nodes]
    lines += ["## What each box says", "", *table(("Id", "Kind", "Says", "More"), rows)]
    for head, said in (("Path of the job", picture.path), ("Findings", picture.findings)):
        if said:
            lines += [f"## {head}", "", *listed(said)]
    return "\n".join(lines).rstrip() + "\n"


def _flowchart(picture: Picture) -> Iterator[str]:
    ids = {node.id: f"n{i}" for i, node in enumerate(picture.nodes)}
    yield "flowchart TD"
    for node in picture.routed:
        yield f"  {_box(node, ids)}"
    for i, group in enumerate(picture.groups):
        yield f'  subgraph g{i}["{coded(group.title)}"]'
        yield from (f"    {_box(node, ids)}" for node in group.nodes)
        yield "  end"
    for edge in picture.edges:
        yield f"  {_arrow(edge, ids)}"
    ink, rule = COLOURS["ink"], COLOURS["rule"]
    for name, fill, stroke, width, nodes in (
        ("taken", COLOURS["taken"], ink, 3, [n for n in picture.nodes if n.steps]),
        ("finding", COLOURS["finding"], rule, 1, [n for n in picture.nodes if n.rules and not n.steps]),
    ):
        if nodes:
            yield f"  classDef {name} fill:{fill},stroke:{stroke},stroke-width:{width}px,color:{ink}"
            yield f"  class {','.join(ids[n.id] for n in nodes)} {name}"


def _box(node: Node, ids: Mapping[str, str]) -> str:
    opening, closing = _SHAPES[node.kind]
    steps = [f"(step {', '.join(node.steps)})"] if node.steps else []
    rules = [f"(! {' '.join(node.rules)})"] if node.rules else []
    said = [node.title, node.says, *steps, *rules]
    return f"{ids[node.id]}{opening}{'<br>'.join(coded(s) for s in said)}{closing}"


def _arrow(edge: Edge, ids: Mapping[str, str]) -> str:
    arrow = "==>" if edge.taken else "-->"
    return f'{ids[edge.source]} {arrow}|"{coded(", ".join(edge.bands))}"| {ids[edge.target]}'
