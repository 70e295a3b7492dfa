"""The world reports are tested in: a board with a pair of lines, and jobs on it from plain to hostile."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from guide.core.jobs import events as ev
from guide.core.quantity import Measure, Quantity, Unit
from guide.core.reading import Answered, Band, Measured
from guide.core.report import Report, report_of
from guide.core.tree import (
    NO_HAZARD,
    NONE,
    OTHER,
    Cause,
    Check,
    Hazard,
    Power,
    Repair,
    SourceNote,
    Tree,
    Verify,
    Where,
)
from tests.worlds import TestBench

HERE = Where("line.yaml", 1)
JUNCTION = (Band("shorted", None, 0.05), Band("junction", 0.05, 1.5), Band("open", 1.5, None, over_range=True))
APART = (Band("alike", None, 0.05), Band("apart", 0.05, None))

# One of everything that text can break out with.
HOSTILE = (
    "<script>alert(1)</script> \"'><img src=x onerror=alert(2)> {{ 7*7 }} {% raw %} #let x = 1 $x$ *b* _i_ `c` | cell |"
    "\n# heading\n[link](http://example.invalid) www.example.invalid \\ ]]> <!-- --> &amp; #panic()"
    " \x00\x07\x1b[31m\u202egnp.exe"
)


def line_check(name: str, point: str) -> Check:
    return Check(
        id=name, ask=f"Diode mode. Red on ground, black on {name.replace('-', ' ')}.", measure=Measure.DIODE,
        hazard="dead", bands=JUNCTION, where=HERE, normal=("junction",), red="gnd", black=point, sources=("book",),
        expect={f"clamp-{name[-1]}-short": ("shorted",), f"pin-{name[-1]}-open": ("open",)},
    )  # fmt: skip


def line_tree() -> Tree:
    """Two lines that should read alike, a rail, a look, and a clamp that may be bypassed to show the cause."""
    history = Check(
        id="opened", ask="Was it opened before?", measure=Measure.ASK, hazard=NO_HAZARD, where=HERE, fact="opened",
        bands=(Band("yes", words=("yes",)), Band("no", words=("no",))), normal=("no",),
        expect={"part-missing": ("yes",)},
    )  # fmt: skip
    look = Check(
        id="look-clamp", ask="Is the clamp fitted, torn off, or burnt?", measure=Measure.LOOK, hazard="dead",
        bands=tuple(Band(n, words=(n,)) for n in ("fitted", "torn off", "burnt")), where=HERE, normal=("fitted",),
        expect={"part-missing": ("torn off",)},
    )  # fmt: skip
    rail = Check(
        id="rail-volts", ask="Volts D C. Rail to ground.", measure=Measure.VOLTS_DC, hazard="live", where=HERE,
        bands=(Band("dead", None, 0.5), Band("low", 0.5, 4.75), Band("good", 4.75, 5.25),
               Band("high", 5.25, None, over_range=True)),
        normal=("good",), sources=("book",),
    )  # fmt: skip
    twin = Check(
        id="lines-alike", ask="Do line A and line B read alike?", measure=Measure.DIODE, hazard="dead", bands=APART,
        where=HERE, normal=("alike",), twin=("line-a", "line-b"), sources=("book",),
    )  # fmt: skip
    fit = Repair("Fit a new surge clamp", 20, "dead", HERE, parts="clamp D4", skill="fine soldering",
                 risk="heat may lift the pad", restores="line B and its surge protection", leaves="")  # fmt: skip
    bypass = Repair("Lift the clamp from line B", 8, "dead", HERE, proof=True, restores="line B",
                    leaves="line B has no surge protection")  # fmt: skip
    causes = {
        "clamp-b-short": Cause("clamp-b-short", 4, "The surge clamp on line B is shorted", HERE, (bypass, fit),
                               Verify("line-b", "junction", "line-a", HERE),
                               customer="A part that protects one data line against surges had failed"),
        "clamp-a-short": Cause("clamp-a-short", 2, "The surge clamp on line A is shorted", HERE, (fit,),
                               Verify("line-a", "junction", "stop", HERE)),
        "pin-a-open": Cause("pin-a-open", 2, "The pin of line A is open", HERE, (fit,)),
        "pin-b-open": Cause("pin-b-open", 2, "The pin of line B is open", HERE, (fit,)),
        "part-missing": Cause("part-missing", 1, "A part is missing", HERE, (fit,)),
        OTHER: Cause(OTHER, 1, "Something else.", HERE),
        NONE: Cause(NONE, 1, "Nothing wrong.", HERE),
    }  # fmt: skip
    checks = (history, rail, look, line_check("line-a", "a"), line_check("line-b", "b"), twin)
    return Tree(
        id="fernleaf/line", version=2, device="Fernleaf VL-1 valve line", symptom="No data on the line",
        heard_as=("no data",), start="rail-volts", decide_at=0.9,
        sources={"book": SourceNote("book", "Fernleaf VL-1 sheet, invented for this example", HERE)},
        hazards={"dead": Hazard("dead", Power.OFF, "Unplug it. Say unplugged.", "unplugged", HERE),
                 "live": Hazard("live", Power.ON, "It is live now. Say ready.", "ready", HERE)},
        points={"gnd": "ground", "a": "line A", "b": "line B"}, setups={}, access={},
        checks={c.id: c for c in checks}, causes=causes, where=HERE,
    )  # fmt: skip


def line_bench(home: Path) -> TestBench:
    return TestBench(home, tree=line_tree(), text="a tree of this test")


def report_of_bench(bench: TestBench) -> Report:
    return report_of(bench.job.tree, bench.store.events(bench.job.id))


def answer_all(bench: TestBench, *, b: str = "0.003", most: int = 40) -> None:
    """Answer what is asked until a verdict stands: line B reads `b`, all else is good."""
    said = {"rail-volts": "5.02", "line-a": "0.512", "line-b": b, "look-clamp": "fitted", "opened": "no"}
    for _ in range(most):
        if bench.last["type"] == "verdict":
            return
        answers = bench.last.get("answers", [])
        bench.hears(said[bench.last["check"]] if bench.last["type"] == "ask" else answers[0])
    raise AssertionError("no verdict came")


def recorded(*events: ev.Event, start: int = 9) -> tuple[ev.Recorded, ...]:
    """Return `events` a minute apart."""
    return tuple(
        ev.Recorded(i, f"2026-01-05T{start + i // 60:02d}:{i % 60:02d}:00+00:00", e) for i, e in enumerate(events, 1)
    )


def hostile_report() -> Report:
    """A job in which every text a person or a tree's author can write is hostile."""
    tree = line_tree()
    checks = {
        name: replace(c, ask=HOSTILE, bands=tuple(replace(b, words=(HOSTILE,)) for b in c.bands))
        for name, c in tree.checks.items()
    }
    causes = {
        name: replace(c, say=HOSTILE, customer=HOSTILE,
                      repairs=tuple(replace(r, do=HOSTILE, parts=HOSTILE, skill=HOSTILE, risk=HOSTILE, restores=HOSTILE,
                                            leaves=HOSTILE) for r in c.repairs))
        for name, c in tree.causes.items()
    }  # fmt: skip
    hazards = {name: replace(h, say=HOSTILE) for name, h in tree.hazards.items()}
    sources = {name: replace(s, text=HOSTILE) for name, s in tree.sources.items()}
    points = dict.fromkeys(tree.points, HOSTILE)
    tree = replace(tree, device=HOSTILE, symptom=HOSTILE, checks=checks, causes=causes, hazards=hazards,
                   sources=sources, points=points)  # fmt: skip
    return report_of(tree, recorded(*hostile_events()))


