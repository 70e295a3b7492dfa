"""The store: what is acknowledged is on disk, what is not is not, and every refusal is one clear line."""

import contextlib
import errno
import gc
import json
import os
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

from guide import app
from guide.core.errors import JobOpenElsewhere, StoreError, StoreNewer, UnknownJob
from guide.core.jobs import coding, events as ev
from guide.core.jobs.coding import from_json
from guide.edge.jobs.database import BUSY_MS, advice
from guide.edge.jobs.migrations import MIGRATIONS, VERSION
from guide.edge.jobs.store import BATCH, Store
from tests.worlds import TestBench

AT = "2026-01-05T09:00:00+00:00"


def begun(store: Store, **more: str) -> str:
    job = store.begin("fernleaf-gh2/sensor-bus-dead", "ab" * 32, "version: 1", at=AT, **more)
    store.append(job, [ev.Recorded(1, AT, ev.Opened(job, "fernleaf-gh2/sensor-bus-dead", "ab" * 32))], answers=0)
    return job


def test_events_come_back_as_they_were_appended(tmp_path):
    store = Store(tmp_path)
    job = begun(store)
    note = ev.Recorded(2, AT, ev.NoteAdded("solder splash at Ω corner"))
    store.append(job, [note], answers=0)
    again = Store(tmp_path)
    assert again.events(job)[-1] == note
    assert again.tree_of(job) == ("fernleaf-gh2/sensor-bus-dead", "ab" * 32, "version: 1")


def test_a_job_of_several_batches_comes_back_whole_in_order_and_says_when(tmp_path):
    store = Store(tmp_path)
    job = begun(store)
    kept = [ev.Recorded(i, f"2026-01-05T09:{i // 60:02}:{i % 60:02}+00:00", ev.NoteAdded(f"note {i}"))
            for i in range(2, 2 * BATCH + 2)]  # fmt: skip
    store.append(job, kept, answers=0)
    assert list(store.events(job)[1:]) == kept
    assert store.times(job, (BATCH, 2 * BATCH, 10**6)) == {BATCH: kept[BATCH - 2].at, 2 * BATCH: kept[-2].at}


def test_a_batch_that_is_spoilt_is_one_clear_line_wherever_it_lies(tmp_path):
    store = Store(tmp_path)
    job = begun(store)
    store.append(job, [ev.Recorded(i, AT, ev.NoteAdded("a")) for i in range(2, 2 * BATCH)], answers=0)
    store._db.connection.execute("UPDATE events SET at = 'noon' WHERE seq = ?", (BATCH + 7,))
    with pytest.raises(StoreError, match="damaged"):
        store.events(job)


def test_the_collector_runs_again_after_a_job_was_read_and_after_one_that_cannot_be(tmp_path):
    store = TestBench(tmp_path).store
    app.load(store, "1")
    assert gc.isenabled()
    store._db.connection.execute("UPDATE events SET body = 'x'")
    with pytest.raises(StoreError, match="damaged"):
        app.load(store, "1")
    assert gc.isenabled()


def test_a_place_already_written_means_open_elsewhere_and_nothing_of_the_batch_stays(tmp_path):
    store = Store(tmp_path)
    job = begun(store)
    store.append(job, [ev.Recorded(2, AT, ev.NoteAdded("first"))], answers=0)
    with pytest.raises(JobOpenElsewhere):
        store.append(job, [ev.Recorded(3, AT, ev.NoteAdded("a")), ev.Recorded(2, AT, ev.NoteAdded("b"))], answers=0)
    assert [r.seq for r in store.events(job)] == [1, 2]


