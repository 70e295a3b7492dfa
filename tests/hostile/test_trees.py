"""Broken and malicious trees: one clear line, exit code 2, within two seconds and 200 MB, whatever is in the file."""

import os

import pytest

if not hasattr(os, "fork"):
    pytest.skip("needs fork", allow_module_level=True)

from guide.cli import run
from tests.hostile.cage import SECONDS, caged
from tests.hostile.trees import TREES
from tests.lint_examples import CLEAN


@pytest.fixture(scope="module", autouse=True)
def warm(tmp_path_factory):
    """What a run imports is imported here, once, and not in every fork."""
    folder = tmp_path_factory.mktemp("warm")
    (folder / "x.yaml").write_text(CLEAN.replace("weight: 3", "weight: x", 1))
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("GUIDE_HOME", str(folder))
        assert run(["begin", "--tree", "x", "--trees", str(folder), "--jsonl"]) == 2


@pytest.mark.parametrize("name", TREES)
def test_a_bad_tree_is_refused_in_one_clear_line(name, tmp_path):
    (tmp_path / "x.yaml").write_bytes(TREES[name])
    ended = caged(["begin", "--tree", "x", "--trees", str(tmp_path), "--jsonl"], tmp_path / "home")
    assert ended.code == 2, ended
    assert ended.one_clear_line(), ended.error
    assert "x.yaml:" in ended.error
    assert ended.out == ""
    assert ended.seconds < SECONDS
