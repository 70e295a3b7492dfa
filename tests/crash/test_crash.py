"""Killed, cut off, full, locked, set back: every reading that was printed is there after resume, none twice."""

import os
import random
import re
import shutil
import sqlite3
import stat
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

import pytest

if not hasattr(os, "fork"):
    pytest.skip("needs fork", allow_module_level=True)

from guide import app
from guide.cli import run
from guide.commands.jsonlines import serve
from guide.core.errors import JobOpenElsewhere, StoreError
from guide.core.jobs import events as ev
from guide.core.report import bench_text, report_of
from guide.edge.jobs.store import Store
from tests.crash import strace
from tests.crash.bench import Bench, at_byte, at_statement, live_through, reference, taken
from tests.worlds import FERNLEAF, ROOT, TestBench, shipped_tree

LINES = ("ready", "12.1", "unplugged", "OL", "enough", "1", "done", "unplugged", "60.2", "works")


@pytest.fixture(scope="module")
def fernleaf(tmp_path_factory):
    tree, _ = shipped_tree(FERNLEAF)
    return tree, reference(tmp_path_factory.mktemp("reference"), tree, "cable-broken")


@pytest.mark.parametrize("seed", range(3))
def test_a_job_killed_four_times_over_loses_nothing_that_was_printed(tmp_path, fernleaf, seed):
    tree, expected = fernleaf
    chance = random.Random(seed)

    def kill():
        if chance.random() < 0.5:
            return at_statement(chance.randint(1, expected.statements // 3))
        return at_byte(chance.randint(1, expected.size // 3))

    assert live_through(Bench(tmp_path, tree, "cable-broken"), kill, expected, kills=4) == 4


@pytest.mark.skipif(not strace.available(), reason="no strace here that may trace")
@pytest.mark.parametrize("call", ["pwrite64", "fdatasync"])
def test_a_job_killed_inside_a_commit_loses_nothing_that_was_printed(tmp_path, fernleaf, call):
    tree, expected = fernleaf
    numbers = iter((9, 14))
    bench = Bench(tmp_path, tree, "cable-broken")
    assert live_through(bench, lambda: strace.at_system_call(call, next(numbers)), expected, kills=2) == 2
    assert call == "fdatasync" or bench.torn, "a commit was cut in half"


@pytest.mark.skipif(not strace.available(), reason="no strace here that may trace")
def test_what_is_printed_has_been_synced_to_the_disk_before(tmp_path):
    """In the trace: the log of the store is synced after it was last written and before each `read` goes out."""
    trace = tmp_path / "trace"
    command = ["strace", "-f", "-qq", "-y", "-s", "40", "-e", "trace=pwrite64,fdatasync,fsync,write", "-o", str(trace),
               sys.executable, "-m", "guide", "begin", "--tree", FERNLEAF, "--jsonl"]  # fmt: skip
    environment = {**os.environ, "GUIDE_HOME": str(tmp_path / "home"), "PYTHONPATH": str(ROOT)}
    subprocess.run(command, input="\n".join(LINES), text=True, env=environment, capture_output=True, check=True)
    unsynced, reads = False, 0
    for line in trace.read_text().splitlines():
        if "sqlite3-wal" in line:
            unsynced = "pwrite64(" in line
        elif re.search(r"write\(1<", line) and '\\"read\\"' in line:
            reads += 1
            assert not unsynced, line
    assert reads == 3


def test_the_harness_sees_an_answer_that_was_not_kept(tmp_path, fernleaf, monkeypatch):
    """Counter-proof: a store that forgets what it acknowledged fails the same check."""
    tree, expected = fernleaf
    append = Store.append

    def forgetful(self, job, recorded, *, answers):
        recorded = [r for r in recorded if not isinstance(r.event, ev.ReadingTaken)]
        append(self, job, recorded, answers=answers)

    monkeypatch.setattr(Store, "append", forgetful)
    with pytest.raises(AssertionError, match="every reading printed is on disk"):
        live_through(Bench(tmp_path, tree, "cable-broken"), lambda: at_byte(3000), expected, kills=1)


# --- power cuts ------------------------------------------------------------------------------------------------


def test_a_log_cut_short_or_spoilt_by_a_power_cut_still_opens_at_an_earlier_answer(tmp_path):
    """What was not synced is lost from the end, never from the middle, and never half an answer."""
    bench = TestBench(tmp_path / "home")
    ends = {bench.job.seq}
    for line in LINES[:6]:
        bench.hears(line)
        ends.add(bench.job.seq)
    whole = [r.event for r in bench.store.events("1")]
    wal = (tmp_path / "home" / "guide.sqlite3-wal").read_bytes()
    chance, lost = random.Random(5), set()
    for number in range(40):
        cut = chance.randrange(len(wal) // 2, len(wal))
        tail = b"" if number % 2 else bytes(chance.randrange(256) for _ in range(min(5000, len(wal) - cut)))
        copy = tmp_path / f"copy-{number}"
        copy.mkdir()
        shutil.copy(tmp_path / "home" / "guide.sqlite3", copy)
        (copy / "guide.sqlite3-wal").write_bytes(wal[:cut] + tail)
        store = Store(copy)
        assert store._db.reading("PRAGMA integrity_check") == [("ok",)]
        if store.count() == 0:
            continue
        kept = [r.event for r in store.events("1")]
        assert kept == whole[: len(kept)]
        assert len(kept) in ends
        session, told = app.resume(store, "1", clock=lambda: "2026-01-05T10:00:00+00:00")
        assert told[-1]["answers"]
        assert session.job.seq > len(kept)
        lost.add(len(whole) - len(kept))
        store.close()
    assert len(lost) > 3, "the cuts fell at different answers"
    bench.store.close()


# --- disks -----------------------------------------------------------------------------------------------------


@contextmanager
def small_disk(folder: Path, *, size: str = "400k"):
    folder.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("needs the right to mount")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=False)


def test_a_disk_that_fills_up_is_told_in_place_and_the_answer_counts_once_there_is_space(tmp_path):
    with small_disk(tmp_path / "disk") as disk:
        bench = TestBench(disk / "home")
        bench.hears("ready")
        ballast = disk / "ballast"
        with ballast.open("wb", buffering=0) as file:
            file.write(b"x" * 10_000_000)
        told: list[dict] = []
        for _ in range(50):
            told = bench.hears(f"note {'long ' * 700}")
            if told[0]["type"] == "error":
                break
        assert [m["type"] for m in told] == ["error", "ask"]
        assert "free some space and say it again" in told[0]["message"]
        assert [m["type"] for m in bench.hears("12.1")] == ["error", "ask"]
        assert bench.job.taken == {}
        ballast.unlink()
        bench.hears("12.1")
        assert list(bench.job.taken) == ["feed-volts"]
        assert taken([r.event for r in bench.store.events("1")]) == ["feed-volts"]
        assert bench.store._db.reading("PRAGMA integrity_check") == [("ok",)]
        bench.store.close()


def test_a_store_on_a_read_only_disk_is_read_and_what_writes_is_one_clear_line(tmp_path, monkeypatch, capsys):
    reads = (["jobs"], ["jobs", "fernleaf"], ["report", "1"], ["export", "1"], ["trees", "--learned", FERNLEAF])
    writes = (["begin", "--tree", FERNLEAF, "--jsonl"], ["resume", "1", "--jsonl"], ["outcome", "1", "none"],
              ["delete", "1", "--yes"])  # fmt: skip
    with small_disk(tmp_path / "disk", size="2m") as disk:
        bench = TestBench(disk / "home")
        bench.hears("ready", "12.1")
        bench.store.close()
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        for home, refused in ((disk / "home", writes), (disk / "fresh", (*writes, *reads))):
            monkeypatch.setenv("GUIDE_HOME", str(home))
            for command in (c for c in reads if c not in refused):
                assert run(command) == 0, command
            for command in refused:
                capsys.readouterr()
                assert run(command) == 2, command
                error = capsys.readouterr().err
                assert error.count("\n") == 1
                assert "make the folder writable or set GUIDE_HOME to one that is" in error


def test_a_disk_that_stays_full_ends_in_one_clear_line_and_the_job_is_kept(tmp_path):
    """End of input puts the job aside; where even that cannot be written the exit code says so."""
    bench = TestBench(tmp_path)
    bench.hears("ready")
    pages = bench.store._db.connection.execute("PRAGMA page_count").fetchone()[0]
    bench.store._db.connection.execute(f"PRAGMA max_page_count = {pages}")
    printed: list[str] = []
    sizes = (*[3900] * 4, *[500] * 10, *[50] * 60, *[1] * 60)  # until not even one word more has room
    with pytest.raises(StoreError, match="What was read back before is kept"):
        serve(bench.session, [], [f"note {'x' * size}" for size in sizes], printed.append)
    assert '"error"' in printed[-2]
    assert bench.store.summary("1").state == "open"
    bench.store.close()


# --- odd places and odd times -----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["a b", "ärger 地下 ☃", "q?u%e#r&y", "-dash", "x" * 120])
def test_a_store_on_an_odd_path_keeps_its_jobs_private(tmp_path, name):
    home = tmp_path / name / "data"
    bench = TestBench(home)
    bench.hears("ready", "12.1")
    with bench.store.hold("1"):
        modes = {stat.S_IMODE(p.stat().st_mode) for p in home.rglob("*") if p.is_file()}
    bench.store.close()
    assert modes == {0o600}
    again = Store(home)
    assert taken([r.event for r in again.events("1")]) == ["feed-volts"]
    again.close()


def test_a_clock_set_back_changes_no_answer_and_no_order(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1")
    bench.comes_back(at="2001-01-01T00:00:00+00:00")
    assert list(bench.job.taken) == ["feed-volts"]
    assert not bench.job.stale
    bench.hears("unplugged", "OL")
    assert bench.last["type"] == "verdict"
    assert [r.seq for r in bench.store.events("1")] == list(range(1, bench.job.seq + 1))
    report = bench_text(report_of(bench.job.tree, bench.store.events("1"), meter=bench.job.meter))
    assert re.search(r"Time: 0 s at the bench", report), "no time is made up, none is negative"


# --- many at once ----------------------------------------------------------------------------------------------


def forked(work) -> int:
    child = os.fork()
    if child == 0:
        code = 70
        try:
            code = work()
        finally:
            os._exit(code)
    return child


def test_fifty_processes_that_begin_at_once_on_a_new_store_get_fifty_jobs(tmp_path):
    tree, text = shipped_tree(FERNLEAF)

    def begin() -> int:
        store = Store(tmp_path / "home")
        app.begin(store, tree, text)
        store.close()
        return 0

    children = [forked(begin) for _ in range(50)]
    assert {os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children} == {0}
    store = Store(tmp_path / "home")
    assert sorted(int(j.id) for j in store.jobs()) == list(range(1, 51))
    assert all(store.events(j.id)[0].event.job == j.id for j in store.jobs())
    store.close()


def test_of_two_processes_that_answer_one_job_the_second_is_refused_and_nothing_is_mixed(tmp_path):
    """Even without the lock the place of an event can be taken once."""
    first = TestBench(tmp_path)
    first.hears("ready")
    second, _ = app.resume(Store(tmp_path), "1")
    with pytest.raises(JobOpenElsewhere, match="another window"):
        first.hears("12.1")
    assert first.job.taken == {}
    assert taken([r.event for r in second.store.events("1")]) == []
    db = sqlite3.connect(tmp_path / "guide.sqlite3")
    assert db.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    db.close()
