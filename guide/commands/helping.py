"""`guide help`: topics as plain text. What can be said comes from the phrasebook, the keys from the screen's table."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from difflib import get_close_matches
from textwrap import fill, indent

from guide import app
from guide.core.errors import BadInput
from guide.core.jobs.wording import IN_ASCII, clean
from guide.core.words import phrasebook
from guide.edge.profilefile import EXAMPLE
from guide.edge.screen.keys import keys_shown

WIDTH = 78
_HANGING = 22


def help_on(topic: str) -> int:
    """Print a topic, or the list of them. Raises BadInput for one there is not."""
    name = topic.strip().lower()
    if name in ("", "topics"):
        _print(_topics())
        return 0
    if name not in TOPICS:
        near = get_close_matches(name, TOPICS, 1)
        meant = f"; did you mean {near[0]}?" if near else ""
        raise BadInput(f"no help on {topic[:40]!r}{meant}; topics: {', '.join(TOPICS)}")
    title, text = TOPICS[name]
    _print(f"{title}\n\n{text()}")
    return 0


def _print(text: str) -> None:
    encoding = sys.stdout.encoding or "utf-8"
    try:
        text.encode(encoding)
    except UnicodeEncodeError:
        text = text.translate(IN_ASCII).encode(encoding, "replace").decode(encoding)
    sys.stdout.write(f"{clean(text).rstrip()}\n")


def _topics() -> str:
    rows = table((name, title) for name, (title, _) in TOPICS.items())
    return f"guide help TOPIC tells more; guide COMMAND --help tells the flags of a command.\n\n{rows}"


def table(rows: Iterable[tuple[str, str]]) -> str:
    """Return rows of (name, text), the text wrapped beside its name."""
    lines = []
    for name, text in rows:
        if len(name) > _HANGING - 4:
            lines.append(f"  {name}")
            name = ""
        lines.append(fill(text, WIDTH, initial_indent=f"  {name:<{_HANGING - 2}}", subsequent_indent=" " * _HANGING))
    return "\n".join(lines)


def paragraphs(*texts: str) -> str:
    return "\n\n".join(fill(t, WIDTH) for t in texts)


def _readings() -> str:
    said = table((example, meaning) for _, example, meaning in phrasebook.forms_rows())
    words = table((name, ", ".join(words)) for name, words in phrasebook.answers_said().items())
    lead = "Said or typed, the same words count. What could be two readings is asked, never guessed."
    return f"{fill(lead, WIDTH)}\n\n{said}\n\nWithout a number:\n\n{words}"


def _commands() -> str:
    rows = ((c.value, ", ".join(w for w in words if w != c.value) or "-") for c, words in phrasebook.commands().items())
    lead = "At any question, said or typed. Left the name, right what else means the same; words follow where … stands."
    return f"{fill(lead, WIDTH)}\n\n{table(rows)}"


def _keys() -> str:
    lead = paragraphs(
        "On the full screen a key says a word, so a foot switch that types one of these keys needs nothing else. "
        "Enter on an empty line acknowledges a caution, says yes to a read-back and done to a repair, and skips at the "
        "counter; a reading or a finding is never given by it. The screen shows what each key says now."
    )
    rows = [(key, says) for key, says in keys_shown("yes, next or done") if key != "Bksp"]
    rows[1:1] = [
        ("Backspace", "on an empty line: scratch that"),
        ("Space", "by voice, on an empty line: opens the ear, and closes it; may be held down instead"),
    ]
    return f"{lead}\n\n{table(rows)}"


def _files() -> str:
    home = app.home_folder()
    rows = table([
        (str(home), "where everything is kept; GUIDE_HOME names another folder"),
        ("guide.sqlite3", "jobs: every answer is on disk before it is read back"),
        ("trees/", "your own trees; they come before those in the package"),
        ("meter.toml", "your own meter: guide help meter"),
        ("voice.toml", "how it speaks and listens: guide help voice"),
    ])  # fmt: skip
    more = (
        "guide jobs WORDS finds a job. guide export JOB writes it as one JSON document, guide import brings it in, "
        "guide delete removes it."
    )
    return f"{rows}\n\n{fill(more, WIDTH)}"


def _trees() -> str:
    return paragraphs(
        "A tree is a YAML file: hazards with the word that acknowledges them, checks with their bands and the ground "
        "for every figure, causes with weights, repairs and the reading that proves each repair.",
        "guide trees lists them, guide trees WORDS matches them to a symptom. Your own go into the trees folder of "
        "guide help files, or into a folder named with --trees.",
        "guide lint FILE tells every mistake as file:line; guide draw TREE draws it; guide plan TREE prices its order; "
        "guide rehearse TREE plays simulated faults through it.",
    )


def _voice() -> str:
    lead = paragraphs(
        "guide begin --voice speaks and listens; the same words can be typed at any time. A reading that was heard is "
        "read back and waits for yes, unless two independent recognisers agree on it; so does what closes a job "
        "without its proof, and a note is said again. slower, quiet and repeat are for the voice; with --meter the "
        "meter takes the readings and the voice the words, whoever is first.",
        "While it speaks it does not listen, unless duplex is full: answer when it has ended, or press Space or type "
        "to cut it short.",
        "Where it is noisy, or colleagues talk, press Space before and after you speak, or hold it down; in plain "
        "lines, Space and Enter. What is said between is one answer, whatever the noise.",
        f"{app.home_folder() / 'voice.toml'} sets it up; every line may be left out:",
    )
    rows = table([
        ('microphone = "headset"', "a part of a name that guide doctor lists; so are loudspeaker and voice"),
        ('listen = "key"', "it hears only what is said with Space; open: whatever sounds like speech"),
        ('duplex = "full"', "while it speaks, stop, scratch that and a louder voice cut in; half: nothing is heard"),
        ("rate = 130", "words a minute, 80 to 300"),
        ('say = "short"', "as after quiet: questions, readings, and what you ask for; full: everything"),
        ('vosk_model = "FOLDER"', "a Vosk model of your own, where it is not in the models folder beside this file"),
    ])  # fmt: skip
    needs = "It needs the voice parts, pip install 'bench-guide[voice]', and a microphone."
    return f"{lead}\n\n{rows}\n\n{fill(needs, WIDTH)}"


def _meter() -> str:
    lead = paragraphs(
        "guide begin --meter auto takes readings from a connected meter: a reading counts once it is steady, whoever "
        "has it first, the meter or you. take it takes what the display shows now. guide meter reads once.",
        "It needs the instrument parts, pip install 'bench-guide[instruments]', and works over USB, serial and network "
        "with meters that speak SCPI.",
        "guide meter --leads 0.15 takes off what the display shows with the tips held together. guide meter --profile "
        "FILE keeps your own meter's accuracy, so that readings near an edge are told as that; what the file leaves "
        "out is as on a usual handheld:",
    )
    return f"{lead}\n\n{indent(EXAMPLE.rstrip(), '  ')}"


def _screen() -> str:
    return paragraphs(
        "On a terminal of 72 columns by 20 rows or more the bench is a full screen: power in words, the next check in "
        "large letters, the last reading on its bands (a double line is where a good unit reads), the odds of the "
        "causes, the talk, what the question takes, and the keys.",
        "--plain keeps to lines: for screen readers, slow lines and logs. So does a dumb terminal or a pipe. NO_COLOR "
        "is honoured, and no meaning rests on colour alone. A terminal without UTF-8 gets plain letters.",
    )


def _job() -> str:
    return paragraphs(
        "guide begin \"what is wrong\" opens a job: questions at the counter, cautions, checks, a verdict with its "
        "evidence and rivals, repairs to choose from, proof by the same readings, the function test. Work on mains "
        "parts, a swollen pack or a picture tube is handed over and ends there.",
        "Leave whenever you like, or say hold for the customer until Friday: guide resume goes on, cautions first. "
        "guide jobs lists what waits, guide jobs WORDS finds a job by device, label, note, cause or date. go back "
        "takes back a slip, done too. guide report JOB tells what was found; guide outcome JOB CAUSE what it really "
        "was, and closed jobs teach the next ones.",
        "For scripts, it exits with 0 when done or put aside, 1 where the job was closed without its proof or lint has "
        "findings, 2 for bad use or input, 3 where the job is open elsewhere.",
    )  # fmt: skip


TOPICS: dict[str, tuple[str, Callable[[], str]]] = {
    "job": ("A job from symptom to proof", _job),
    "readings": ("How a reading is said or typed", _readings),
    "commands": ("What can be said at any question", _commands),
    "keys": ("Keys of the full screen, foot switches", _keys),
    "screen": ("The full screen, and plain lines instead", _screen),
    "voice": ("Speaking and listening", _voice),
    "meter": ("Your own meter, and a connected one", _meter),
    "trees": ("The trees it walks, and your own", _trees),
    "files": ("Where things are kept", _files),
}
