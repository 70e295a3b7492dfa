"""The screen as rows of text: golden pictures at two sizes, and laws over random jobs, sizes and names.

To write the golden files anew: GUIDE_GOLDEN=write; then look at what came out.
"""

import os
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from guide.core.choice import Choice
from guide.core.intent import Unclear
from guide.core.jobs.deciding import decide
from guide.core.jobs.folding import fold
from guide.core.jobs.job import EVERY_READING, opened
from guide.core.jobs.phases import Phase
from guide.core.jobs.questions import enter_means, question
from guide.core.jobs.recap import odds_mislead
from guide.core.jobs.weighing import beliefs_of
from guide.core.jobs.wording import in_brief
from guide.core.reading import placed
from guide.core.report.wording import percent
from guide.core.tree import Hazard, Power
from guide.edge.screen import panels
from guide.edge.screen.cells import Charset, cells, shortened, wrapped
from guide.edge.screen.counter import lay_out
from guide.edge.screen.facts import POWER_WORDS, Line, last_reading, odds_of, progress, table_of_readings
from guide.edge.screen.keys import KEYS, keys_shown
from guide.edge.screen.layout import NEED_COLUMNS, NEED_ROWS, Size, layout
from guide.edge.screen.letters import DOTS_HIGH, GLYPHS, Face, large
from guide.edge.screen.scene import Said, Scene, Who, told
from tests.screens import text_of
from tests.test_job_laws import answers_to, start
from tests.worlds import TestBench, random_trees

GOLDEN = Path(__file__).parent / "golden" / "screens"
SMALL, BIG = Size(80, 24), Size(200, 60)

STAGES = {
    "caution": [],
    "check": ["ready", "12.1", "unplugged", "why"],
    "read-back": ["ready", "spoken: eleven point five"],
    "edge": ["ready", "11.40"],
    "verdict": ["ready", "12.1", "unplugged", "OL"],
    "repair": ["ready", "0.2", "unplugged", "OL", "enough"],
    "proof": ["ready", "12.1", "unplugged", "OL", "enough", "1", "done", "unplugged"],
    "function-test": ["ready", "12.1", "unplugged", "OL", "enough", "1", "done", "unplugged", "60.1"],
}


def staged(home, lines, **more) -> Scene:
    """Return the scene after `lines`, the clock standing at 09:41."""
    bench = TestBench(home, **more)
    scene = Scene(bench.job, told(bench.said), clock="09:41")
    for line in lines:
        spoken = line.startswith("spoken: ")
        words = line.removeprefix("spoken: ")
        answer = bench.hears(words, spoken=spoken)
        scene = scene.saying(Said(Who.YOU, words), *told(answer))
    return replace(scene, job=bench.job)


def drawn(scene, size, charset=Charset.UTF8) -> str:
    return "\n".join(line.rstrip() for line in text_of(layout(scene, size, charset))) + "\n"


def compared(name: str, got: str) -> None:
    path = GOLDEN / f"{name}.txt"
    if os.environ.get("GUIDE_GOLDEN") == "write":
        path.write_text(got, encoding="utf-8")
    assert got == path.read_text(encoding="utf-8")


@pytest.mark.parametrize("size", [SMALL, BIG], ids=lambda s: f"{s.columns}x{s.rows}")
@pytest.mark.parametrize("stage", STAGES)
def test_a_stage_looks_as_its_golden_file(stage, size, tmp_path):
    compared(f"{stage}-{size.columns}x{size.rows}", drawn(staged(tmp_path, STAGES[stage]), size))


def test_the_same_without_utf_8_is_ascii_alone(tmp_path):
    got = drawn(staged(tmp_path, STAGES["check"]), SMALL, Charset.ASCII)
    assert got.isascii()
    compared("check-ascii-80x24", got)


@pytest.mark.parametrize("size", [SMALL, BIG], ids=lambda s: f"{s.columns}x{s.rows}")
def test_a_walked_sweep_shows_every_point_and_where_one_is(size, tmp_path):
    scene = staged(tmp_path, ["unplugged", "OL"], sweep=EVERY_READING)
    title, lines, here = table_of_readings(scene.job)
    assert in_brief(EVERY_READING) in title
    assert [line.name for line in lines] == [in_brief(c) for c in scene.job.sweep_checks()]
    assert lines[here].name == in_brief(scene.job.chosen)
    got = drawn(scene, size)
    for line in lines:
        assert line.name in got
    compared(f"sweep-{size.columns}x{size.rows}", got)


