"""What the documents show is what the program does."""

import re

import pytest

from tests.worlds import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")
SHOWN = re.findall(r"<!-- conversation: ([\w-]+) -->\n```\n(.*?)\n```", README, re.DOTALL)


def test_the_readme_shows_a_conversation():
    assert SHOWN


@pytest.mark.parametrize(("name", "text"), SHOWN)
def test_a_conversation_in_the_readme_is_a_real_one(name, text):
    golden = (ROOT / "tests" / "golden" / "conversations" / f"{name}.txt").read_text(encoding="utf-8")
    assert text in golden


def test_the_two_commands_are_single_lines():
    for mark in ("run command", "test command"):
        [block] = re.findall(rf"<!-- {mark} -->\n```sh\n(.*?)\n```", README, re.DOTALL)
        assert "\n" not in block
        assert block.startswith("python3 -m venv")
