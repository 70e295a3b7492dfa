"""Small trees made from bare evidence tables, for tests of the odds and the planner."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence

from guide.core.quantity import Measure
from guide.core.reading import Band
from guide.core.tree import NO_HAZARD, Cause, Check, Hazard, Power, SourceNote, Tree, Where

HERE = Where("tables", 1)


def check(name: str, bands: Sequence[str], **given) -> Check:
    """A look with the named answers, so that it is grounded; `given` overrides any field."""
    fields = {"ask": name, "measure": Measure.LOOK, "hazard": NO_HAZARD, "minutes": 1.0} | given
    return Check(id=name, bands=tuple(Band(b, words=(b,)) for b in bands), where=HERE, **fields)


def tree(weights: Mapping[str, float], checks: Sequence[Check], *, decide_at: float = 0.85, **given) -> Tree:
    fields = {"sources": {}, "setups": {}, "access": {}, "start": ""} | given
    hazards = {
        "off": Hazard("off", Power.OFF, "Unplug.", "unplugged", HERE),
        "on": Hazard("on", Power.ON, "Live.", "ready", HERE),
    }
    causes = {name: Cause(name, w, name, HERE) for name, w in weights.items()}
    return Tree(
        id="table", version=1, device="Fernleaf GH-2", symptom="table", heard_as=(), decide_at=decide_at,
        hazards=hazards, points={}, checks={c.id: c for c in checks}, causes=causes, where=HERE, **fields,
    )  # fmt: skip


def sourced(text: str) -> SourceNote:
    return SourceNote("note", text, HERE)


def random_tree(
    seed: int, causes: int, checks: int, *, bands: int = 2, share: float = 0.5, reliability: float = 0.98,
    other: float = 0.0, decide_at: float = 0.85, behind: float = 0.0,
) -> Tree:  # fmt: skip
    """A seeded table: each check names `share` of the causes with one or two bands other than `normal`'s. A share
    `behind` of the checks makes sense after one answer of an earlier one alone."""
    draw = random.Random(seed)
    names = [f"c{i}" for i in range(causes)]
    weights = {name: draw.uniform(0.05, 1.0) for name in names} | ({"other": other} if other else {})
    made = []
    for j in range(checks):
        words = [f"b{k}" for k in range(draw.randint(2, bands))]
        expect = {}
        for name in names:
            if draw.random() < share:
                hits = draw.sample(words[1:], min(len(words) - 1, draw.choice((1, 1, 1, 2))))
                expect[name] = tuple(hits)
        hazard = draw.choice(("off", "on", NO_HAZARD))
        given = {"minutes": float(draw.randint(1, 5)), "hazard": hazard, "reliability": reliability}
        if behind and made and draw.random() < behind:
            gate = draw.choice(made)
            given["after"] = {gate.id: (draw.choice(gate.bands).name,)}
        made.append(check(f"t{j}", words, normal=(words[0],), expect=expect, **given))
    return tree(weights, made, decide_at=decide_at)
