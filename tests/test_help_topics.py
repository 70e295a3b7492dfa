"""Help by topic, and what the shell completes: both out of the tables they speak of."""

import pytest

from guide import cli
from guide.commands import completing
from guide.commands.helping import TOPICS, WIDTH, table
from guide.core.intent import Command
from guide.core.words import phrasebook
from guide.core.words.phrases import UNKNOWN_WORDS
from guide.edge import profilefile
from guide.edge.screen.keys import KEYS
from tests.worlds import FERNLEAF, TestBench


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path))
    return tmp_path


def told(capsys, *arguments):
    assert cli.run(["help", *arguments]) == 0
    return capsys.readouterr().out


def test_the_list_names_every_topic(capsys):
    text = told(capsys)
    for topic, (title, _) in TOPICS.items():
        assert topic in text
        assert title in text


@pytest.mark.parametrize("topic", TOPICS)
def test_a_topic_fits_a_terminal_and_ends_in_one_line_break(topic, capsys):
    text = told(capsys, topic)
    assert text.startswith(f"{TOPICS[topic][0]}\n\n")
    assert text.endswith("\n")
    assert not text.endswith("\n\n")
    too_long = [line for line in text.splitlines() if len(line) > WIDTH and " " in line.strip()]
    assert too_long == []


def test_every_command_every_form_and_every_key_is_told(capsys):
    commands, readings, keys = (told(capsys, topic) for topic in ("commands", "readings", "keys"))
    for command in Command:
        assert f"  {command.value}" in commands
    flat = " ".join(readings.split())
    for _, example, meaning in phrasebook.forms_rows():
        assert f"{example} {meaning}" in flat
    for _, name, command in KEYS:
        assert any(line.split() == [name, *command.value.split()] for line in keys.splitlines())


def test_files_names_the_folder_that_is_used(capsys, home):
    assert str(home) in told(capsys, "files")


def test_a_topic_there_is_not_is_one_line_with_the_nearest(capsys):
    assert cli.run(["help", "kyes"]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert "did you mean keys?" in error


def test_help_without_utf_8_keeps_units(monkeypatch, capsys):
    import io
    import sys

    out = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    monkeypatch.setattr(sys, "stdout", out)
    assert cli.run(["help", "readings"]) == 0
    out.seek(0)
    assert "ohm" in out.read()


def test_a_long_name_stands_on_a_line_of_its_own():
    assert table([("a", "b"), ("x" * 30, "text")]).splitlines()[1:] == ["  " + "x" * 30, " " * 22 + "text"]


def completed(monkeypatch, capsys, words):
    """Ask as bash does: the words so far in COMP_WORDS, the place of the one begun in COMP_CWORD."""
    monkeypatch.setenv("_GUIDE_COMPLETE", "complete_bash")
    monkeypatch.setenv("COMP_WORDS", words)
    monkeypatch.setenv("COMP_CWORD", str(len(words.split(" ")) - 1))
    with pytest.raises(SystemExit) as ended:
        cli.run([])
    assert ended.value.code == 0
    return capsys.readouterr().out.split()


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        ("guide res", ["resume"]),
        ("guide begin --tree fernleaf-gh2/sensor-b", [FERNLEAF]),
        ("guide help ke", ["keys"]),
        ("guide begin --pl", ["--plain"]),
    ],
)
def test_the_shell_completes_commands_flags_trees_and_topics(words, offered, monkeypatch, capsys):
    assert completed(monkeypatch, capsys, words) == offered


def test_jobs_are_completed_and_resume_offers_only_those_that_are_open(home, monkeypatch, capsys):
    TestBench(home)
    closed = TestBench(home)
    closed.hears("ready", "12.1", "unplugged", "OL", "enough", "close")
    assert completed(monkeypatch, capsys, "guide report ") == ["2", "1"]
    assert completed(monkeypatch, capsys, "guide resume ") == ["1"]


def test_an_outcome_is_completed_from_the_causes_of_its_job(home, monkeypatch, capsys):
    TestBench(home)
    assert completed(monkeypatch, capsys, "guide outcome 1 f") == ["fuse-open", "feed-shorted"]
    assert completed(monkeypatch, capsys, "guide outcome 7 ") == []


def test_help_shows_how_a_meter_file_is_written(capsys):
    text = told(capsys, "meter")
    assert "guide meter --profile FILE" in " ".join(text.split())
    assert all(line in text for line in profilefile.EXAMPLE.splitlines())


def test_completion_stays_quiet_where_the_store_cannot_be_read(home, capsys):
    (home / "guide.sqlite3").write_bytes(b"no database" * 500)
    assert completing.jobs("") == []
    assert capsys.readouterr() == ("", "")


def test_what_passes_a_question_over_because_it_is_not_known_is_told(capsys):
    commands = " ".join(told(capsys, "commands").split())
    for words in UNKNOWN_WORDS:
        assert words in commands


def test_what_waits_for_a_yes_is_told_where_voice_is(capsys):
    assert "what closes a job without its proof" in " ".join(told(capsys, "voice").split())
