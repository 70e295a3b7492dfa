"""A whole open-board diagnosis with connected instruments: not one reading is typed.

The meter and the supply are SCPI instruments behind real TCP sockets on the loopback; what they show is solved physics
(tests/physics). Looks, cautions and history are answered in words, readings only by the instruments. The same board
diagnosed by typing what the display shows is the second method.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from guide import app
from guide.core.intent import Say, Utterance
from guide.core.jobs import events as ev
from guide.core.quantity import Measure, Quantity
from guide.core.reading import Measured, OverRange, Reading, Source
from guide.core.steady import like_air
from guide.core.words.aloud import aloud
from guide.edge.instruments import scpi
from guide.edge.instruments.discover import connect, connect_supply
from guide.edge.instruments.instrument import Instrument
from guide.edge.jobs.store import Store
from tests.instruments import MAY_BE_SENT, Meter, Value, on_a_socket
from tests.physics import driver, maps
from tests.physics.boards import UNITS
from tests.physics.score import named
from tests.worlds import shipped_tree

PATIENCE = 15  # displays with the leads on an open or dead point, until the technician says `take it`
# Every third fault of every section that a shipped tree is tied to, on boards in turn.
JOBS = [
    (name, fault, unit % UNITS)
    for name in maps.names()
    for unit, fault in enumerate(maps.load(name).section.faults[::3])
]
FACTORS = {"M": 1e6, "k": 1e3, "m": 1e-3}


class Bench(driver.Bench):
    """The technician of `driver`, with probes and a supply lead instead of a keyboard for readings."""

    meter: Instrument
    supply: Instrument
    shown_by: Meter
    drawn_from: Meter

    def metered(self, message, display: str) -> Reading:
        """Probe the points where a technician's meter shows `display`, and let the instrument take it."""
        measure, value = Measure(message["measure"]), in_si(display)
        if measure is Measure.AMPS_DC:
            self.drawn_from.show(CURR=[value])
            return self.supply.take(measure, lambda: False)
        displays = self._displays(measure, value)
        # The board is dead wherever the mode needs it dead, so the look for a voltage finds none.
        self.shown_by.shows = lambda function: next(displays) if function == scpi.METER[measure] else 0.0
        asked = iter(range(PATIENCE))
        taken = self.meter.take(measure, lambda: next(asked, None) is None)
        in_air = like_air(measure, OverRange(measure.unit) if value is None else _plain(value, measure))
        assert (taken is None) == in_air, f"{message['check']}: {value} taken by itself: {taken}"
        return taken or self.meter.once(measure)

    @staticmethod
    def _displays(measure: Measure, value: float | None) -> Iterator[Value]:
        """The last point still, the probe lifted, and down on the point."""
        air: Value = None if measure in (Measure.DIODE, Measure.OHMS, Measure.CONTINUITY) else 0.0
        yield from (0.333, 0.333, air, air)
        while True:
            yield value


def in_si(display: str) -> float | None:
    """`3.02 mV` is 0.00302; OL is None."""
    if display == "OL":
        return None
    number, unit = display.split()
    return float(number) * FACTORS.get(unit[0], 1.0)


def _plain(value: float, measure: Measure) -> Measured:
    return Measured(Quantity(value, measure.unit), 1e-9)


@pytest.fixture(scope="module")
def instruments(tmp_path_factory):
    meter = Meter()
    supply = Meter(functions=("VOLT", "CURR"), lacks=["CONF", "READ?"], identity="FERNLEAF,PS-3,0001,2.0")
    home: Path = tmp_path_factory.mktemp("home")
    with ExitStack() as open_now:
        on_socket = [open_now.enter_context(on_a_socket(one)) for one in (meter, supply)]
        reached = [
            open_now.enter_context(way(server.address, home, pause=lambda: None))
            for way, server in zip((connect, connect_supply), on_socket, strict=True)
        ]
        yield meter, supply, *reached
    assert set(meter.log) | set(supply.log) <= MAY_BE_SENT


def diagnosed(store: Store, tied: maps.Map, fault: str, unit: int, instruments) -> Bench:
    """Play one job to its verdict, readings by the instruments."""
    tree, text = shipped_tree(tied.tree)
    bench = Bench(tied.section.board(fault, unit), tied, driver.Sight.SEES)
    bench.shown_by, bench.drawn_from, bench.meter, bench.supply = instruments
    session, told = app.begin(store, tree, text, clock=lambda: driver.AT)
    while True:
        bench.told.extend(told)
        if bench.verdict is not None:
            return bench
        said = bench.answer(told[-1])
        if "unit" in told[-1] and said != driver.CANT_REACH:
            reading = bench.metered(told[-1], said)
            told = session.act(Say(reading, aloud(reading), Source.METER))
        else:
            told = session.hear(Utterance(said))


@pytest.mark.parametrize(("name", "fault", "unit"), JOBS)
def test_an_open_board_is_diagnosed_without_a_reading_typed(name, fault, unit, instruments):
    tied = maps.load(name)
    tree, text = shipped_tree(tied.tree)
    with driver.scratch_store() as store:
        bench = diagnosed(store, tied, fault, unit, instruments)
        events = [r.event for r in store.events(bench.told[0]["job"])]
        typed = driver.run(store, tree, text, tied, fault, unit, driver.Sight.SEES)
    taken = [e for e in events if isinstance(e, ev.ReadingTaken)]
    metered = [e for e in taken if tree.checks[e.check].measure.takes_a_reading]
    assert metered, "a diagnosis takes readings"
    assert {e.source for e in metered} == {Source.METER.value}
    assert named(bench.verdict) == named(typed.verdict)
    assert [e.check for e in taken] == [m["check"] for m in typed.told if m["type"] == "read"]
    assert bench.verdict["p"] == pytest.approx(typed.verdict["p"], abs=0.01)
