"""Every lint rule with an example that breaks it and one that stays just inside it."""

import re
from pathlib import Path

import pytest

from guide import cli
from guide.core.lint import BLOCKING, RULES, blocking, endings, endings_table, lint
from guide.core.lint.evidence import MOST_ENDINGS
from guide.edge.trees import treefile
from tests.lint_examples import BREAKS, CLEAN, PASSES, changed

DEVELOPERS = Path(__file__).parents[1] / "DEVELOPERS.md"
SAMPLE = Path(__file__).parents[1] / "trees" / "fernleaf-gh2" / "sensor-bus-dead.yaml"


def tree_of(text, name="t"):
    tree, found = treefile.load(text, f"{name}.yaml", name)
    assert tree is not None, found
    return tree, found


def told(text):
    """Every finding, the loader's and the rules', as `line: code message`."""
    tree, found = tree_of(text)
    return [f"{f.where.line}: {f.rule} {f.message}" for f in (*found, *lint(tree))]


def test_the_clean_tree_is_clean():
    assert told(CLEAN) == []


def test_the_sample_tree_is_clean():
    assert told(SAMPLE.read_text()) == []


@pytest.mark.parametrize("case", BREAKS)
def test_a_broken_rule_is_told_at_its_line_with_what_to_do(case):
    changes, said = BREAKS[case]
    assert said in told(changed(*changes))


@pytest.mark.parametrize("case", PASSES)
def test_what_stays_inside_a_rule_is_not_told(case):
    assert told(changed(*PASSES[case])) == []


def test_every_rule_has_a_breaking_example():
    documented = {f"T{n:02}" for n in range(1, 31)}
    assert {case.split()[0] for case in BREAKS} == documented
    assert {rule.__doc__.split(":")[0] for rule in RULES} == documented - {"T04"}  # the loader's


@pytest.mark.parametrize("case", [c for c in BREAKS if c.split()[0] in BLOCKING])
def test_a_tree_unfit_to_run_is_refused(case):
    text = changed(*BREAKS[case][0])
    tree, found = tree_of(text)
    assert {f.rule for f in (*found, *blocking(tree))} & {case.split()[0]}
    with pytest.raises(treefile.TreeError):
        treefile.read(text, "t.yaml", "t")


@pytest.mark.parametrize("case", [c for c in BREAKS if c.split()[0] not in BLOCKING])
def test_a_tree_with_lesser_findings_still_runs(case):
    assert treefile.read(changed(*BREAKS[case][0]), "t.yaml", "t").checks


def test_the_tree_that_authors_are_told_to_begin_with_has_no_findings():
    """DEVELOPERS shows it whole."""
    [block] = re.findall(r"```yaml\n(.*?)```", DEVELOPERS.read_text(encoding="utf-8"), re.DOTALL)
    assert told(block) == []


def test_two_trees_that_sound_alike_are_told_apart():
    one, _ = tree_of(CLEAN, "one")
    two, _ = tree_of(CLEAN.replace("[valve hums]", "[water leaks, valve hans]"), "two")
    assert [str(f) for f in lint(two, [one, two])] == [
        "two.yaml:4: T19 `valve hans` sounds like `valve hums` of one; say what sets them apart"
    ]
    assert lint(one, [one]) == ()


def test_a_misspelt_start_is_one_mistake_and_not_one_a_check():
    """No check behind it is reached, which says nothing that the name does not."""
    found = told(changed(("start: history", "start: histery"), ("driven: plan}", "driven: stop}")))
    assert [f.split(" ")[1] for f in found] == ["T06"]


def test_a_misspelt_source_does_not_leave_its_note_unused_too():
    found = told(CLEAN.replace("source: sheet", "source: shet"))
    assert [f.split(": ")[-1] for f in found] == ["shet is not in `sources`; did you mean `sheet`?"] * 4


def test_a_row_of_a_missing_other_is_not_told_beside_it():
    row = ("p: {coil-open", "p: {other: {dropped: 0.5, never: 0.5}, coil-open")
    found = told(changed(row, ("  other: {weight: 0.2, say: Something else.}\n", "")))
    assert [f.split(" ")[1] for f in found] == ["T14"]


def test_weak_ways_to_one_end_are_told_once_with_the_weakest_and_come_first_in_the_table():
    tree, _ = tree_of(changed(("{short: stop, good: drive,", "{short: driver-open, good: drive,")))
    weak = [e.p for e in endings(tree) if e.p is not None and e.p < tree.decide_at]
    assert len(weak) == 2
    [said] = [f for f in lint(tree) if f.rule == "T17"]
    assert f"{min(weak):.3f}, under 0.9, the weakest of 2 such ways" in said.message
    first = [line.split()[0] for line in endings_table(tree).splitlines()[1:3]]
    assert first == [f"{p:.3f}" for p in weak]