def test_what_was_asked_for_is_read_whole_on_a_small_screen(tmp_path):
    """The tables give way: a technician who asks where the job stands is not sent for a taller window."""
    scene = staged(tmp_path, [*STAGES["verdict"], "where are we"])
    shown = " ".join(drawn(scene, SMALL).split())
    assert " ".join(scene.talk[-1].text.split()) in shown
    assert "taller window" not in shown


def test_an_answer_in_words_stands_in_the_table_once(tmp_path):
    scene = staged(tmp_path, ["feeler", "fan", "jerks", "nothing"], tree_id="outputs/fan-motor-stepper")
    told_once = [line.split() for line in drawn(scene, SMALL).splitlines() if line.startswith("  does ")]
    assert [line[:3] for line in told_once] == [["does", "jerks", "│"]]


@pytest.mark.parametrize("width", [38, 60, 100])
def test_a_line_of_the_table_is_cut_at_no_word_and_its_reading_stays(width):
    """Where band and remark do not both fit the band stays; the line's colour tells the remark."""
    line = Line("output ohms", "800 mΩ", "shorted", "not usual")
    shown = text_of(panels.table_rows([line, Line("fuse ohms", "skip", "", "no evidence")], 0, width, 2, Charset.UTF8))
    assert all(cells(text) <= width for text in shown)
    assert "800 mΩ  shorted" in shown[0]
    assert shown[0].rstrip().endswith("not usual" if width > 38 else "shorted")
    assert shown[1].rstrip().endswith("no evidence")


def test_what_happened_to_a_device_is_not_called_usual(tmp_path):
    scene = staged(tmp_path, ["fan", "jerks", "dust"], tree_id="outputs/fan-motor-stepper")
    assert (last_reading(scene.job).check, last_reading(scene.job).verdict) == ("happened", "")
    assert "usual" not in drawn(scene, SMALL).lower()


def test_the_bench_list_fits_and_names_what_enter_does():
    choice = Choice("the bench", (("7", "Fernleaf GH-2: no data"),), "Number or symptom.", trouble="None.", enter="7")
    got = "\n".join(text_of(lay_out(choice, SMALL, Charset.UTF8)))
    for words in (" 7 ", "Fernleaf GH-2: no data", "Number or symptom.", "None.", "Enter 7", "Ctrl-D leave"):
        assert words in got


# ------------------------------------------------------------------ laws


def spans(rows, style):
    return [text for row in rows for name, text in row if name == style]


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(random_trees(), st.data())
def test_what_is_shown_is_what_the_record_folds_to(tree, data):
    """Over random jobs: power, counts, question and odds on the screen are those of the fold, and follow it alone."""
    job, history = start(tree)
    for _ in range(12):
        assert_shown(job, Size(100, 40))
        if job.phase is Phase.CLOSED:
            break
        decided = decide(job, data.draw(answers_to(job)))
        if not isinstance(decided, Unclear):
            job, history = fold(job, decided), [*history, *decided]
    again = fold(opened(tree), history)
    assert layout(Scene(again), Size(100, 40)) == layout(Scene(job), Size(100, 40))


def assert_shown(job, size):
    rows = layout(Scene(job), size)
    text = text_of(rows)
    assert POWER_WORDS[job.power] in text[1]
    assert sum(words in text[1] for words in POWER_WORDS.values()) == 1
    assert f"Job {job.id}, " in text[0]
    assert progress(job) in text[0]
    proving = job.proof or job.phase is Phase.VERIFYING
    assert proving or f"{job.answers} answer" in text[0]
    assert proving or ("repair" if job.phase is Phase.REPAIRING else f"{len(job.left())} check") in text[0]
    standing = question(job)
    if standing is not None:
        assert " ".join(" ".join(spans(rows, "class:ask")).split()) == " ".join(str(standing["say"]).split())
    barred = ["".join(t for _, t in row) for row in rows if any(name == "class:bar" for name, _ in row)]
    if not odds_mislead(job) and job.phase is not Phase.CLOSED:
        ranked = sorted(beliefs_of(job).values(), reverse=True)
        shown = [percent(p) for p in ranked if p >= 0.0005]
        assert barred
        for p, line in zip(shown[: len(barred)], barred, strict=True):
            assert p in line
    else:
        assert barred == []
    last = last_reading(job)
    assert last is None or placed(job.taken[last.check].weights, job.taken[last.check].band) == last.band