def test_a_second_holder_is_refused_until_the_first_process_dies(tmp_path):
    store = Store(tmp_path)
    job = begun(store)
    code = (
        "import sys; from pathlib import Path; from guide.edge.jobs.store import Store\n"
        "with Store(Path(sys.argv[1])).hold(sys.argv[2]):\n  print('held', flush=True); sys.stdin.read()"
    )
    other = subprocess.Popen(
        [sys.executable, "-c", code, str(tmp_path), job], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert other.stdout.readline() == "held\n"
    with pytest.raises(JobOpenElsewhere, match="another window"), store.hold(job):
        pytest.fail("both hold the job")
    other.kill()
    other.communicate()
    with store.hold(job):
        assert (tmp_path / "locks" / f"{job}.lock").exists()


@pytest.mark.skipif(os.name == "nt", reason="POSIX file modes")
def test_everything_is_private_to_the_user(tmp_path):
    home = tmp_path / "a b ü" / "guide"
    store = Store(home)
    with store.hold(begun(store)):
        modes = {p: stat.S_IMODE(p.stat().st_mode) for p in [home, *home.rglob("*")]}
    assert {m for p, m in modes.items() if p.is_dir()} == {0o700}
    assert {m for p, m in modes.items() if p.is_file()} == {0o600}


def test_a_newer_store_is_refused_and_left_alone(tmp_path):
    Store(tmp_path).close()
    db = sqlite3.connect(tmp_path / "guide.sqlite3")
    db.execute(f"PRAGMA user_version = {VERSION + 1}")
    db.close()
    before = (tmp_path / "guide.sqlite3").read_bytes()
    with pytest.raises(StoreNewer, match="update guide"):
        Store(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["guide.sqlite3"]
    assert (tmp_path / "guide.sqlite3").read_bytes() == before


def test_a_file_that_is_no_store_is_named_with_what_to_do(tmp_path):
    (tmp_path / "guide.sqlite3").write_bytes(b"no database, just words" * 100)
    with pytest.raises(StoreError, match=r"guide\.sqlite3: .*put a copy back"):
        Store(tmp_path)


def test_a_full_disk_is_one_clear_line_and_loses_nothing(tmp_path):
    """SQLite's page limit acts as the quota: SQLITE_FULL is what a full disk gives."""
    store = Store(tmp_path)
    job = begun(store)
    pages = store._db.connection.execute("PRAGMA page_count").fetchone()[0]
    store._db.connection.execute(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(StoreError, match="free some space"):
        store.append(job, [ev.Recorded(2, AT, ev.NoteAdded("x" * 100_000))], answers=0)
    store._db.connection.execute("PRAGMA max_page_count = 1000000")
    store.append(job, [ev.Recorded(2, AT, ev.NoteAdded("again"))], answers=0)
    assert len(store.events(job)) == 2


@pytest.mark.parametrize(("free", "said"), [(0, "the disk is full, free some space"), (1 << 30, "check the disk")])
def test_a_disk_too_full_to_open_the_store_is_called_full(tmp_path, monkeypatch, free, said):
    """SQLite says `disk I/O error` where the log cannot be begun; seen on a file system with no byte left."""

    def unable(db):
        raise sqlite3.OperationalError("disk I/O error")

    monkeypatch.setattr("guide.edge.jobs.database._keep_a_log", unable)
    monkeypatch.setattr("shutil.disk_usage", lambda path: SimpleNamespace(free=free))
    with pytest.raises(StoreError, match=said):
        Store(tmp_path)


@pytest.mark.parametrize("job", ["99", "no-such", "../1", "1; DROP TABLE jobs", "", "٣", "9" * 40])
def test_an_unknown_job_is_said_to_be_unknown(tmp_path, job):
    store = Store(tmp_path)
    begun(store)
    with pytest.raises(UnknownJob, match="guide jobs"):
        store.summary(job)
    with pytest.raises(UnknownJob):
        store.events(job)


def test_the_summary_follows_the_events(tmp_path):
    store = Store(tmp_path)
    job = begun(store, device="GH-2", symptom="dead")
    assert store.summary(job).state == "open"
    store.append(job, [ev.Recorded(2, AT, ev.Held("customer", "Friday"))], answers=3)
    held = store.summary(job)
    assert (held.state, held.waits_for, held.until, held.answers) == ("aside", "customer", "Friday", 3)
    store.append(job, [ev.Recorded(3, AT, ev.Resumed())], answers=3)
    assert store.summary(job).state == "open"
    store.append(job, [ev.Recorded(4, AT, ev.Closed("other"))], answers=3)
    assert [j.id for j in store.jobs("closed")] == [job]
    assert store.jobs("open", "aside") == []


def test_an_event_of_a_newer_program_is_refused_by_name():
    with pytest.raises(StoreNewer, match="telepathy"):
        from_json("telepathy", 1, {})
    with pytest.raises(StoreNewer, match="note_added"):
        from_json("note_added", ev.NoteAdded.v + 1, {"text": "x"})


@pytest.mark.parametrize("body", [{}, {"text": "x", "check": 3}, {"reading": {}}])
def test_a_damaged_event_is_a_store_error_never_a_traceback(body):
    for kind in ("reading_taken", "check_chosen"):
        with pytest.raises(StoreError):
            from_json(kind, 1, json.loads(json.dumps(body)))


def test_an_older_event_is_read_through_every_version_in_between(monkeypatch):
    monkeypatch.setattr(ev.NoteAdded, "v", 3)
    monkeypatch.setattr(coding, "UPCASTS", {
        ("note_added", 1): lambda body: {"words": body["said"]},
        ("note_added", 2): lambda body: {"text": body["words"]},
    })  # fmt: skip
    first, second = {"said": "splash"}, {"words": "splash"}
    assert from_json("note_added", 1, first) == from_json("note_added", 2, second) == ev.NoteAdded("splash")
    assert first == {"said": "splash"}
    with pytest.raises(StoreError, match="damaged"):
        from_json("held", 0, {})


def test_two_processes_that_begin_at_once_get_two_jobs(tmp_path):
    code = (
        "import sys; from pathlib import Path; from guide.edge.jobs.store import Store\n"
        "print(Store(Path(sys.argv[1])).begin('t', 'ab', 'x', at='now'))"
    )
    started = [
        subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], stdout=subprocess.PIPE, text=True)
        for _ in range(6)
    ]
    ids = [p.communicate()[0].strip() for p in started]
    assert sorted(ids) == [str(i) for i in range(1, 7)]


@pytest.fixture
def beginner(tmp_path):
    """Another process in the middle of beginning the same store: the file is there, and it writes."""
    db = sqlite3.connect(tmp_path / "guide.sqlite3", isolation_level=None)
    db.execute("CREATE TABLE first (a)")
    db.execute("BEGIN IMMEDIATE")
    yield db
    db.close()


def test_a_store_that_another_process_is_beginning_is_waited_for(tmp_path, beginner, monkeypatch):
    """Without the wait one of fifty that begin at once is told that another program holds the store."""
    waited = []

    def goes_on(seconds):
        waited.append(seconds)
        if beginner.in_transaction and len(waited) == 3:
            beginner.execute("COMMIT")

    monkeypatch.setattr("guide.edge.jobs.database.sleep", goes_on)
    assert Store(tmp_path).count() == 0
    assert len(waited) == 3


def test_a_store_that_stays_held_is_one_clear_line_in_the_end(tmp_path, beginner, monkeypatch):
    waited = []
    monkeypatch.setattr("guide.edge.jobs.database.sleep", waited.append)
    with pytest.raises(StoreError, match="another program holds it"):
        Store(tmp_path)
    assert 1 < sum(waited) <= BUSY_MS / 1000


def test_a_read_only_store_says_how_to_go_on(tmp_path):
    if os.geteuid() == 0:
        # Root writes anywhere; an immutable path stands in: a file where the folder should be.
        blocked = tmp_path / "file"
        blocked.write_text("x")
        with pytest.raises(StoreError, match="cannot open the store"):
            Store(blocked / "home")
        return
    Path(tmp_path).chmod(0o500)
    with pytest.raises(StoreError, match="set GUIDE_HOME"):
        Store(tmp_path / "home")


@pytest.mark.parametrize(
    "body",
    ["", "{", "nothing", '{"text":1}', '{"text":"a"},{"text":"b"}', "[]", "null", "[" * 5000, '{"text":"\\ud800"}'],
)
def test_a_body_spoilt_on_disk_is_one_clear_line(tmp_path, body):
    store = Store(tmp_path)
    job = begun(store)
    store.append(job, [ev.Recorded(2, AT, ev.NoteAdded("a"))], answers=0)
    store._db.connection.execute("UPDATE events SET body = ? WHERE seq = 2", (body,))
    with pytest.raises(StoreError, match="damaged"):
        store.events(job)


def test_what_is_written_at_once_is_there_whole_or_not_at_all(tmp_path):
    store = Store(tmp_path)
    with contextlib.suppress(RuntimeError), store.at_once():
        begun(store)
        raise RuntimeError
    assert store.count() == 0
    with store.at_once():
        begun(store)
    assert Store(tmp_path).count() == 1


def older(home: Path, monkeypatch, step: str = "ALTER TABLE jobs ADD COLUMN shelf TEXT NOT NULL DEFAULT ''") -> str:
    """A store of today, and a program one version further."""
    store = Store(home)
    job = begun(store, device="GH-2")
    store.append(job, [ev.Recorded(2, AT, ev.NoteAdded("before"))], answers=0)
    store.close()
    monkeypatch.setattr("guide.edge.jobs.migrations.MIGRATIONS", (*MIGRATIONS, step))
    monkeypatch.setattr("guide.edge.jobs.migrations.VERSION", VERSION + 1)
    return job


def backup(home: Path) -> Path:
    return home / f"guide-v{VERSION}.sqlite3.backup"


def test_an_older_store_is_upgraded_in_place_after_a_whole_private_backup(tmp_path, monkeypatch):
    job = older(tmp_path, monkeypatch)
    store = Store(tmp_path)
    assert [r.event.kind for r in store.events(job)] == ["opened", "note_added"]
    assert store._db.reading("SELECT shelf FROM jobs") == [("",)]
    assert store._db.reading("PRAGMA user_version") == [(VERSION + 1,)]
    copy = sqlite3.connect(backup(tmp_path))
    assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert copy.execute("PRAGMA user_version").fetchone() == (VERSION,)
    assert copy.execute("SELECT count(*) FROM events").fetchone() == (2,)
    copy.close()
    assert stat.S_IMODE(backup(tmp_path).stat().st_mode) == 0o600


def test_the_backup_holds_what_another_program_has_written_and_not_yet_checkpointed(tmp_path, monkeypatch):
    """The rows are in the WAL alone; the copy is taken by a second connection while the first holds the write lock."""
    other = Store(tmp_path)
    job = begun(other)
    other.append(job, [ev.Recorded(2, AT, ev.NoteAdded("in the WAL"))], answers=0)
    assert (tmp_path / "guide.sqlite3-wal").stat().st_size > 0
    older(tmp_path, monkeypatch)
    Store(tmp_path).close()
    copy = sqlite3.connect(backup(tmp_path))
    assert "in the WAL" in str(copy.execute("SELECT body FROM events WHERE job = ? AND seq = 2", (job,)).fetchone())
    copy.close()


def test_an_upgrade_that_fails_leaves_the_store_as_it_was(tmp_path, monkeypatch):
    job = older(tmp_path, monkeypatch, step="CREATE TABLE half (a); CREATE TABLE jobs (b)")
    with pytest.raises(StoreError, match="already exists"):
        Store(tmp_path)
    monkeypatch.undo()
    store = Store(tmp_path)
    assert len(store.events(job)) == 2
    assert store._db.reading("SELECT name FROM sqlite_master WHERE name = 'half'") == []


def test_a_backup_cut_short_by_a_crash_is_taken_again(tmp_path, monkeypatch):
    older(tmp_path, monkeypatch)
    draft = tmp_path / f"{backup(tmp_path).name}.new"
    draft.write_bytes(b"half of a copy")
    Store(tmp_path).close()
    assert not draft.exists()
    copy = sqlite3.connect(backup(tmp_path))
    assert copy.execute("SELECT count(*) FROM events").fetchone() == (2,)
    copy.close()


def test_two_programs_that_upgrade_at_once_do_it_once(tmp_path, monkeypatch):
    older(tmp_path, monkeypatch)
    code = (
        "import sys; from pathlib import Path; import guide.edge.jobs.migrations as m\n"
        "from guide.edge.jobs.store import Store\n"
        "m.MIGRATIONS = (*m.MIGRATIONS, 'ALTER TABLE jobs ADD COLUMN shelf TEXT'); m.VERSION += 1\n"
        "print(Store(Path(sys.argv[1])).count())"
    )
    started = [
        subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], stdout=subprocess.PIPE, text=True)
        for _ in range(4)
    ]
    assert [p.communicate()[0].strip() for p in started] == ["1"] * 4


def test_the_name_of_a_folder_does_not_pass_for_what_is_wrong_with_it(tmp_path):
    """`/home/fuller` is not a full disk."""
    readonly = OSError(errno.EROFS, "Read-only file system", str(tmp_path / "full" / "guide.sqlite3"))
    assert advice(readonly) == "make the folder writable or set GUIDE_HOME to one that is"
    assert advice(OSError(errno.ENOSPC, "No space left on device", "/readonly")) == "free some space and say it again"
