"""A store of every version ever released opens, is upgraded with a backup, and its jobs go on."""

import re
import shutil
import sqlite3
from pathlib import Path

import pytest

from guide import __version__, app
from guide.cli import run
from guide.edge.jobs.migrations import VERSION
from guide.edge.jobs.store import Store

STORES = sorted((Path(__file__).parent / "stores").glob("*.sqlite3"))


def version_of(path: Path) -> int:
    return int(re.match(r"v(\d+)-", path.name).group(1))


def test_there_is_a_store_of_the_version_in_hand():
    """At a release: `python -m tests.stores.make`."""
    assert f"v{VERSION}-{__version__}.sqlite3" in {p.name for p in STORES}


@pytest.fixture(params=STORES, ids=lambda p: p.stem)
def home(request, tmp_path):
    shutil.copy(request.param, tmp_path / "guide.sqlite3")
    return tmp_path, version_of(request.param)


def test_its_jobs_are_read_and_gone_on_with(home):
    folder, _ = home
    store = Store(folder)
    assert [(j.id, j.state, j.waits_for) for j in store.jobs()] == [
        ("3", "open", ""), ("2", "aside", "part"), ("1", "closed", ""),
    ]  # fmt: skip
    assert app.load(store, "1").closed.proven is True
    session, told = app.resume(store, "3")
    assert list(session.job.taken) == ["feed-volts"]
    assert told[-1]["answers"] == ["unplugged"]
    assert len(store.lessons("fernleaf-gh2/sensor-bus-dead")) == 1
    store.close()


def test_each_of_its_jobs_is_written_up_and_taken_to_another_store(home, monkeypatch, tmp_path, capsys):
    folder, _ = home
    for job in ("1", "2", "3"):
        monkeypatch.setenv("GUIDE_HOME", str(folder))
        assert run(["report", job, "--to", str(tmp_path / f"{job}.md")]) == 0
        assert run(["export", job, "--to", str(tmp_path / f"{job}.json")]) == 0
        monkeypatch.setenv("GUIDE_HOME", str(tmp_path / "other"))
        assert run(["import", str(tmp_path / f"{job}.json")]) == 0, capsys.readouterr().err
        assert "Fernleaf GH-2" in (tmp_path / f"{job}.md").read_text()
    here, there = Store(folder), Store(tmp_path / "other")
    for job in ("1", "2", "3"):
        assert [r.event.kind for r in there.events(job)] == [r.event.kind for r in here.events(job)]
    here.close()
    there.close()


def test_an_older_one_is_backed_up_before_it_is_upgraded(home):
    folder, version = home
    before = (folder / "guide.sqlite3").read_bytes()
    Store(folder).close()
    backup = folder / f"guide-v{version}.sqlite3.backup"
    assert backup.exists() == (version < VERSION)
    if backup.exists():
        old, kept = sqlite3.connect(":memory:"), sqlite3.connect(backup)
        old.deserialize(before)
        assert list(old.iterdump()) == list(kept.iterdump())
        old.close()
        kept.close()
