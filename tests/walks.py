"""Whole jobs walked at random, mostly by answers that fit, so that they come to verdicts, repairs and proofs: the laws
hold at every step, also over crashes and nights. By hand, as long as wanted:

    nice python -m tests.walks --seconds 300 --seed 1
"""

import argparse
import json
import random
import tempfile
import time
from math import isclose
from pathlib import Path

from guide import app
from guide.core.intent import Command, Do, Pick, Say, Utterance
from guide.core.jobs.folding import fold
from guide.core.jobs.job import EVERY_READING, opened
from guide.core.jobs.phases import Phase, legal
from guide.core.jobs.questions import expecting, question
from guide.core.jobs.weighing import beliefs_of
from guide.core.quantity import Quantity
from guide.core.reading import Band, Measured, OverRange, Reading, Source
from guide.core.report import bench_text, report_of
from guide.core.report.customer import customer_page
from guide.core.report.markdown import customer_text
from guide.edge.jobs.store import Store
from guide.edge.screen.facts import headline, last_reading, odds_of, progress, table_of_readings
from tests.test_job_laws import assert_safe
from tests.worlds import shipped, shipped_tree

STEPS = 160
WORDS = ("", "for the customer until Friday", "o l", "4 7 2", "a cracked joint")
BEGINNINGS = ((app.Intake.FIRST, ""), (app.Intake.LATER, ""), (app.Intake.LATER, ""), (app.Intake.LATER, EVERY_READING))
FIRST_DAY, LATER = "2026-01-05T09:00:00+00:00", "2026-01-12T09:00:00+00:00"


class Walk:
    """One job and its store. Every step is told in `log`, so that a failure says how it was come to."""

    def __init__(self, seed: int, home: Path) -> None:
        self.chance, self.home, self.at = random.Random(seed), home, FIRST_DAY
        self.store, self.log = Store(home), [f"seed {seed}"]
        self.tree, text = shipped_tree(self.chance.choice(shipped()))
        intake, sweep = self.chance.choice(BEGINNINGS)
        self.session, _ = app.begin(self.store, self.tree, text, clock=lambda: self.at, intake=intake, sweep=sweep)

    def go(self) -> None:
        for step in range(STEPS):
            if self.session.job.phase is Phase.CLOSED:
                break
            told = self.step()
            assert all(json.dumps(m, allow_nan=False) for m in told)
            self.holds()
            if step % 8 == 0:
                self.is_on_disk()
        self.is_on_disk()
        self.is_written_up()
        self.store.close()

    def step(self) -> list[dict]:
        kind = self.chance.choices(("answer", "command", "crash", "night", "noise"), (82, 8, 3, 5, 2))[0]
        self.log.append(kind)
        match kind:
            case "answer":
                return self.answers()
            case "command":
                command, words = self.chance.choice(list(Command)), self.chance.choice(WORDS)
                self.log.append(f"{command.value} {words}")
                return self.session.act(Do(command, words, self.chance.choice(list(Source))))
            case "noise":
                line = "".join(chr(self.chance.randint(32, 0x2FFF)) for _ in range(9))
                return self.session.hear(Utterance(line))
        self.at = LATER if kind == "night" else self.at
        before, self.store = self.store, Store(self.home)
        before.close()
        self.session, told = app.resume(self.store, "1", clock=lambda: self.at)
        return told

    def answers(self) -> list[dict]:
        wants, standing, source = expecting(self.session.job), question(self.session.job), self.source()
        if wants.measure is not None:
            reading = self.reading(wants.measure.unit)
            self.log.append(str(reading))
            return self.session.act(Say(reading, "a reading", source))
        # A job is closed seldom and goes on to its repair often, for what comes after that is walked least.
        offered = sorted(standing["answers"])
        if len(offered) > 1 and "close" in offered and self.chance.random() < 0.95:
            offered.remove("close")
        answer = "enough" if "enough" in offered and self.chance.random() < 0.6 else self.chance.choice(offered)
        self.log.append(answer)
        if answer in wants.answers:
            told = self.session.act(Pick(answer, answer, source))
        else:
            told = self.session.hear(Utterance(answer))
        assert told[0]["type"] != "unclear", f"{answer} is offered"
        return told

    def source(self) -> Source:
        return self.chance.choice(list(Source))

    def reading(self, unit) -> Reading:
        """Mostly one in a band of the check, at its edges too."""
        if self.chance.random() < 0.15:
            return Measured(Quantity(round(self.chance.uniform(-1, 60), 3), unit), 0.001)
        band: Band = self.chance.choice(self.session.job.check.bands)
        low, high = band.low, band.high
        if band.over_range and (low is None or self.chance.random() < 0.4):
            return OverRange(unit)
        low = low if low is not None else high - abs(high) / 2 if high is not None else 0.0
        value = self.chance.uniform(low, high if high is not None else low + abs(low) * 0.1 + 0.001)
        return Measured(Quantity(round(value, 6), unit), abs(value) / 1000)

    def holds(self) -> None:
        job, standing = self.session.job, question(self.session.job)
        assert (standing is None) == (job.phase is Phase.CLOSED)
        assert standing is None or standing["answers"]
        assert isclose(sum(beliefs_of(job).values()), 1, abs_tol=1e-9)
        assert_safe(job)

    def is_on_disk(self) -> None:
        """What is live is the fold of what is on disk, each event legal where it happened; the screen can show it."""
        live, job = self.session.job, opened(self.session.job.tree)
        for recorded in self.store.events("1"):
            assert recorded.event.kind in legal(job.phase), f"{recorded.event.kind} in {job.phase}"
            job = fold(job, (recorded.event,))
        assert job == live
        kept = self.store.summary("1")
        assert kept.answers == live.answers
        assert (kept.state == "closed") == (live.phase is Phase.CLOSED)
        for shown in (headline, progress, table_of_readings, odds_of, last_reading):
            shown(live)

    def is_written_up(self) -> None:
        report = report_of(self.session.job.tree, self.store.events("1"), meter=self.session.job.meter)
        for line in (*bench_text(report).splitlines(), *customer_text(customer_page(report)).splitlines()):
            assert ": ." not in line, line
            assert "()" not in line, line


def walk(seed: int) -> None:
    """Raises AssertionError, with the last steps, where a law does not hold."""
    with tempfile.TemporaryDirectory() as home:
        one = Walk(seed, Path(home))
        try:
            one.go()
        except Exception as error:
            raise AssertionError(f"{error!r} after {one.log[:1] + one.log[-12:]} on {one.tree.id}") from error


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    seed, until = given.seed, time.monotonic() + given.seconds
    while time.monotonic() < until:
        walk(seed)
        seed += 1
    print(f"{seed - given.seed} jobs walked, seeds {given.seed} to {seed - 1}: every law held")


if __name__ == "__main__":
    main()
