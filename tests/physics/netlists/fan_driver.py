"""A 12 V fan with pulse output, fuse, low-side transistor, controller pin. Steady states: mean values alone."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "fan_driver"
TITLE = "12 V brushed motor with low-side transistor"
PARTS = (
    "F1 fuse; D2 clamp; J1 motor plug; M1 brushed motor, winding 9 ohm, runs on 0.25 A; D1 flyback diode; Q1 N-channel "
    "transistor; R1 100 ohm gate; R2 10k pull-down; U1 controller on 3.3 V"
)
AMMETER = "psu"
OFF = {"as_found": "unplugged", "motor_off": "unplugged, motor plug out"}
ON = {"run": "12 V, 1.5 A and 3.3 V, told to run", "alone": "motor on a bench supply, 12 V and 0.5 A"}
PROBES = {
    "GND": "0", "12V": "v12", "F1 out": "v12f", "J1 plus": "jp", "J1 minus": "jm", "Q1 drain": "col", "Q1 gate": "gate",
    "M1 plus": "wp", "M1 minus": "wm", "frame": "frame",
}  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; a turning motor counts as the resistance it draws by."""
    live = state in ON
    c.ohm("F1", "v12", "v12f", 0.2, tolerance=0.3)
    c.diode("D2", "0", "v12f", 0.62, rs=0.3)
    c.ohm("C1", "v12f", "0", 4e6, tolerance=0.4)
    c.joint("J1_p", "v12f", "jp")
    c.joint("J1_m", "jm", "col")
    c.joint("PL_p", "jp", "wp")
    c.joint("PL_m", "jm", "wm")
    c.joint("LEAD", "wp", "wb")
    c.ohm("M1", "wb", "wm", 48 if live else 9, tolerance=0.1)
    c.ohm("frame_leak", "wm", "frame", 5e9)
    c.diode("D1", "col", "v12f", 0.35, rs=0.1)
    c.ohm("Q1_ds", "col", "0", 1e9, tolerance=0.4)
    c.ohm("Q1_gs", "gate", "0", 1e9, tolerance=0.4)
    if "q_open" not in fault.marks:
        c.lines += ["Mq1 col gate 0 0 nch", ".model nch NMOS(VTO=1.4 KP=8 IS=3e-13)"]
    c.ohm("R1", "drive", "gate", 100)
    c.ohm("R2", "gate", "0", 10e3)
    c.pin("U1_drv", "drive", "v33")
    c.island("U1", "v33", running_ohm=150 if live else None)
    if state in ("motor_off", "alone"):
        c.opened("PL_p")
        c.opened("PL_m")
    if state == "alone":
        c.fed("psu", "wp", "wm", "12.0", "0.5")
        c.ohm("bench_minus", "wm", "0", 1e6)
    elif state == "run":
        c.fed("psu", "v12", "0", "0.02" if "feed_absent" in fault.marks else "12.0", "1.5")
        c.fed("logic", "v33", "0", "3.3", "0.3")
        c.ohm("U1_out", "drive", "0" if "silent" in fault.marks else "v33", 40, tolerance=0.3)


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "winding_short": Fault("winding shorted", "M1", "short", values=(("M1", 0.1),)),
    "brushes": Fault("brushes worn off", "M1", "open", cut=("M1",)),
    "lead_open": Fault("motor lead broken", "M1", "open", cut=("LEAD",)),
    "fuse_open": Fault("fuse open", "F1", "open", cut=("F1",)),
    "feed_absent": Fault("12 V does not arrive", "supply", "dead", marks=("feed_absent",)),
    "plus_joint": Fault("plug joint open", "J1", "joint", cut=("J1_p",)),
    "minus_trace": Fault("trace from plug to transistor broken", "trace", "open", cut=("J1_m",)),
    "q_open": Fault("transistor open", "Q1", "open", marks=("q_open",)),
    "gate_r_missing": Fault("gate resistor missing", "R1", "missing", cut=("R1",)),
    "silent": Fault("controller does not drive", "U1", "dead", marks=("silent",)),
    "clamp_short": Fault("supply clamp shorted", "D2", "short", shorts=(("D2", 0.4),)),
}
