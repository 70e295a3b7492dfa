"""Pictures of trees: everything is there once, nothing lies over anything else, nothing breaks out."""

import re
import shutil
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings, strategies as st

from guide import cli
from guide.core.drawing import markdown_of, picture_of, svg_of
from guide.core.drawing.layout import Sizes, layout_of
from guide.core.lint import lint
from guide.core.tree import Finding, Where
from tests.reports import HOSTILE, answer_all, hostile_report, line_bench, line_tree, report_of_bench
from tests.test_report import demo_report, golden
from tests.test_report_forms import CHROMIUM, browse
from tests.worlds import FERNLEAF, random_trees, shipped_tree

SVG = "{http://www.w3.org/2000/svg}"
SIZES = Sizes()


@pytest.fixture
def fernleaf():
    return shipped_tree(FERNLEAF)[0]


def boxes(text: str) -> list[tuple[float, float]]:
    """Return the top left corner of every node of an SVG."""
    root = ElementTree.fromstring(text)
    moved = [g.get("transform") for g in root.findall(f"{SVG}g")]
    return [tuple(map(float, re.fullmatch(r"translate\((\S+) (\S+)\)", m).groups())) for m in moved]


def overlapping(corners) -> list[tuple]:
    return [
        (a, b)
        for i, a in enumerate(corners)
        for b in corners[i + 1 :]
        if abs(a[0] - b[0]) < SIZES.width - 0.2 and abs(a[1] - b[1]) < SIZES.height - 0.2
    ]


def big_tree(count: int = 60):
    """A tree of `count` routed checks: a walk with side branches that join again further down."""
    base = line_tree()
    check = base.checks["rail-volts"]
    checks = {}
    for i in range(count):
        ahead = [f"step-{j}" for j in (i + 1, i + 2, i + 5) if j < count] or ["clamp-a-short"]
        to = {band.name: ahead[k % len(ahead)] for k, band in enumerate(check.bands)}
        to["high"] = "clamp-b-short"
        checks[f"step-{i}"] = replace(check, id=f"step-{i}", then=to)
    return replace(base, checks=checks, start="step-0")


def test_the_shipped_tree_is_drawn_as_its_golden_files_say(fernleaf, tmp_path):
    picture = picture_of(fernleaf, lint(fernleaf), job=demo_report(tmp_path))
    golden("fernleaf-tree.svg", svg_of(picture))
    golden("fernleaf-tree.md", markdown_of(picture))


@settings(max_examples=40, deadline=None)
@given(random_trees())
def test_every_part_of_any_tree_is_drawn_once_and_apart(tree):
    picture = picture_of(tree)
    names = [n.id for n in picture.nodes]
    swept = set(tree.sweeps) & set(names)
    assert sorted(names) == sorted({*tree.checks, *tree.causes, *swept})
    corners = boxes(svg_of(picture))
    assert len(corners) == len(names)
    assert overlapping(corners) == []


@given(
    st.integers(1, 12).flatmap(
        lambda n: st.tuples(st.just(n), st.lists(st.tuples(st.integers(0, n - 1), st.integers(0, n - 1)), max_size=30))
    )
)
def test_any_graph_is_laid_out_with_its_nodes_apart_even_with_circles(drawn):
    count, links = drawn
    names = [f"n{i}" for i in range(count)]
    found = layout_of(names, [(names[a], names[b]) for a, b in links], SIZES)
    assert set(found.places) == set(names)
    assert overlapping(list(found.places.values())) == []
    for (a, b), points in found.routes.items():
        for name, (x, y) in ((a, points[0]), (b, points[-1])):
            left, top = found.places[name]
            assert (x, y) == pytest.approx((left + SIZES.width / 2, top))
        steps = {round((q[1] - p[1]) / (SIZES.height + SIZES.drop), 6) for p, q in pairwise(points)}
        assert steps in ({1.0}, {-1.0}), "a route passes every layer between its ends"


def test_a_tree_of_sixty_checks_is_drawn_apart():
    text = svg_of(picture_of(big_tree()))
    corners = boxes(text)
    assert len(corners) == 60 + 7
    assert overlapping(corners) == []


