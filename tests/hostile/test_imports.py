"""Broken and malicious job documents: one clear line, exit code 2, bounded, and nothing of them is kept."""

import os

import pytest

if not hasattr(os, "fork"):
    pytest.skip("needs fork", allow_module_level=True)

from guide import app
from guide.cli import run
from guide.edge.jobs import jobfile
from guide.edge.jobs.store import Store
from tests.hostile.cage import SECONDS, caged
from tests.hostile.imports import CHANGES, RAW, documents
from tests.worlds import TestBench

LINES = ("ready", "12.1", "note splash", "unplugged", "OL", "enough", "1", "done", "unplugged", "60.2", "works")
NAMES = [*CHANGES, *RAW, "cut in half", "twice in a file"]


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """Every document, and a store; the sound one goes in, so that what refuses the others is what was changed."""
    home = tmp_path_factory.mktemp("home")
    bench = TestBench(home)
    bench.hears(*LINES)
    kept = bench.store.summary("1")
    sound = jobfile.written(
        bench.store.tree_of("1"), bench.store.events("1"), device=kept.device, symptom=kept.symptom, began=kept.began
    )
    bench.store.close()
    path = home / "sound.json"
    path.write_text(sound)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("GUIDE_HOME", str(home / "data"))
        assert run(["import", str(path)]) == 0
    return home / "data", dict(documents(sound))


@pytest.mark.parametrize("name", NAMES)
def test_a_bad_document_is_refused_in_one_clear_line_and_nothing_is_kept(made, tmp_path, name):
    home, told = made
    path = tmp_path / "job.json"
    path.write_bytes(told[name])
    ended = caged(["import", str(path)], home)
    assert ended.code == 2, ended
    assert ended.one_clear_line(), ended.error
    assert "job.json" in ended.error
    assert ended.seconds < SECONDS
    store = Store(home)
    assert store.count() == 1
    store.close()


def test_a_document_from_a_device_without_end_is_bounded(made, tmp_path):
    ended = caged(["import", "/dev/zero"], made[0])
    assert ended.code == 2, ended
    assert "larger than" in ended.error


def test_a_job_that_came_in_is_gone_on_with_as_one_of_our_own(made):
    store = Store(made[0])
    assert app.load(store, "1").closed.proven is True
    store.close()