def hostile_events() -> tuple[ev.Event, ...]:
    def taken(check: str, value: float, band: str) -> ev.ReadingTaken:
        return ev.ReadingTaken(check, Measured(Quantity(value, Unit.VOLT), 0.001), HOSTILE, "typed", band, {band: 1.0})

    return (
        ev.Opened("1", "fernleaf/line", "0" * 64, HOSTILE, HOSTILE, HOSTILE),
        ev.IntakeBegun(),
        ev.FactsNoted({"history": HOSTILE, "reference": HOSTILE, "device": HOSTILE, HOSTILE: HOSTILE}),
        ev.IntakeEnded(),
        ev.CheckChosen("line-a", "plan", HOSTILE), ev.CautionGiven("dead"), ev.HazardCleared("dead", HOSTILE),
        ev.CheckAsked("line-a"), taken("line-a", 0.512, "junction"),
        ev.CheckChosen("line-b", HOSTILE, HOSTILE), taken("line-b", 0.498, "junction"),
        ev.CheckChosen("look-clamp", "plan", HOSTILE),
        ev.ReadingTaken("look-clamp", Answered("fitted"), HOSTILE, HOSTILE, "fitted", {"fitted": 1.0}),
        ev.CheckChosen("opened", "plan", HOSTILE), ev.CheckPassed("opened", HOSTILE),
        ev.CheckChosen("line-b", "offer"), taken("line-b", 0.003, "shorted"),
        ev.NoteAdded(HOSTILE), ev.Held(HOSTILE, HOSTILE), ev.Resumed(),
        ev.VerdictGiven("clamp-b-short", 0.93, ("clamp-b-short",), (("other", 0.05),), True),
        ev.VerdictAccepted(), ev.RepairChosen("clamp-b-short", 1), ev.RepairDone(("line-b",)),
        ev.CheckChosen("line-b", "proof"), ev.ProofOverridden(HOSTILE), ev.Closed("clamp-b-short", HOSTILE),
        ev.OutcomeSet("clamp-b-short", HOSTILE),
    )  # fmt: skip


def long_report(count: int) -> Report:
    """A job of `count` readings: taken, straddling, withdrawn and taken again over all checks."""
    tree = line_tree()
    made: list[ev.Event] = [ev.Opened("7", tree.id, "0" * 64, tree.symptom, tree.device, "handheld, 6000 counts")]
    numbers = ("rail-volts", "line-a", "line-b")
    for i in range(count):
        check = tree.checks[numbers[i % 3]]
        value = (5.0 if check.id == "rail-volts" else 0.5) * (1 + (i % 7) / 100)
        band = check.normal[0]
        made += [
            ev.CheckChosen(check.id, "plan", "Line a tells clamp a short from clamp b short: 0.61 bits for 2 minutes."),
            ev.ReadingTaken(check.id, Measured(Quantity(value, Unit.VOLT), 0.001), f"{value:.3f} volts", "spoken", band,
                            {band: 1.0}),
        ]  # fmt: skip
        if i % 10 == 9:
            made.append(ev.ReadingWithdrawn(check.id))
    return report_of(tree, recorded(*made))