def test_routes_lead_down_from_where_the_tree_begins(fernleaf):
    found = layout_of([n.id for n in picture_of(fernleaf).routed],
                      [(e.source, e.target) for e in picture_of(fernleaf).edges], SIZES)  # fmt: skip
    assert min(found.places, key=lambda n: found.places[n][1]) == fernleaf.start
    for edge in picture_of(fernleaf).edges:
        assert found.places[edge.source][1] < found.places[edge.target][1]


def test_bands_that_share_a_target_share_an_edge(fernleaf):
    edges = {(e.source, e.target): e.bands for e in picture_of(fernleaf).edges}
    assert edges["bus-ohms", "cable-broken"] == ("lone", "none")
    assert edges["feed-volts", "probes-off"] == ("low",)


def test_the_path_of_a_job_is_marked_on_nodes_and_edges(fernleaf, tmp_path):
    picture = picture_of(fernleaf, job=demo_report(tmp_path))
    steps = {n.id: n.steps for n in picture.nodes if n.steps}
    assert steps["feed-volts"][0] == "1"
    assert steps["cable-broken"] == ("verdict",)
    taken = {(e.source, e.target) for e in picture.edges if e.taken}
    assert taken == {("feed-volts", "bus-ohms"), ("bus-ohms", "cable-broken")}
    assert "==>" in markdown_of(picture)
    assert 'stroke-width="3"' in svg_of(picture)


def test_findings_are_marked_on_what_they_are_about(fernleaf):
    check, cause = fernleaf.checks["bus-ohms"], fernleaf.causes["fuse-open"]
    found = (
        Finding("T18", Where("x.yaml", check.where.line + 1), "prompt too long"),
        Finding("T13", cause.where, "no repair"),
        Finding("T14", Where("x.yaml", 1), "about the whole tree"),
    )
    picture = picture_of(fernleaf, found)
    assert {n.id: n.rules for n in picture.nodes if n.rules} == {"bus-ohms": ("T18",), "fuse-open": ("T13",)}
    for text in (svg_of(picture), markdown_of(picture)):
        assert "! T18" in text
        assert "about the whole tree" in text


def test_what_the_odds_choose_is_grouped_by_what_it_needs():
    picture = picture_of(line_tree())
    groups = {g.title: [n.id for n in g.nodes] for g in picture.groups}
    assert groups["Chosen by the odds, power off"] == ["look-clamp", "line-a", "line-b"]
    assert groups["Worked out from two readings"] == ["lines-alike"]
    assert groups["Chosen by the odds, any power state"] == ["opened"]


# --- nothing breaks out -------------------------------------------------------------------------------------------


def hostile_tree():
    tree = line_tree()
    then = {n: {b.name: "line-a" for b in c.bands} for n, c in tree.checks.items() if n != "line-a"}
    asked = {n: c for n, c in tree.checks.items() if c.twin is None}
    checks = {n: replace(c, ask=HOSTILE, then=then.get(n, {})) for n, c in asked.items()}
    causes = {n: replace(c, say=HOSTILE) for n, c in tree.causes.items()}
    return replace(tree, device=HOSTILE, symptom=HOSTILE, checks=checks, causes=causes)


def test_hostile_text_stays_text_in_the_svg():
    found = (Finding("T18", Where("x.yaml", 1), HOSTILE),)
    root = ElementTree.fromstring(svg_of(picture_of(hostile_tree(), found, job=hostile_report())))
    ours = {f"{SVG}{t}" for t in ("svg", "title", "defs", "marker", "path", "rect", "text", "g")}
    assert {e.tag for e in root.iter()} <= ours
    assert not any(name.startswith("on") or "href" in name for e in root.iter() for name in e.attrib)
    assert any("<script>alert(1)</script>" in (e.text or "") for e in root.iter())