@pytest.mark.parametrize("columns", [NEED_COLUMNS, 80, 90, 100, 120, 160, 230])
def test_the_odds_are_told_in_sentences_or_in_brief_and_never_mixed(columns):
    job = SCENES["check"].job
    odds = odds_of(job)
    told = text_of(panels.odds_rows(odds, columns, len(odds), Charset.UTF8))
    whole = [one.say in line for one, line in zip(odds, told, strict=False)]
    brief = [in_brief(one.cause) in line for one, line in zip(odds, told, strict=False)]
    assert all(whole) or (all(brief) and not any(whole))


def test_a_wide_panel_tells_the_odds_in_sentences_and_a_narrow_one_in_brief():
    odds = odds_of(SCENES["check"].job)
    assert odds[0].say in text_of(panels.odds_rows(odds, 120, 1, Charset.UTF8))[0]
    assert in_brief(odds[0].cause) in text_of(panels.odds_rows(odds, 40, 1, Charset.UTF8))[0]


@settings(max_examples=80, deadline=None)
@given(st.integers(1, 230), st.integers(1, 80), st.sampled_from(list(Charset)), st.sampled_from(list(STAGES)))
def test_every_size_is_filled_exactly(columns, rows, charset, stage):
    lines = layout(SCENES[stage], Size(columns, rows), charset)
    assert len(lines) == rows - 1
    for line in text_of(lines):
        assert cells(line) == columns
        assert charset is Charset.UTF8 or line.isascii()


@settings(max_examples=80, deadline=None)
@given(st.integers(NEED_COLUMNS, 230), st.integers(NEED_ROWS, 80), st.sampled_from(list(Charset)),
       st.sampled_from(list(STAGES)))  # fmt: skip
def test_on_every_size_that_is_enough_nothing_that_matters_is_missing(columns, rows, charset, stage):
    scene = SCENES[stage]
    text = text_of(layout(scene, Size(columns, rows), charset))
    joined = " ".join(" ".join(text).split())
    standing = question(scene.job)
    assert POWER_WORDS[scene.job.power] in text[1]
    assert scene.doing.value in text[1]
    assert "09:41" in text[0]
    for answer in standing["answers"]:
        assert answer in joined
    for key, says in keys_shown(enter_means(standing)):
        assert f"{key} {says}" in joined


@settings(max_examples=60, deadline=None)
@given(st.integers(20, 120), st.integers(6, NEED_ROWS - 1))
def test_a_terminal_too_small_is_told_what_is_needed_and_still_asks(columns, rows):
    text = " ".join(" ".join(text_of(layout(SCENES["check"], Size(columns, rows)))).split())
    assert "Ohms, terminal A to terminal B." in text
    assert "POWER OFF" in text
    assert rows < 12 or f"needs {NEED_COLUMNS} x {NEED_ROWS}; this is {columns} x {rows}" in text


ANY_TEXT = st.text(st.characters(), max_size=60)


@settings(max_examples=80, deadline=None)
@given(ANY_TEXT, ANY_TEXT, st.sampled_from([SMALL, BIG, Size(50, 12)]), st.sampled_from(list(Charset)))
def test_no_name_and_nothing_said_drives_the_terminal(name, said, size, charset):
    scene = SCENES["check"]
    job = replace(scene.job, device=name, tree=replace(scene.job.tree, checks=renamed(scene.job.tree.checks, said)))
    hostile = replace(scene, job=job, meter=said).saying(Said(Who.YOU, said, name))
    for line in text_of(layout(hostile, size, charset)):
        assert cells(line) == size.columns
        assert all(c.isprintable() or c == " " for c in line)


def renamed(checks, ask):
    return {n: replace(c, ask=ask, red=ask, black=ask[::-1], bands=tuple(c.bands)) for n, c in checks.items()}


