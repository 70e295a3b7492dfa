"""A store that was damaged or tampered with: one clear line, exit code 2, bounded; never a traceback, never a hang."""

import os
import random
import shutil
import sqlite3

import pytest

if not hasattr(os, "fork"):
    pytest.skip("needs fork", allow_module_level=True)

from tests.hostile.cage import SECONDS, caged
from tests.worlds import TestBench

STATEMENTS = {
    "events without a table": "DROP TABLE events",
    "jobs without a table": "DROP TABLE lessons; DROP TABLE events; DROP TABLE jobs",
    "trees without a table": "DROP TABLE trees",
    "no tree of that digest": "DELETE FROM trees",
    "no events": "DELETE FROM events",
    "a tree that is none": "UPDATE trees SET text = '- x'",
    "a tree that is a bomb": "UPDATE trees SET text = 'a: &a [x]' || char(10) || 'b: *a'",
    "a tree without end": "UPDATE trees SET text = replace(hex(zeroblob(5000000)), '00', 'a: ')",
    "a body that is no JSON": "UPDATE events SET body = '{' WHERE seq = 2",
    "a body of brackets": "UPDATE events SET body = replace(hex(zeroblob(200000)), '00', '[') WHERE seq = 2",
    "a body of another kind": "UPDATE events SET body = '[]' WHERE seq = 2",
    "a body in two": "UPDATE events SET body = body || ',' || body WHERE seq = 2",
    "a kind of tomorrow": "UPDATE events SET kind = 'telepathy' WHERE seq = 2",
    "a kind with an escape": "UPDATE events SET kind = char(27) || '[31m' WHERE seq = 2",
    "a version of tomorrow": "UPDATE events SET v = 99 WHERE seq = 2",
    "a version of yesterday that never was": "UPDATE events SET v = -5 WHERE seq = 2",
    "a time that is none": "UPDATE events SET at = 'soon'",
    "a time without its offset": "UPDATE events SET at = '2026-01-05T09:00:00'",
    "a store of tomorrow": "PRAGMA user_version = 99",
    "a store of yesterday that never was": "PRAGMA user_version = -1",
    "a column gone": "ALTER TABLE jobs DROP COLUMN symptom",
}


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    home = tmp_path_factory.mktemp("sound")
    bench = TestBench(home)
    bench.hears("ready", "12.1")
    bench.store._db.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    bench.store.close()
    shutil.rmtree(home / "locks", ignore_errors=True)
    assert caged(["resume", "1", "--jsonl"], shutil.copytree(home, home / "copy", ignore=lambda *_: ["copy"])).code == 0
    shutil.rmtree(home / "copy")
    return home


def refused(home) -> None:
    ended = caged(["resume", "1", "--jsonl"], home)
    assert ended.code == 2, ended
    assert ended.one_clear_line(), ended.error
    assert ended.seconds < SECONDS


@pytest.mark.parametrize("name", STATEMENTS)
def test_a_store_tampered_with_is_refused_in_one_clear_line(sound, tmp_path, name):
    home = shutil.copytree(sound, tmp_path / "home")
    db = sqlite3.connect(home / "guide.sqlite3")
    db.executescript(STATEMENTS[name])
    db.close()
    refused(home)


@pytest.mark.parametrize(
    "data",
    [b"SQLite format 3\x00", b"SQLite format 3\x00" + b"\xff" * 8000, b"x", b"\x00" * 8192, b"{}", b"PK\x03\x04" * 500],
    ids=["a header", "a header and noise", "a byte", "nothing but nul", "json", "a zip"],
)
def test_a_file_that_is_no_store_is_refused_in_one_clear_line(tmp_path, data):
    (tmp_path / "guide.sqlite3").write_bytes(data)
    refused(tmp_path)


@pytest.mark.parametrize("seed", range(12))
def test_a_store_with_pages_spoilt_is_read_or_refused_but_never_breaks(sound, tmp_path, seed):
    home, chance = shutil.copytree(sound, tmp_path / "home"), random.Random(seed)
    path = home / "guide.sqlite3"
    data = bytearray(path.read_bytes())
    if seed % 3 == 0:
        del data[chance.randrange(4096, len(data)) :]
    for _ in range(seed * 40):
        data[chance.randrange(100, len(data))] = chance.randrange(256)
    path.write_bytes(data)
    ended = caged(["resume", "1", "--jsonl"], home)
    assert ended.code in (0, 2), ended
    assert ended.code == 0 or ended.one_clear_line(), ended.error
    assert ended.seconds < SECONDS


@pytest.mark.parametrize("what", ["a folder", "a link to nowhere", "a link to itself", "a pipe"])
def test_what_is_no_file_is_refused_in_one_clear_line(tmp_path, what):
    path = tmp_path / "guide.sqlite3"
    match what:
        case "a folder":
            path.mkdir()
        case "a link to nowhere":
            path.symlink_to(tmp_path / "no" / "where")
        case "a link to itself":
            path.symlink_to(path)
        case "a pipe":
            os.mkfifo(path)
    refused(tmp_path)
