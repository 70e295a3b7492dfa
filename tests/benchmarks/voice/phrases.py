"""What technicians say, drawn at random by a seed: readings of each kind, commands, and talk that is no answer."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from guide.core.quantity import Measure
from guide.core.words.aloud import cardinal
from guide.core.words.forms import ONES

COMMANDS = ("repeat", "next", "skip", "go back", "pause", "why", "help", "undo", "stop", "scratch that", "where are we")
TALK = (
    "hold on let me find the other probe", "where did that screw go", "this board is filthy",
    "pass me the flux please", "thanks very much", "is it lunch time already", "the phone is ringing again",
    "i think the battery is over there", "what a mess", "did you see the game last night",
    "can you turn the light on", "my coffee is cold", "who took the small tweezers", "that smells burnt",
)  # fmt: skip


@dataclass(frozen=True)
class Phrase:
    """`words` said while `measure` is asked for; `kind` is reading, command or talk; `value` in base units, None for
    over range."""

    words: str
    measure: Measure
    kind: str
    value: float | None = None


Maker = Callable[[random.Random], Phrase]


def digits(text: str, rng: random.Random) -> str:
    """Return figures one by one; a zero is now and then an `oh`."""
    return " ".join("oh" if d == "0" and rng.random() < 0.3 else ONES[int(d)] for d in text)


def three(number: int, rng: random.Random) -> str:
    """452 -> `four fifty two`, 405 -> `four oh five`, 400 -> `four hundred`."""
    hundreds, rest = divmod(number, 100)
    if rest == 0:
        return f"{ONES[hundreds]} hundred"
    return f"{ONES[hundreds]} {cardinal(rest) if rest > 9 else digits(f'0{rest}', rng)}"


def diode(rng: random.Random) -> Phrase:
    if rng.random() < 0.1:
        return Phrase(rng.choice(("o l", "open line", "over limit")), Measure.DIODE, "reading")
    mv = rng.randrange(100, 900) if rng.random() < 0.85 else rng.randrange(5, 100)
    ways = [f"point {digits(f'{mv:03d}', rng)}", f"zero point {digits(f'{mv:03d}', rng)} volts"]
    if mv >= 100:
        ways += [three(mv, rng), f"{three(mv, rng)} millivolts", f"{cardinal(mv)} millivolts", digits(str(mv), rng)]
    return Phrase(rng.choice(ways), Measure.DIODE, "reading", mv / 1000)


def ohms(rng: random.Random) -> Phrase:
    a, b, n = rng.randrange(1, 10), rng.randrange(1, 10), rng.randrange(2, 999)
    words, value = rng.choice(
        [
            (f"{ONES[a]} point {ONES[b]} k", (10 * a + b) * 100.0),
            (f"{ONES[a]} point {ONES[b]} kilohms", (10 * a + b) * 100.0),
            (f"{ONES[a]} point {ONES[b]} meg", (10 * a + b) * 1e5),
            (f"{cardinal(n)} ohms", float(n)),
            (f"{cardinal(n % 99 + 1)} point {ONES[b]} ohms", n % 99 + 1 + b / 10),
            (f"zero point {ONES[b]} ohms", b / 10),
        ]
    )
    return Phrase(words, Measure.OHMS, "reading", value)


def volts(rng: random.Random) -> Phrase:
    n, b, c = rng.choice((1, 2, 3, 5, 8, 11, 12, 13, 19, 20, 24)), rng.randrange(10), rng.randrange(100)
    words, value = rng.choice(
        [
            (f"{cardinal(n)} point {digits(str(b), rng)}", n + b / 10),
            (f"{cardinal(n)} point {digits(str(b), rng)} volts", n + b / 10),
            (f"{cardinal(n)} point {digits(f'{c:02d}', rng)} volts", n + c / 100),
            (f"minus point {ONES[c % 9 + 1]} volts", -(c % 9 + 1) / 10),
            (f"{cardinal(n)} volts", float(n)),
        ]
    )
    return Phrase(words, Measure.VOLTS_DC, "reading", round(value, 3))


def amps(rng: random.Random) -> Phrase:
    a, b, m = rng.randrange(1, 5), rng.randrange(1, 10), rng.randrange(2, 600)
    words, value = rng.choice(
        [
            (f"{ONES[a]} point {ONES[b]} amps", a + b / 10),
            (f"{cardinal(m)} milliamps", m / 1000),
            (f"point {digits(f'{m % 90 + 10}', rng)} amps", (m % 90 + 10) / 100),
        ]
    )
    return Phrase(words, Measure.AMPS_DC, "reading", round(value, 3))


READINGS: tuple[Maker, ...] = (diode, ohms, volts, amps)


def drawn(rng: random.Random, n: int) -> list[Phrase]:
    """Return `n` readings of each kind, as many commands, and as much talk."""
    said = [make(rng) for make in READINGS for _ in range(n)]
    modes = (Measure.DIODE, Measure.OHMS, Measure.VOLTS_DC)
    said += [Phrase(words, rng.choice(modes), "command") for words in rng.sample(COMMANDS, min(n, len(COMMANDS)))]
    return said + [Phrase(words, rng.choice(modes), "talk") for words in rng.sample(TALK, min(n, len(TALK)))]
