"""The worlds tests live in: the Fernleaf bench and trees drawn at random."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

from hypothesis import strategies as st

from guide import app, cli
from guide.core.intent import Utterance
from guide.core.quantity import Measure
from guide.core.reading import Band, Source
from guide.core.tree import (
    NO_HAZARD,
    NONE,
    OTHER,
    UNSEEN,
    Cause,
    Check,
    Hazard,
    Power,
    Repair,
    SourceNote,
    Step,
    Sweep,
    Tree,
    Verify,
    Where,
)
from guide.edge.jobs.store import Store
from guide.edge.trees import treefile

ROOT = Path(__file__).parents[1]
TREES = ROOT / "trees"
FERNLEAF = "fernleaf-gh2/sensor-bus-dead"
HERE = Where("drawn.yaml", 1)
# How many times the usual examples the laws of the job are tried on; by hand, over night.
THOROUGH = int(os.environ.get("GUIDE_THOROUGH", "1"))


def shipped() -> list[str]:
    """Ids of the trees in the repository."""
    return sorted(str(p.relative_to(TREES).with_suffix("")) for p in TREES.rglob("*.yaml"))


def shipped_tree(tree_id: str) -> tuple[Tree, str]:
    text = (TREES / f"{tree_id}.yaml").read_text(encoding="utf-8")
    return treefile.read(text, f"trees/{tree_id}.yaml", tree_id), text


class TestBench:
    """App over a real store in a temporary folder, spoken to by typed lines. `said` collects every message."""

    __test__ = False

    def __init__(
        self, home: Path, tree_id: str = FERNLEAF, *, tree: Tree | None = None, text: str = "", **more
    ) -> None:
        self.store = Store(home)
        if tree is None:
            tree, text = shipped_tree(tree_id)
        self.session, self.said = app.begin(self.store, tree, text, clock=lambda: "2026-01-05T09:00:00+00:00", **more)

    @property
    def job(self):
        return self.session.job

    @property
    def last(self) -> dict:
        return self.said[-1]

    def hears(self, *lines: str, spoken: bool = False) -> list[dict]:
        """Say `lines` one after the other and return the messages of the last one."""
        told: list[dict] = []
        for line in lines:
            source = Source.SPOKEN if spoken else Source.TYPED
            told = self.session.hear(Utterance(line, source))
            self.said += told
        return told

    def types(self) -> list[str]:
        return [m["type"] for m in self.said]

    def comes_back(self, *, at: str = "2026-01-05T10:00:00+00:00") -> list[dict]:
        """End the process in thought and resume from the store alone, at the time `at`."""
        self.session, told = app.resume(self.store, self.job.id, clock=lambda: at)
        self.said += told
        return told


def carried_over(tmp_path: Path, monkeypatch) -> Store:
    """Take job 1 by its file from the store in `here` to a new one, and return that."""
    for home, words in (("here", ("export", "1", "--to")), ("there", ("import",))):
        monkeypatch.setenv("GUIDE_HOME", str(tmp_path / home))
        assert cli.run([*words, str(tmp_path / "job.json")]) == 0
    return Store(tmp_path / "there")


HAZARDS = {
    "dead": Hazard("dead", Power.OFF, "Unplug it. Say unplugged.", "unplugged", HERE),
    "bled": Hazard("bled", Power.OFF, "Bleed the bank. Say bled.", "bled", HERE),
    "live": Hazard("live", Power.ON, "It is live now. Say ready.", "ready", HERE),
}
_OFF = (Measure.DIODE, Measure.OHMS, Measure.CONTINUITY)
_ON = (Measure.VOLTS_DC, Measure.AMPS_DC)


@st.composite
def checks(draw, number: int, causes: tuple[str, ...], count: int) -> Check:
    """One check of a random tree: any measure, the hazard its power needs, random predictions and routes."""
    measure = draw(st.sampled_from([*_OFF, *_ON, Measure.LOOK, Measure.ASK]))
    hazard = (
        draw(st.sampled_from(["dead", "bled"])) if measure in _OFF
        else "live" if measure in _ON
        else draw(st.sampled_from([NO_HAZARD, "dead", "live"]))
    )  # fmt: skip
    if measure.takes_a_reading:
        bands = (Band("low", None, 0.1), Band("mid", 0.1, 0.5), Band("high", 0.5, None, over_range=True))
    else:
        bands = (Band("low", words=("low",)), Band("mid", words=("mid",)), Band("high", words=("high",)))
    names = [b.name for b in bands]
    odd = draw(st.lists(st.sampled_from(causes), unique=True, max_size=len(causes)))
    ahead = [*(f"check-{i}" for i in range(number + 1, count)), "plan", "stop"]
    targets = [*ahead, *causes]
    then = draw(st.fixed_dictionaries({n: st.sampled_from(targets) for n in names})) if draw(st.booleans()) else {}
    if then and draw(st.booleans()):
        then[UNSEEN] = draw(st.sampled_from(ahead))
    gates = draw(st.sets(st.integers(0, number - 1), max_size=2)) if number and draw(st.booleans()) else ()
    answers = st.lists(st.sampled_from(["low", "mid", "high", UNSEEN]), unique=True, min_size=1, max_size=3)
    return Check(
        id=f"check-{number}", ask=f"Check number {number}.", measure=measure, hazard=hazard, bands=bands, where=HERE,
        normal=(draw(st.sampled_from(names)),), sources=("book",),
        expect={c: (draw(st.sampled_from(names)),) for c in odd},
        then=then, after={f"check-{i}": tuple(draw(answers)) for i in gates},
        setup=draw(st.sampled_from(["as_found", "cable", *(["tone"] if measure in _ON else [])])),
        access=draw(st.sampled_from([(), ("lid",)])),
        minutes=draw(st.floats(0.5, 10)),
    )  # fmt: skip


@st.composite
def random_trees(draw) -> Tree:
    """A small legal tree."""
    count = draw(st.integers(1, 6))
    causes = tuple(f"cause-{i}" for i in range(draw(st.integers(1, 4))))
    made = {f"check-{n}": draw(checks(n, causes, count)) for n in range(count)}
    first = next(iter(made))
    fix = Repair("Put it right", 5, "dead", HERE)
    listed = {
        c: Cause(c, draw(st.floats(0.5, 5)), f"It is {c}.", HERE, (fix, replace(fix, do="Bypass it", proof=True)),
                 Verify(first, made[first].normal[0], "stop", HERE))
        for c in causes
    }  # fmt: skip
    listed[OTHER] = Cause(OTHER, 1.0, "Something else.", HERE)
    listed[NONE] = Cause(NONE, 1.0, "Nothing wrong.", HERE)
    # A sweep is walked whole, and a tree begins with what comes after nothing.
    swept = draw(st.booleans()) and not any(c.after for c in made.values())
    return Tree(
        id="drawn", version=1, device="A drawn device", symptom="It is dead", heard_as=("dead",),
        start=draw(st.sampled_from([first, "", *(["walk"] if swept else [])])),
        decide_at=draw(st.sampled_from([0.7, 0.9, 0.99])),
        sources={"book": SourceNote("book", "A handbook", HERE)}, hazards=HAZARDS, points={},
        setups={
            "cable": Step("cable", "Plug the cable in. Say ready.", "ready", 1, HERE),
            "tone": Step("tone", "Let it play a tone. Say playing.", "playing", 1, HERE, Power.ON),
        },
        access={"lid": Step("lid", "Open the lid. Say open.", "lid open", 3, HERE)},
        checks=made, causes=listed, where=HERE,
        sweeps={"walk": Sweep("walk", "Point by point.", tuple(made), HERE)} if swept else {},
    )  # fmt: skip