def test_hostile_text_stays_text_in_mermaid():
    """No character that Mermaid, HTML or the fence gives a meaning to is left inside a label."""
    text = markdown_of(picture_of(hostile_tree(), (), job=hostile_report()))
    chart = text.split("```mermaid\n")[1].split("\n```")[0]
    assert text.count("```") == 2
    labels = re.findall(r'"([^"\n]*)"', chart)
    assert len(labels) > 10
    for label in labels:
        bare = re.sub(r"#\d+;", "", label.replace("<br>", " "))
        assert not set(bare) & set('<>"`[]{}|$*_\\&;#')
    for line in chart.splitlines()[1:]:
        assert re.fullmatch(
            r'\s+(n\d+(\["|\[\["|\(\[").*("\]|"\]\]|"\]\))|subgraph g\d+\[".*"\]|end|n\d+ (-->|==>)\|".*"\| n\d+'
            r"|classDef \w+ \S+|class n\d+(,n\d+)* \w+)", line
        ), line  # fmt: skip


@pytest.mark.skipif(CHROMIUM is None or shutil.which("chromium") is None, reason="chromium is not installed")
def test_no_text_of_a_drawing_leaves_its_box_in_a_browser(tmp_path):
    bench = line_bench(tmp_path)
    answer_all(bench)
    probe = """<script>addEventListener("load", () => {
      const all = [...document.querySelectorAll("svg g")], out = all.filter(g => {
        const b = g.querySelector("rect").getBoundingClientRect();
        return [...g.querySelectorAll("text")].some(t => { const c = t.getBoundingClientRect();
          return c.left < b.left || c.right > b.right + 0.5 || c.bottom > b.bottom + 0.5; }); });
      document.title = "probe:" + all.length + ":" + out.map(g => g.textContent).join("|");
    });</script>"""
    svg = svg_of(picture_of(big_tree())) + svg_of(
        picture_of(line_tree(), lint(line_tree()), job=report_of_bench(bench))
    )
    (tmp_path / "d.html").write_text(f"<!doctype html><meta charset=utf-8><body>{svg}{probe}", encoding="utf-8")
    seen = browse(tmp_path, "--dump-dom", (tmp_path / "d.html").as_uri())
    count, outside = re.search(r"probe:(\d+):(.*?)</title>", seen, re.DOTALL).groups()
    assert int(count) == 67 + 13
    assert outside == ""


# --- the command ------------------------------------------------------------------------------------------------------


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path / "home"))
    demo_report(tmp_path / "home")
    return tmp_path


def test_draw_writes_svg_and_markdown(home, capsys):
    assert cli.run(["draw", FERNLEAF, "--job", "1", "--to", str(home / "t.svg")]) == 0
    assert ElementTree.parse(home / "t.svg").getroot().tag == f"{SVG}svg"
    assert cli.run(["draw", FERNLEAF, "--to", str(home / "t.md")]) == 0
    assert "```mermaid" in (home / "t.md").read_text(encoding="utf-8")
    capsys.readouterr()
    assert cli.run(["draw", FERNLEAF]) == 0
    assert "flowchart TD" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["draw", "no/such-tree"], "no tree is called no/such-tree"),
        (["draw", FERNLEAF, "--to", "t.png"], "use .svg or .md"),
        (["draw", FERNLEAF, "--job", "77"], "there is no job 77"),
        (["draw", "other/tree", "--job", "1"], f"job 1 walks {FERNLEAF}, not other/tree"),
        (["draw", FERNLEAF, "--to", "/no/such/folder/t.svg"], "cannot be written"),
    ],
)
def test_bad_use_is_one_clear_line(home, capsys, arguments, told):
    assert cli.run(arguments) == 2
    error = capsys.readouterr().err
    assert told in error
    assert error.count("\n") == 1


def test_a_tree_with_findings_is_drawn_all_the_same(home, capsys):
    text = (shipped_tree(FERNLEAF)[1]).replace("then: {shut: probes-off, open: fuse-open}", "then: {shut: nowhere}")
    folder = home / "mine" / "fernleaf-gh2"
    folder.mkdir(parents=True)
    (folder / "broken.yaml").write_text(text, encoding="utf-8")
    assert cli.run(["draw", "fernleaf-gh2/broken", "--trees", str(home / "mine")]) == 0
    assert "T06" in capsys.readouterr().out