@given(st.floats(0, 1), st.integers(8, 60), st.sampled_from(list(Charset)))
def test_a_bar_is_as_long_as_its_room_and_grows_with_its_share(p, long, charset):
    shown = panels.bar(p, long, charset)
    assert cells(shown) == long
    more = panels.bar(min(1.0, p + 0.2), long, charset)
    empty = " ." if charset is Charset.UTF8 else "."
    assert len(more.rstrip(empty)) >= len(shown.rstrip(empty))
    if p > 0:
        assert shown.strip(empty), "what is possible is never shown as nothing"


@given(st.text(max_size=200), st.integers(2, 60))
def test_wrapped_text_keeps_every_word_and_its_width(text, width):
    text = Charset.UTF8.text(text)
    lines = wrapped(text, width)
    assert all(cells(line) <= width for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert cells(shortened(text, width, Charset.UTF8)) <= width


# ------------------------------------------------------------------ letters, keys, words


def test_every_letter_is_seven_dots_high_of_one_width_and_unlike_every_other():
    seen = {}
    for letter, dots in GLYPHS.items():
        assert len(dots) == DOTS_HIGH, letter
        assert len({len(row) for row in dots}) == 1, letter
        assert set("".join(dots)) <= {"#", "."}
        assert seen.setdefault(dots, letter) == letter, f"{letter} looks like {seen[dots]}"


@pytest.mark.parametrize("letter", "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,-+%?!/:()Ω°±=' mku")
def test_what_a_headline_needs_is_drawn(letter):
    assert letter in GLYPHS


def test_half_blocks_hold_the_same_dots_as_full_ones():
    """Each face is turned back into dots by its own rule and gives the letters' dots."""
    text = "OHMS 4.7 kΩ"
    wide = large(text, Face.LARGE, 500)
    half = large(text, Face.SMALL, 500)
    tops = {"█": "##", "▀": "#.", "▄": ".#", " ": ".."}
    back = []
    for line in half:
        back += ["".join(tops[c][0] for c in line), "".join(tops[c][1] for c in line)]
    assert back[1:] == ["".join("#" if c == "█" else "." for c in line[::2]) for line in wide]
    assert set(back[0]) == {"."}
    assert large("Ж", Face.SMALL, 500) is None
    assert large(text, Face.SMALL, 10) is None


def test_no_two_keys_are_the_same_and_each_says_a_command():
    assert len({key for key, _, _ in KEYS}) == len(KEYS)
    assert len({command for _, _, command in KEYS}) == len(KEYS)


@pytest.mark.parametrize(
    ("standing", "said"),
    [
        ({"type": "caution", "answers": ["unplugged"]}, "unplugged"),
        ({"type": "confirm", "answers": ["yes", "no"]}, "yes"),
        ({"type": "repair", "answers": ["done", "close"]}, "done"),
        ({"type": "repair", "answers": ["1", "close", "take it"]}, "repeat"),
        ({"type": "verdict", "answers": ["enough"]}, "enough"),
        ({"type": "verdict", "answers": ["take it", "enough"]}, "repeat"),
        ({"type": "ask", "answers": ["skip", "enough"], "by": "intake"}, "skip"),
        ({"type": "ask", "answers": ["yes", "no"]}, "repeat"),
        ({"type": "ask", "answers": ["OL"], "unit": "V"}, "repeat"),
        ({}, "repeat"),
    ],
)
def test_enter_means_yes_next_or_done_and_never_gives_a_finding(standing, said):
    assert enter_means(standing) == said


def test_a_caution_says_which_power_it_needs(tmp_path):
    scene = staged(tmp_path, ["ready", "12.1"])
    assert scene.job.power is Power.ON
    text = "\n".join(text_of(layout(scene, SMALL)))
    assert "needs power off before going on" in text
    assert isinstance(scene.job.tree.hazards[scene.job.told], Hazard)


@pytest.mark.parametrize(("columns", "leads"), [
    (80, "red on gnd, black on a-long-point-of-the-connector"),
    (160, "red on gnd (the ground of the whole board), black on a-long-point-of-the-connector (pin one)"),
])  # fmt: skip
def test_leads_are_named_in_full_where_that_fits(columns, leads):
    job = SCENES["check"].job
    point = "a-long-point-of-the-connector"
    check = replace(job.check, red="gnd", black=point)
    tree = replace(job.tree, points={"gnd": "the ground of the whole board", point: "pin one"},
                   checks={**job.tree.checks, check.id: check})  # fmt: skip
    text = text_of(layout(Scene(replace(job, tree=tree)), Size(columns, 24)))
    assert any(leads in line and "about 2 min" in line for line in text)


def test_the_strip_has_the_reading_in_its_band_and_usual_drawn_double(tmp_path):
    scene = staged(tmp_path, ["ready", "12.1"])
    rows = text_of(layout(scene, SMALL))
    names = next(r for r in rows if "[good]" in r)
    line = rows[rows.index(names) + 1]
    at = line.index("●")
    assert names.index("[good]") <= at < names.index("high")
    assert line[at - 3 : at + 3].count("═") >= 1
    assert "═" not in line[: names.index("[good]") - 1]


def _scenes():
    import tempfile

    with tempfile.TemporaryDirectory() as home:
        return {stage: staged(Path(home) / stage, lines) for stage, lines in STAGES.items()}


SCENES = _scenes()


def test_after_a_repair_the_head_counts_the_readings_of_its_proof(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.05", "unplugged", "OL", "enough", "1", "done")
    assert progress(bench.job) == "0 of 1 reading of the proof"
    bench.hears("unplugged", "60")
    assert progress(bench.job) == "function test"


def test_a_list_is_told_in_full_where_it_fits_and_a_line_each_where_not():
    long = "a controller whose fault is told at length, and at the end of it: waits for the customer"
    few = Choice("the bench", (("1", long), ("2", long)), "Type a number.")
    many = Choice("the bench", tuple((str(n), long) for n in range(1, 10)), "Type a number.")
    assert "\n".join(text_of(lay_out(few, SMALL, Charset.UTF8))).count("the customer") == 2
    got = text_of(lay_out(many, SMALL, Charset.UTF8))
    assert sum(line.startswith("   ") and "a controller" in line for line in got) == 9
    assert not any("the customer" in line for line in got)


def test_once_a_bypass_has_shown_the_cause_the_odds_of_the_mended_bench_are_not_shown(tmp_path):
    """They would put the cause that was just shown last."""
    bench = TestBench(tmp_path, "fernleaf-gh2/field-bus-no-data")
    bench.hears("fitted", "unplugged", "512", "512", "3", "enough")
    assert odds_of(bench.job)[0].cause == "clamp-b-short"
    assert progress(bench.job) == "4 answers, repair"
    bench.hears("2", "done", "unplugged", "505", "works")
    assert bench.job.shown == "clamp-b-short"
    assert not odds_of(bench.job)
    assert progress(bench.job) == "5 answers, repair"


@pytest.mark.parametrize("height", [1, 2, 3, 4])
@pytest.mark.parametrize("here", [0, 1, 2, 3])
def test_a_table_holds_the_present_line_however_little_room_there_is(height, here):
    lines = [Line(f"point {n}", "", "", "") for n in range(4)]
    shown = text_of(panels.table_rows(lines, here, 40, height, Charset.UTF8))
    assert any(f"▶ point {here}" in line for line in shown)


@pytest.mark.parametrize("size", [SMALL, Size(100, 30), BIG], ids=lambda s: f"{s.columns}x{s.rows}")
def test_every_repair_there_is_to_choose_from_is_seen_on_any_screen(size, tmp_path):
    scene = staged(tmp_path, ["fitted", "enough", "enough"], tree_id="fernleaf-gh2/field-bus-no-data")
    options = question(scene.job)["options"]
    assert len(options) == 8
    shown = drawn(scene, size)
    for option in options:
        assert any(f" {option['id']} " in line and option["do"][:20] in line for line in shown.splitlines())
    assert question(scene.job)["say"].count(" minutes") == 3, "the others are shown and not said"
    assert "5 more are shown." in question(scene.job)["say"]


def test_a_rule_without_a_title_has_no_gap():
    assert text_of([panels.heading("", 20, Charset.UTF8)]) == ["─" * 20]