def test_a_copy_under_another_name_is_told_once_and_not_for_every_phrase():
    one, _ = tree_of(CLEAN.replace("[valve hums]", "[valve hums, water is off, nothing flows]"), "one")
    copy, _ = tree_of(CLEAN.replace("[valve hums]", "[valve hums, water is off, nothing flows]"), "copy")
    assert [f.message for f in lint(copy, [one, copy])] == [
        "`valve hums` sounds like `valve hums` of one, and so do 2 more; say what sets them apart"
    ]


# Endings


def test_the_sample_endings_come_out_at_the_worked_posteriors():
    """Second method: the products worked by hand from weights 5, 2, 4, 1, 1 and rows of 0.98.

    dead, open for the fuse: 5*.98*.98 against 2*.49*.02, 4*(.02/3)*.02, other 1*.25*.5, none 1*(.02/3)*.02.
    low, back for the feed: 2*.49*.98 against 5*(.02/3)*.02, 4*(.02/3)*.02, other .125, none (.02/3)*.02.
    """
    tree, _ = tree_of(SAMPLE.read_text())
    found = {(e.end, e.route[-2:]): e.p for e in endings(tree)}
    third = 0.02 / 3
    fuse = 5 * 0.98 * 0.98
    feed = 2 * 0.49 * 0.98
    assert found["fuse-open", (("feed-volts", "dead"), ("fuse-ohms", "open"))] == pytest.approx(
        fuse / (fuse + 2 * 0.49 * 0.02 + 4 * third * 0.02 + 0.125 + third * 0.02)
    )
    assert found["feed-shorted", (("feed-volts", "low"), ("probes-off", "back"))] == pytest.approx(
        feed / (feed + 5 * third * 0.02 + 4 * third * 0.02 + 0.125 + third * 0.02)
    )
    named = [round(e.p, 2) for e in endings(tree) if e.p is not None]
    assert (min(named), max(named)) == (0.88, 0.97)


def test_the_table_of_endings_has_a_line_for_each():
    tree, _ = tree_of(SAMPLE.read_text())
    lines = endings_table(tree).splitlines()
    assert len(lines) == 1 + len(endings(tree)) == 11
    assert lines[4].split() == [
        "0.884",
        "feed-shorted",
        "feed-shorted",
        "0.884",
        "feed-volts",
        "low,",
        "probes-off",
        "back",
    ]
    assert lines[2].split()[:3] == ["stop", "fuse-open", "0.458"]


def test_lint_prints_all_endings_of_a_tree_with_a_weak_one_and_of_no_other(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    weak, sound = tmp_path / "weak.yaml", tmp_path / "sound.yaml"
    text = SAMPLE.read_text().replace("heard_as: [", "heard_as: [unlike ")
    weak.write_text(text.replace("decide_at: 0.85", "decide_at: 0.95"))
    assert cli.run(["lint", str(weak)]) == 1
    out = capsys.readouterr().out
    assert "Endings of weak, which asks 0.95:" in out
    table = endings_table(tree_of(SAMPLE.read_text())[0]).splitlines()
    assert all(f"  {line}".rstrip() in out.splitlines() for line in table)
    sound.write_text(text)
    cli.run(["lint", str(sound)])
    assert "Endings of" not in capsys.readouterr().out


def test_lint_says_of_a_file_nobody_could_begin_a_job_on_where_to_put_it(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    known, stray = tmp_path / "trees" / "valve.yaml", tmp_path / "valve.yaml"
    known.parent.mkdir()
    known.write_text(CLEAN)
    assert cli.run(["lint", str(known)]) == 0
    assert capsys.readouterr().out == "No findings.\n"
    known.rename(stray)
    assert cli.run(["lint", str(stray)]) == 0
    said = f"{stray} is not among the trees guide knows; put it below {known.parent}, or name its folder with --trees."
    assert capsys.readouterr().out.splitlines() == ["No findings.", said]


def test_a_tree_without_a_start_has_no_authored_endings():
    tree, _ = tree_of(changed(("start: history\n", "")))
    assert endings(tree) == ()


def test_routes_beyond_counting_are_told_and_do_not_hang():
    """Forks that meet again double the routes: 20 of them make a million."""
    forks = "".join(
        f"  q{i}: {{ask: Well?, answer: {{a: alpha, b: bravo}}, hazard: none, normal: a, then: {{a: {g}, b: {g}}}}}\n"
        for i, g in enumerate([*(f"q{n}" for n in range(1, 20)), "history"])
    )
    text = changed(("start: history", "start: q0"), ("checks:\n", f"checks:\n{forks}"))
    tree, _ = tree_of(text)
    assert len(endings(tree)) == MOST_ENDINGS
    assert f"5: T17 {MOST_ENDINGS} routes or more, not all were tried; end some at `plan`" in told(text)
