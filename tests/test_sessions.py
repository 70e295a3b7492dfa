"""A conversation as a script sees it: ties asked before there is a job, and the exit code at its end."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from guide import cli
from guide.edge.jobs.store import Store

TIED = ["ports/hdmi-no-picture", "display/backlight-dark"]
TO_THE_OPTIONS = ("ready", "12", "unplugged", "OL", "enough")
SENSOR_BUS = ("begin", "--tree", "fernleaf-gh2/sensor-bus-dead")


@pytest.fixture
def types(tmp_path, monkeypatch, capsys):
    """Run a command with lines on standard input; return the exit code, standard output and standard error."""
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))

    def run(arguments, *lines):
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))
        code = cli.run(list(arguments))
        told = capsys.readouterr()
        return code, told.out, told.err

    return run


def objects(out):
    return [json.loads(line) for line in out.splitlines()]


def test_a_tie_is_asked_in_json_lines_too(types):
    code, out, _ = types(("begin", "screen", "is", "black", "--jsonl"), "neither", "ports/hdmi-no-picture", "hold")
    asked, unclear, first, *_ = objects(out)
    assert (asked["type"], asked["job"], asked["check"]) == ("ask", "", "which-tree")
    assert asked["answers"] == unclear["answers"] == TIED
    assert (unclear["type"], unclear["heard"]) == ("unclear", "neither")
    assert (first["type"], first["job"], first["tree"]) == ("ask", "1", "ports/hdmi-no-picture")
    assert code == 0


def test_a_tie_that_nobody_answers_opens_no_job(types):
    code, out, err = types(("begin", "screen", "is", "black", "--jsonl"))
    assert [m["type"] for m in objects(out)] == ["ask"]
    assert code == 2
    assert err.count("\n") == 1
    assert all(tree in err for tree in TIED)
    assert json.loads(types(("jobs", "--json"))[1]) == []


@pytest.mark.parametrize(("said", "code"), [
    (("1", "done", "unplugged", "60", "works"), 0),
    (("1", "done", "override", "works"), 1),
    (("1", "done", "unplugged", "60", "close"), 1),
    (("close",), 1),
    (("something else: rust",), 1),
    (("hold",), 0),
    ((), 0),
])  # fmt: skip
@pytest.mark.parametrize("mode", ["--jsonl", "--plain"])
def test_the_exit_code_tells_whether_a_closed_job_is_proven(types, said, code, mode):
    assert types((*SENSOR_BUS, mode), *TO_THE_OPTIONS, *said)[0] == code


def test_a_known_good_board_needs_no_proof(types):
    lines = ("unplugged", "0.3", "60.1", "ready", "12", "skip", "enough", "enough", "close")
    code, out, _ = types(("learn", "GH-2", "fernleaf-gh2/sensor-bus-dead", "--jsonl"), *lines)
    assert objects(out)[-1]["type"] == "closed"
    assert code == 0


def test_output_that_nobody_reads_is_no_finding(tmp_path):
    unread, to = os.pipe()
    os.close(unread)
    left = subprocess.run(
        [sys.executable, "-m", "guide", "trees"], stdout=to, stderr=subprocess.PIPE, timeout=60,
        env={**os.environ, "GUIDE_HOME": str(tmp_path)}, check=False,
    )  # fmt: skip
    os.close(to)
    assert (left.returncode, left.stderr) == (0, b"")


def test_a_seed_that_is_none_is_refused_in_one_line(types):
    pytest.importorskip("numpy")
    code, _, err = types(("rehearse", "fernleaf-gh2/sensor-bus-dead", "--runs", "3", "--seed", "-1"))
    assert code == 2
    assert err == "guide: --seed -1: give 0 or more\n"


def test_a_job_put_aside_is_listed_with_the_day_it_was(types):
    types((*SENSOR_BUS, "--jsonl"), "ready", "hold for the fuse until Friday")
    types((*SENSOR_BUS, "--jsonl"), "ready", "hold")
    day = json.loads(types(("jobs", "--json"))[1])[1]["touched"][:10]
    plain, waiting = types(("jobs",))[1].splitlines()
    assert waiting.endswith(f"waits for fuse until Friday, put aside {day}")
    assert "put aside" not in plain


@pytest.mark.parametrize(("named", "cause"), [
    ("cable broken", "cable-broken"), ("Cable-Broken", "cable-broken"), ("nothing wrong", "none"),
    ("something else", "other"),
])  # fmt: skip
def test_an_outcome_is_named_as_the_lists_and_reports_name_it(types, named, cause):
    types((*SENSOR_BUS, "--jsonl"), *TO_THE_OPTIONS, "close")
    code, out, _ = types(("outcome", "1", named))
    assert code == 0
    assert out.startswith(f"Job 1 was {named.lower().replace('-', ' ')}: ")
    assert json.loads(types(("jobs", "--json"))[1])[0]["outcome"] == cause


def test_a_drawn_path_marks_what_was_taken_back(types):
    types((*SENSOR_BUS, "--jsonl"), "ready", "0.1", "go back", "12")
    _, out, _ = types(("draw", "fernleaf-gh2/sensor-bus-dead", "--job", "1"))
    assert "- 1 feed-volts: dead, taken back\n- 2 feed-volts: good\n" in out


def closed_jobs(home, count):
    """Write `count` closed jobs into the store at `home` straight, as their rows stand there."""
    store = Store(home)
    with store._db.writing() as db:
        [sha] = db.execute("SELECT sha256 FROM trees").fetchone()
        db.executemany(
            "INSERT INTO jobs (tree, tree_sha256, device, symptom, state, answers, began, touched, outcome) "
            "VALUES ('x', ?, 'GH-2', 'dark', 'closed', 3, '2026-01-02T00:00', '2026-01-02T00:00', 'fuse-open')",
            [(sha,)] * count,
        )
    store.close()


def test_an_old_job_that_waits_stays_in_sight_and_what_is_left_out_is_counted(types):
    types((*SENSOR_BUS, "--jsonl"), "ready", "hold for the customer")
    home = Path(os.environ["GUIDE_HOME"])
    closed_jobs(home, 250)
    listed = types(("jobs",))[1].splitlines()
    assert listed[-1] == "and 50 closed before these; guide jobs WORDS finds any of them"
    assert listed[-2].split()[:2] == ["1", "aside"]
    assert len(listed) == 202
    assert len(json.loads(types(("jobs", "--json"))[1])) == 251


def test_jobs_are_found_by_all_of_the_words_in_what_is_listed_told_or_noted(types):
    types((*SENSOR_BUS, "--jsonl"), "note Bücherei, shelf 4", "ready", "hold for the customer")
    types((*SENSOR_BUS, "--jsonl"), "ready", "12.1", "hold")
    asked = (["bücherei"], ["aside", "customer"], ["customer", "shelf 5"])
    assert [types(("jobs", *words))[1].split()[0] for words in asked] == ["1", "1", "No"]
    assert len(types(("jobs", "fernleaf"))[1].splitlines()) == 2
