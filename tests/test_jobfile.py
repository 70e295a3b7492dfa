"""Export, import and deletion: a whole job in one document, and nothing of a bad document believed."""

import json
import sqlite3

import pytest

from guide.cli import run
from guide.edge.jobs.store import Store
from tests.worlds import FERNLEAF, TestBench

FOUND_BROKEN = (
    "ready",
    "12.1",
    "note solder splash",
    "unplugged",
    "OL",
    "enough",
    "1",
    "done",
    "unplugged",
    "60.2",
    "works",
)


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def exported(home, tmp_path):
    bench = TestBench(home)
    bench.hears(*FOUND_BROKEN)
    bench.store.close()
    path = tmp_path / "job.json"
    assert run(["export", "1", "--to", str(path)]) == 0
    return path


def test_a_job_goes_into_another_store_whole(exported, tmp_path, monkeypatch):
    here = Store(tmp_path / "home")
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path / "other"))
    assert run(["import", str(exported)]) == 0
    there = Store(tmp_path / "other")
    assert there.events("1") == here.events("1")
    assert there.tree_of("1") == here.tree_of("1")
    assert there.lessons(FERNLEAF) == here.lessons(FERNLEAF)
    assert there.summary("1").state == "closed"


def test_an_imported_job_goes_by_its_own_number(exported, home, tmp_path, monkeypatch):
    other = TestBench(tmp_path / "other")
    other.store.close()
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path / "other"))
    assert run(["import", str(exported)]) == 0
    there, here = Store(tmp_path / "other"), Store(home)
    assert there.events("2")[0].event.job == "2"
    assert there.events("2")[1:] == here.events("1")[1:]


@pytest.mark.parametrize("elsewhere", [False, True])
def test_a_job_that_is_here_already_is_not_brought_in_again(exported, tmp_path, monkeypatch, capsys, elsewhere):
    """It would stand twice in the list and teach its cause twice, where it came from or where it was taken to."""
    if elsewhere:
        monkeypatch.setenv("GUIDE_HOME", str(tmp_path / "other"))
        assert run(["import", str(exported)]) == 0
    capsys.readouterr()
    assert run(["import", str(exported)]) == 2
    assert "that job is here already, as job 1" in capsys.readouterr().err
    kept = Store(tmp_path / ("other" if elsewhere else "home"))
    assert (kept.count(), len(kept.lessons(FERNLEAF))) == (1, 1)


def test_the_export_is_private(exported):
    assert exported.stat().st_mode & 0o777 == 0o600


def damage(path, change):
    document = json.loads(path.read_text())
    change(document)
    path.write_text(json.dumps(document))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda d: d.update(version=2), "version"),
        (lambda d: d.update(extra=1), "extra"),
        (lambda d: d["tree"].update(text=d["tree"]["text"] + "# more\n"), "tree.sha256"),
        (lambda d: d["events"].pop(3), "gap"),
        (lambda d: d["events"][3].update(kind="telepathy"), "telepathy"),
        (lambda d: d["events"].insert(1, d["events"].pop(0)), "gap"),
        (lambda d: next(e for e in d["events"] if e["kind"] == "reading_taken")["body"].update(check="x"), "no check"),
        (lambda d: next(e for e in d["events"] if e["kind"] == "reading_taken")["body"].update(check=""), "no check"),
        (lambda d: next(e for e in d["events"] if e["kind"] == "caution_given")["body"].update(hazard=""), "no hazard"),
        (lambda d: next(e for e in d["events"] if e["kind"] == "repair_done")["body"].update(proof=[""]), "no proof"),
        (
            lambda d: next(e for e in d["events"] if e["kind"] == "reading_taken")["body"].update(weights={"x": 1}),
            "bands",
        ),
        (lambda d: next(e for e in d["events"] if e["kind"] == "repair_chosen")["body"].update(option=7), "repair"),
        (
            lambda d: next(e for e in d["events"] if e["kind"] == "caution_given")["body"].update(hazard=[1]),
            "a list where text belongs",
        ),
        (lambda d: d["events"][2].update(v=99), "newer"),
        (lambda d: d["events"][-1].update(kind="opened", v=1, body=d["events"][0]["body"]), "cannot happen"),
    ],
)
def test_a_changed_document_is_refused_in_one_line_and_nothing_of_it_is_kept(exported, home, capsys, change, said):
    damage(exported, change)
    capsys.readouterr()
    assert run(["import", str(exported)]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
    assert Store(home).count() == 1


@pytest.mark.parametrize(
    "content", [b"", b"{", b"[]", b"\xff\xfe", b"null", b"[" * 100_000, b'{"format": "guide-job"}']
)
def test_what_is_no_document_is_refused_in_one_line(home, tmp_path, capsys, content):
    path = tmp_path / "x.json"
    path.write_bytes(content)
    assert run(["import", str(path)]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_a_missing_file_is_named(home, tmp_path, capsys):
    assert run(["import", str(tmp_path / "no.json")]) == 2
    assert "no.json" in capsys.readouterr().err


def test_deleting_needs_to_be_meant(exported, home, capsys):
    assert run(["delete", "1"]) == 2
    assert "--yes" in capsys.readouterr().err
    assert Store(home).count() == 1


def test_a_deleted_job_is_gone_with_its_lesson_and_its_words(exported, home):
    assert run(["delete", "1", "--yes"]) == 0
    assert run(["delete", "1", "--yes"]) == 2
    store = Store(home)
    assert store.count() == 0
    assert store.lessons(FERNLEAF) == []
    store.close()
    sqlite3.connect(home / "guide.sqlite3").close()
    assert b"solder splash" not in b"".join(p.read_bytes() for p in home.rglob("*") if p.is_file())
