"""The command line: exit codes, one clear line for every fault, and nothing lost when the process dies."""

import io
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from guide import cli
from guide.core.jobs.events import KINDS
from guide.edge.jobs.store import Store
from tests.worlds import FERNLEAF, ROOT

COMMANDS = {
    "begin", "resume", "jobs", "outcome", "trees", "lint", "hear", "demo", "learn", "export", "import", "delete",
    "report", "plan", "rehearse", "meter", "draw", "doctor", "help",
}  # fmt: skip


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    return tmp_path


def error_of(capsys, *arguments: str) -> tuple[int, str]:
    capsys.readouterr()
    code = cli.run(list(arguments))
    return code, capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["begin", "--tree", "no-such-tree"], "guide trees"),
        (["begin"], "say what is wrong"),
        (["begin", "qqq", "zzz", "--jsonl"], "no tree fits"),
        (["resume", "99"], "no job 99"),
        (["resume"], "no job is open"),
        (["outcome", "99", "other"], "no job 99"),
        (["frobnicate"], "frobnicate"),
        (["begin", "--tree", FERNLEAF, "--jsonl", "--voice"], "exclude each other"),
        (["hear"], "--words"),
        (["hear", "--words", "one", "--measure", "length"], "length"),
        (["hear", "--words", "one", "--check", f"{FERNLEAF}/nothing"], "nothing"),
        (["trees", "--trees", "/no/such/folder"], "/no/such/folder"),
        (["lint", "/no/such/tree.yaml"], "/no/such/tree.yaml"),
        (["import", "/no/such/job.json"], "/no/such/job.json"),
        (["delete", "99", "--yes"], "no job 99"),
    ],
    ids=lambda value: " ".join(value)[:40] if isinstance(value, list) else "",
)
def test_bad_use_is_one_clear_line_and_exit_code_2(home, capsys, arguments, said):
    code, error = error_of(capsys, *arguments)
    assert code == 2
    assert error.startswith("guide: ")
    assert error.count("\n") == 1
    assert said in error


def test_a_broken_tree_names_file_and_line(home, capsys, tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "bad.yaml").write_text("version: 1\ndevice: x\nchecks: [\n")
    code, error = error_of(capsys, "begin", "--tree", "bad", "--trees", str(folder))
    assert code == 2
    assert "bad.yaml:" in error
    assert error.count("\n") == 1


