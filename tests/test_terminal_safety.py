"""What somebody typed or wrote in a file never drives the terminal, and no byte ends a job."""

import io
import json
import os
import subprocess
import sys
import unicodedata

import pytest
from hypothesis import given, strategies as st

from guide.cli import LONGEST, run
from guide.core.jobs.wording import clean
from guide.core.jsontext import json_text
from guide.edge.terminal import Lines
from tests.worlds import FERNLEAF, ROOT, TestBench

# CSI in 7 and 8 bits, OSC title, DEL, a right-to-left override, a line separator, half a surrogate pair.
NASTY = "\x1b[31mred \x9b2J\x1b]0;title\x07 \x7f \u202ebackwards \u2028 \ud800 end"
OBEYED = ("Cc", "Cf", "Cs", "Zl", "Zp")


def obeyed(text: str) -> list[str]:
    return [c for c in text if c != "\n" and unicodedata.category(c) in OBEYED]


@given(st.text())
def test_clean_text_holds_nothing_a_terminal_obeys_and_keeps_its_length(text):
    assert obeyed(clean(text)) == []
    assert len(clean(text)) == len(text)


@given(st.recursive(st.text() | st.floats(allow_nan=False, allow_infinity=False), st.lists, max_leaves=6))
def test_json_text_says_the_same_and_drives_no_terminal(data):
    text = json_text(data)
    assert json.loads(text) == data
    assert [c for c in text if unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp")] == []
    text.encode("utf-8")


def test_json_has_no_number_that_is_none():
    with pytest.raises(ValueError, match="JSON"):
        json_text(float("nan"))


def test_every_kind_of_message_is_shown_clean(tmp_path):
    bench = TestBench(tmp_path, device=NASTY, symptom=NASTY)
    bench.hears("ready", f"note {NASTY}", f"hold for {NASTY}")
    bench.comes_back()
    bench.hears(NASTY, "ready", "12.1", "unplugged", "OL", "enough", "where are we", f"hold for {NASTY} until {NASTY}")
    out = io.StringIO()
    Lines(out=out).show(bench.said)
    assert "backwards" in out.getvalue()
    assert obeyed(out.getvalue()) == []


@pytest.mark.parametrize(
    "arguments",
    [
        ["report", NASTY],
        ["begin", "--tree", NASTY],
        ["begin", NASTY],
        ["outcome", "1", NASTY],
        ["hear", "--words", "1", "--measure", NASTY],
        ["hear", "--words", "1", "--check", NASTY],
        ["report", "1", "--to", f"{NASTY}.x"],
        ["import", f"/nowhere/{NASTY}"],
        ["lint", f"/nowhere/{NASTY}"],
        [NASTY],
        ["jobs", f"--{NASTY}"],
        ["outcome", "1", "x" * 100_000],
    ],
)
def test_an_error_is_one_clean_line_whatever_was_given(arguments, tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    TestBench(tmp_path).store.close()
    assert run(arguments) == 2
    error = capsys.readouterr().err
    assert error.startswith("guide: ")
    assert error.count("\n") == 1
    assert obeyed(error) == []
    assert len(error) < LONGEST + 20


def test_lists_and_documents_printed_are_clean(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    bench = TestBench(tmp_path, device=NASTY, symptom=NASTY)
    bench.hears("ready", "12.1", f"note {NASTY}", f"hold for {NASTY}")
    bench.store.close()
    for arguments in (
        ["jobs"], ["jobs", "--json"], ["export", "1"], ["report", "1"], ["report", "1", "--for", "customer"],
        ["trees", NASTY], ["hear", "--words", NASTY], ["hear", "--words", NASTY, "--json"],
    ):  # fmt: skip
        assert run(arguments) == 0
        said = capsys.readouterr().out
        assert [c for c in obeyed(said) if unicodedata.category(c) != "Cf"] == [], arguments
        assert "\u202e" not in said, arguments


def piped(arguments: list[str | bytes], given_: bytes, home, **environment: str) -> subprocess.CompletedProcess[bytes]:
    environ = {**os.environ, "GUIDE_HOME": str(home), "PYTHONPATH": str(ROOT), **environment}
    command = [sys.executable, "-m", "guide", *arguments]
    return subprocess.run(command, input=given_, env=environ, capture_output=True, timeout=60, check=False)


@pytest.mark.skipif(os.name == "nt", reason="command lines are text there")
def test_bytes_that_are_no_text_are_replaced_and_the_job_goes_on(tmp_path):
    device = b"board \xff\xfe"
    ran = piped(["begin", "--tree", FERNLEAF, "--device", device, "--jsonl"], b"\xff\xc3\nready\nnote \xfe\n", tmp_path)
    said = [json.loads(line) for line in ran.stdout.decode("utf-8").splitlines()]
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert [m["type"] for m in said] == ["caution", "unclear", "ask", "told", "ask", "held"]


def test_the_contract_is_utf8_on_a_pipe_whatever_the_locale_says(tmp_path):
    ran = piped(["begin", "--tree", FERNLEAF, "--jsonl"], "note 5 Ω → ok\nready\n12.1\n".encode(), tmp_path,
                PYTHONIOENCODING="latin-1")  # fmt: skip
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert "→" in ran.stdout.decode("utf-8")


def test_a_line_without_an_end_is_refused_as_too_long_and_the_job_is_kept(tmp_path):
    ran = piped(["begin", "--tree", FERNLEAF, "--jsonl"], b"x" * 2_500_000, tmp_path)
    said = [json.loads(line) for line in ran.stdout.decode("utf-8").splitlines()]
    assert [m["type"] for m in said] == ["caution", "unclear", "unclear", "unclear", "held"]
    assert all(len(json.dumps(m)) < 2000 for m in said)
