"""The screen in a real terminal, at both sizes, as a golden picture of what tmux shows."""

import os
import re
import shlex
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

GOLDEN = Path(__file__).parent / "golden" / "screens"
ROOT = Path(__file__).parents[1]
PATIENCE_S = 30.0  # only how long a failure takes; a run goes on as soon as the screen shows what is awaited
ENDED = "conversation over"

pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="tmux is not installed")


class Terminal:
    """One tmux server of its own with one window."""

    def __init__(self, folder: Path, columns: int, rows: int) -> None:
        self._socket = str(folder / "tmux")
        self._size = (str(columns), str(rows))

    def start(self, command: str) -> None:
        columns, rows = self._size
        self._tmux("-f", "/dev/null", "new-session", "-d", "-x", columns, "-y", rows, f"{command}; echo {ENDED}; cat")

    def type(self, *keys: str) -> None:
        self._tmux("send-keys", *keys)

    def resize(self, columns: int, rows: int) -> None:
        self._tmux("resize-window", "-x", str(columns), "-y", str(rows))

    def shown(self) -> str:
        return self._tmux("capture-pane", "-p")

    def awaited(self, *words: str) -> str:
        """Return what is shown as soon as all of `words` are; fails with the picture after PATIENCE_S."""
        last = time.monotonic() + PATIENCE_S
        while time.monotonic() < last:
            picture = self.shown()
            if all(w in picture for w in words):
                return picture
        pytest.fail(f"{words} never came; the terminal shows:\n{self.shown()}")

    def end(self) -> None:
        self._tmux("kill-server")

    def _tmux(self, *arguments: str) -> str:
        done = subprocess.run(["tmux", "-S", self._socket, "-u", *arguments], capture_output=True, text=True,
                              check=True, timeout=PATIENCE_S)  # fmt: skip
        return done.stdout


@pytest.fixture
def terminal(tmp_path):
    opened = []

    def open_one(columns: int, rows: int, command: str, **environment: str) -> Terminal:
        one = Terminal(tmp_path, columns, rows)
        told = {"GUIDE_HOME": str(tmp_path / "home"), "PYTHONPATH": str(ROOT), "LC_ALL": "C.UTF-8", **environment}
        given = " ".join(f"{k}={shlex.quote(v)}" for k, v in told.items())
        one.start(f"env -u NO_COLOR -u GUIDE_GOLDEN {given} {shlex.quote(sys.executable)} -m guide {command}")
        opened.append(one)
        return one

    yield open_one
    for one in opened:
        one.end()


JOB = "begin --tree fernleaf-gh2/sensor-bus-dead --no-intake"


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (200, 60)])
def test_a_check_in_a_real_terminal_looks_as_its_golden_file(terminal, columns, rows):
    bench = terminal(columns, rows, JOB)
    bench.awaited("Takes: ready")
    bench.type("Enter")
    bench.awaited("a reading in V")
    bench.type("12.1", "Enter")
    bench.awaited("Takes: unplugged")
    bench.type("Enter")
    picture = bench.awaited("a reading in ohm", "you  unplugged")
    got = re.sub(r"\b\d\d:\d\d\b", "hh:mm", picture)
    path = GOLDEN / f"terminal-{columns}x{rows}.txt"
    if os.environ.get("GUIDE_GOLDEN") == "write":
        path.write_text(got, encoding="utf-8")
    assert got == path.read_text(encoding="utf-8")


def test_leaving_gives_the_terminal_back_and_says_how_to_go_on(terminal):
    bench = terminal(80, 24, JOB)
    bench.awaited("Takes: ready")
    bench.type("C-d")
    picture = bench.awaited(ENDED)
    assert "Job 1 is kept. Next: guide resume 1" in picture
    assert "POWER" not in picture


def test_what_was_said_last_stays_when_the_screen_is_gone(terminal):
    bench = terminal(80, 24, JOB)
    bench.awaited("Takes: ready")
    bench.type("hold for the customer until Friday", "Enter")
    assert "Job 1 put aside for customer until Friday." in bench.awaited(ENDED)


def test_a_window_made_small_in_the_middle_goes_on_and_comes_back(terminal):
    bench = terminal(100, 30, JOB)
    bench.awaited("Takes: ready")
    bench.resize(50, 12)
    bench.awaited("needs 72 x 20; this is 50 x 12")
    bench.type("Enter")
    bench.awaited("pin one to pin two")
    bench.resize(120, 40)
    bench.awaited("POWER ON", "odds of the causes", "a reading in V")


def test_a_terminal_too_small_from_the_start_says_so_and_goes_on_in_lines(terminal):
    bench = terminal(60, 16, JOB)
    bench.awaited("needs 72 x 20; this is 60 x 16. Plain lines", "[ready]")
    bench.type("Enter")
    bench.awaited("[a reading in V, OL]")


@pytest.mark.parametrize(("flags", "term"), [("--plain", "screen-256color"), ("", "dumb")])
def test_plain_or_a_dumb_terminal_means_lines(terminal, flags, term):
    bench = terminal(80, 24, f"{JOB} {flags}", TERM=term)
    picture = bench.awaited("[ready]")
    assert "POWER" not in picture


def test_without_utf_8_the_screen_is_ascii(terminal):
    bench = terminal(80, 24, JOB, LC_ALL="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0")
    assert bench.awaited("Takes: ready", "POWER NOT KNOWN").isascii()


def test_the_bare_command_lists_jobs_and_begins_one_from_a_symptom(terminal):
    bench = terminal(80, 24, "")
    bench.awaited("Type the symptom to begin.")
    bench.type("xyzzy", "Enter")
    bench.awaited("no tree fits 'xyzzy'")
    bench.type("sensor bus dead", "Enter")
    bench.awaited("Job 1,", "Takes: skip")
    bench.type("enough", "Enter")
    bench.awaited("Takes: ready")
    bench.type("C-d")
    bench.awaited(ENDED)


def test_plain_lines_break_between_words_and_keep_their_indent(terminal):
    bench = terminal(60, 16, f"{JOB} --plain")
    bench.awaited("[ready]")
    bench.type("where are we", "Enter")
    lines = bench.awaited("No answer yet.").splitlines()
    told = [line for line in lines if line.startswith("  ") and not line.startswith("   ")]
    words = " ".join(told).split()
    assert len([line for line in told if len(line) > 40]) > 1, "it was longer than one line"
    assert {"percent;", "broken", "Leading:"} <= set(words)
    assert all(line.startswith("  ") for line in lines if "percent" in line and "%" not in line)
