"""A relay of 400 ohm on 12 V, switched to ground by a bipolar transistor from a 3.3 V controller pin."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "relay_driver"
TITLE = "12 V relay driver with bipolar transistor and flyback diode"
PARTS = (
    "F1 fuse; D2 clamp of the fused 12 V; J1 relay plug; K1 relay coil 12 V 400 ohm; D1 flyback diode; Q1 NPN; "
    "R1 2.2k base resistor; R2 10k base to emitter; U1 controller on 3.3 V"
)
AMMETER = "psu"
OFF = {"as_found": "unplugged", "load_off": "unplugged, relay plug out"}
ON = {"told_off": "12 V and 3.3 V on, output told off", "told_on": "the same, output told on"}
PROBES = {
    "GND": "0", "12V": "v12", "F1 out": "v12f", "J1 pin 1": "lp", "J1 pin 2": "lm", "Q1 collector": "col",
    "Q1 emitter": "emi", "Q1 base": "base", "R1 driver side": "drive",
}  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; Q1 is ngspice's own bipolar model, its junctions 0.65 V at 1 mA."""
    c.ohm("F1", "v12", "v12f", 0.3, tolerance=0.3)
    c.diode("D2", "0", "v12f", 0.62, rs=0.3)
    c.ohm("C1", "v12f", "0", 4e6, tolerance=0.4)
    c.joint("J1_p", "v12f", "lp")
    c.joint("J1_m", "lm", "col")
    c.joint("K1_plug", "lp", "kp")
    c.ohm("K1", "kp", "lm", 400, tolerance=0.05)
    c.diode("D1", "col", "v12f", 0.58, rs=0.1)
    c.joint("Q1_e", "emi", "0")
    c.ohm("Q1_ce", "col", "emi", 1e9, tolerance=0.4)
    c.ohm("Q1_be", "base", "emi", 1e9, tolerance=0.4)
    if "q_open" not in fault.marks:
        c.lines += ["Qq1 col base emi npn", ".model npn NPN(IS=1.2e-14 BF=180 BR=5 RB=15 RC=0.8)"]
    c.ohm("R1", "drive", "base", 2200)
    c.ohm("R2", "base", "emi", 10e3)
    c.joint("U1_j", "pin", "drive")
    c.pin("U1_drv", "pin", "v33")
    live = state in ON
    c.island("U1", "v33", running_ohm=150 if live else None)
    if state == "load_off":
        c.opened("K1_plug")
    if live:
        volts = "0.02" if "feed_absent" in fault.marks else "12.0"
        c.fed("psu", "v12", "0", volts, "1.0")
        c.fed("logic", "v33", "0", "3.3", "0.3")
        high = "stuck_on" in fault.marks or (state == "told_on" and "silent" not in fault.marks)
        c.ohm("U1_out", "pin", "v33" if high else "0", 40, tolerance=0.3)


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "coil_open": Fault("relay coil open", "K1", "open", cut=("K1",)),
    "coil_short": Fault("relay coil shorted", "K1", "short", values=(("K1", 0.4),)),
    "coil_low": Fault("relay coil has 120 ohm", "K1", "value", values=(("K1", 120.0),)),
    "flyback_short": Fault("flyback diode shorted", "D1", "short", shorts=(("D1", 0.2),)),
    "flyback_missing": Fault("flyback diode missing", "D1", "missing", cut=("D1",)),
    "fuse_open": Fault("fuse open", "F1", "open", cut=("F1",)),
    "plus_joint": Fault("supply pin of the plug open", "J1", "joint", cut=("J1_p",)),
    "minus_trace": Fault("trace from plug to transistor broken", "trace", "open", cut=("J1_m",)),
    "emitter_joint": Fault("emitter joint open", "Q1", "joint", cut=("Q1_e",)),
    "q_short": Fault("transistor shorted", "Q1", "short", shorts=(("Q1_ce", 0.3),)),
    "q_base_short": Fault("base shorted to emitter", "Q1", "short", shorts=(("Q1_be", 2.0),)),
    "q_missing": Fault("transistor missing", "Q1", "missing", marks=("q_open",)),
    "r1_open": Fault("base resistor open", "R1", "open", cut=("R1",)),
    "r2_missing": Fault("base pull-down missing", "R2", "missing", cut=("R2",)),
    "pin_joint": Fault("controller pin joint open", "U1", "joint", cut=("U1_j",)),
    "pin_short": Fault("controller pin shorted", "U1", "short", shorts=(("U1_drv_low", 3.0),)),
    "silent": Fault("controller does not drive", "U1", "dead", marks=("silent",)),
    "stuck_on": Fault("controller keeps driving", "U1", "stuck", marks=("stuck_on",)),
    "feed_short": Fault("clamp of the fused supply shorted", "D2", "short", shorts=(("D2", 0.4),)),
    "feed_absent": Fault("12 V does not arrive", "supply", "dead", marks=("feed_absent",)),
}