def test_findings_are_exit_code_1_and_none_is_0(home, capsys, tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    text = (ROOT / "trees" / f"{FERNLEAF}.yaml").read_text()
    (folder / "good.yaml").write_text(text)
    assert cli.run(["lint", str(folder / "good.yaml")]) in (0, 1)
    (folder / "good.yaml").write_text(text.replace("weight: 5", "weight: 0"))
    capsys.readouterr()
    assert cli.run(["lint", str(folder), "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert "T23" in {f["rule"] for f in found}
    assert all(f["file"].endswith("good.yaml") and f["line"] > 0 for f in found)


def test_a_job_open_elsewhere_is_exit_code_3(home, capsys):
    other = start("begin", "--tree", FERNLEAF, "--jsonl", home=home)
    assert json.loads(other.stdout.readline())["type"] == "caution"
    code, error = error_of(capsys, "resume", "1", "--jsonl")
    other.kill()
    other.communicate()
    assert code == 3
    assert "another window" in error


def start(*arguments: str, home: Path) -> subprocess.Popen:
    return subprocess.Popen(
        [sys.executable, "-m", "guide", *arguments], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True, cwd=ROOT, env={**os.environ, "GUIDE_HOME": str(home)},
    )  # fmt: skip


def read_until(process: subprocess.Popen, kind: str) -> list[dict]:
    told = []
    while not told or told[-1]["type"] != kind:
        told.append(json.loads(process.stdout.readline()))
    return told


def say(process: subprocess.Popen, line: str) -> None:
    process.stdin.write(f"{line}\n")
    process.stdin.flush()


def test_a_killed_job_resumes_at_the_same_question_with_every_reading(home):
    """The issue's own case: `kill -9` at a question, resume, verdict."""
    first = start("begin", "--tree", FERNLEAF, "--jsonl", home=home)
    read_until(first, "caution")
    say(first, "ready")
    read_until(first, "ask")
    say(first, "12.1")
    told = read_until(first, "caution")
    assert any(m["type"] == "read" and m["value"] == 12.1 for m in told)
    say(first, "unplugged")
    asked = read_until(first, "ask")[-1]["check"]
    first.send_signal(signal.SIGKILL)
    first.communicate()

    second = start("resume", "1", "--jsonl", home=home)
    recap = read_until(second, "caution")
    assert "12.1 V" in recap[0]["say"]
    say(second, "unplugged")
    assert read_until(second, "ask")[-1]["check"] == asked
    say(second, "OL")
    verdict = read_until(second, "verdict")[-1]
    second.kill()
    second.communicate()
    assert verdict["cause"] == "cable-broken"
    taken = [r.event for r in Store(home).events("1") if r.event.kind == "reading_taken"]
    assert [t.check for t in taken] == ["feed-volts", "bus-ohms"]


def test_end_of_input_puts_the_job_aside(home):
    process = start("begin", "--tree", FERNLEAF, "--jsonl", home=home)
    out, error = process.communicate("ready\n12.1\n")
    assert process.returncode == 0
    assert error == ""
    assert json.loads(out.splitlines()[-1])["type"] == "held"
    assert Store(home).summary("1").state == "aside"


def test_a_tree_that_changed_is_said_once_and_adopted_on_request(home, tmp_path):
    mine = tmp_path / "mine" / "fernleaf-gh2"
    mine.mkdir(parents=True)
    tree = mine / "sensor-bus-dead.yaml"
    text = (ROOT / "trees" / f"{FERNLEAF}.yaml").read_text()
    tree.write_text(text)
    trees = ("--trees", str(mine.parent))
    start("begin", "--tree", FERNLEAF, "--jsonl", *trees, home=home).communicate("ready\n12.1\n")
    tree.write_text(text.replace("Ohms, terminal A to terminal B.", "Ohms, terminal A against B."))
    out, _ = start("resume", "1", "--jsonl", *trees, home=home).communicate("unplugged\n")
    assert "has changed" in out
    assert "terminal A to terminal B" in out
    out, _ = start("resume", "1", "--jsonl", "--adopt", *trees, home=home).communicate("unplugged\n")
    assert "terminal A against B" in out


def test_the_demo_plays_a_whole_job_to_its_end(home):
    done = start("demo", "--fast", home=home)
    out, error = done.communicate()
    assert done.returncode == 0
    assert error == ""
    assert "VERDICT" in out
    assert "Every reading is good" in out
    assert "guide begin" in out.splitlines()[-1]


def test_no_command_is_undocumented():
    """Rule 15: every command and every kind of event is named in README or DEVELOPERS."""
    text = (ROOT / "README.md").read_text() + (ROOT / "DEVELOPERS.md").read_text()
    missing = {c for c in COMMANDS if f"guide {c}" not in text} | {k for k in KINDS if f"`{k}`" not in text}
    assert missing == set()


def test_the_list_of_commands_is_complete():
    assert set(cli.names()) == COMMANDS


def test_the_tree_the_words_led_to_is_named_first(home, capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO())
    assert cli.run(["begin", "sensor", "bus", "dead", "--plain"]) == 0
    assert capsys.readouterr().out.splitlines()[0].endswith(f"({FERNLEAF}).")


def test_what_a_job_was_is_told_in_words_and_stands_in_the_list(home, capsys, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO())
    cli.run(["begin", "--tree", FERNLEAF, "--plain"])
    capsys.readouterr()
    assert cli.run(["outcome", "1", "something else: cracked via"]) == 0
    assert "cracked via" in (told := capsys.readouterr().out)
    assert "still open" in told
    cli.run(["jobs"])
    assert "was something else: cracked via" in capsys.readouterr().out
    assert cli.run(["outcome", "1", "fuse-open"]) == 0
    assert "Fuse F two has opened" in capsys.readouterr().out
