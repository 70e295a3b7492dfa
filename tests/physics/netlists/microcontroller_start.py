"""A microcontroller at rest or running: rail, ferrite to its analog pin, core capacitor, reset line, crystal, strap."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "microcontroller_start"
TITLE = "Microcontroller with reset line, crystal and boot strap"
PARTS = (
    "U1 regulator 3.3 V; U2 microcontroller; FB1 ferrite of its analog supply; C1 core capacitor; R1 10k reset "
    "pull-up; U3 supervisor, open drain; SW1 button; Y1 crystal with R4 330 ohm; R2 10k boot strap to ground"
)
AMMETER = "psu"
OFF = {"as_found": "unplugged"}
ON = {"run": "5 V, 0.5 A limit", "supervisor_lifted": "the same, supervisor output lifted"}
PROBES = {
    "GND": "0", "3V3": "v33", "U2 VDD": "vdd", "U2 VDDA": "vdda", "U2 VCAP": "core", "U2 VSS": "vss",
    "SW1": "rst", "U2 NRST": "rstp", "Y1 in": "xi", "Y1 out": "xo", "U2 OSCIN": "xip", "U2 OSCOUT": "xop",
    "U2 BOOT0": "boot",
}  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; pins clamp to the chip's own supply and ground, behind their joints."""
    for name, a, b in (
        ("U2_vdd", "v33", "vdd"), ("U2_vss", "vss", "0"), ("TR_rst", "rst", "rstp"), ("Y1_in", "xi", "xip"),
    ):  # fmt: skip
        c.joint(name, a, b)
    c.ohm("FB1", "v33", "vdda", 0.4, tolerance=0.3)
    c.ohm("R4", "xo", "xop", 330)
    c.ohm("R1", "v33", "rst", 10e3)
    c.ohm("C2", "rst", "0", 1e9, tolerance=0.4)
    c.ohm("R2", "boot", "0", 10e3)
    for line in ("xi", "xo"):
        c.ohm(f"C_{line}", line, "0", 1e9, tolerance=0.4)
    for pin in ("rstp", "xip", "xop", "boot"):
        c.diode(f"U2_{pin}_low", "vss", pin, 0.6, rs=6)
        c.diode(f"U2_{pin}_high", pin, "vdd", 0.64, rs=6)
        c.ohm(f"U2_{pin}_leak", pin, "vss", 3e7, tolerance=0.4)
    c.ohm("U2_feedback", "xip", "xop", 1e6, tolerance=0.3)
    c.diode("U2_substrate", "vss", "vdd", 0.48, rs=1, n=1.0)
    c.diode("U2_analog", "vdda", "vdd", 0.6, n=1.0)
    c.diode("U2_analog_low", "vss", "vdda", 0.55, n=1.0)
    c.diode("U2_core", "vss", "core", 0.5, n=1.0)
    c.diode("U2_core_up", "core", "vdd", 0.6, n=1.0)
    c.ohm("U2_core_draw", "core", "vss", 2e3, tolerance=0.2)
    c.diode("U3_low", "0", "sup", 0.6, rs=6)
    c.joint("U3_j", "sup", "rst")
    c.ohm("C3", "v33", "0", 5e7, tolerance=0.4)
    c.island("U4", "v33", running_ohm=None if state is None else 300)
    if state is not None:
        _run(c, fault)
    if state == "supervisor_lifted":
        c.opened("U3_j")


def _run(c: Circuit, fault: Fault) -> None:
    rail = "0.02" if "rail_dead" in fault.marks else "2.4" if "rail_low" in fault.marks else "3.3"
    c.fed("psu", "v33", "0", rail, "0.5")
    if {"supervisor_holds", "rail_low"} & {*fault.marks}:
        c.ohm("U3_out", "sup", "0", 40, tolerance=0.3)  # the supervisor's threshold is 2.93 V
    c.ohm("U2_draw", "vdd", "vss", 250, tolerance=0.2)
    alive = "0.5*(1+tanh(4*(V(vdd,vss)-1.5)))"
    c.fed("core", "core", "vss", f"1.2*{alive}", "0.06")
    # A running oscillator rests at half its supply; stopped, the inverter biases itself there too.
    high = "0.5*(1+tanh(10*(V(vdd,vss)/2-V(xip,vss))))"
    c.lines += [
        "Bcore vdd vss I=I(Vcore)",
        f"Bosc xop vss I=(V(xop,vss)-V(vdd,vss)*{high})*{alive}/300",
    ]


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "rail_dead": Fault("3.3 V missing", "U1", "dead", marks=("rail_dead",)),
    "rail_low": Fault("3.3 V is 2.4 V", "U1", "value", marks=("rail_low",)),
    "rail_short": Fault("rail capacitor shorted", "C3", "short", shorts=(("C3", 0.5),)),
    "vdd_joint": Fault("supply pin joint open", "U2", "joint", cut=("U2_vdd",)),
    "ferrite_open": Fault("ferrite of the analog pin open", "FB1", "open", cut=("FB1",)),
    "vss_joint": Fault("ground pin joint open", "U2", "joint", cut=("U2_vss",)),
    "core_short": Fault("core capacitor shorted", "C1", "short", shorts=(("U2_core_draw", 0.3),)),
    "reset_short": Fault("button jammed", "SW1", "short", shorts=(("C2", 1.0),)),
    "supervisor_holds": Fault("supervisor keeps reset low", "U3", "stuck", marks=("supervisor_holds",)),
    "reset_trace": Fault("reset trace broken", "trace", "open", cut=("TR_rst",)),
    "reset_pull_missing": Fault("reset pull-up missing", "R1", "missing", cut=("R1",)),
    "clock_in_joint": Fault("crystal joint open at the input", "Y1", "joint", cut=("Y1_in",)),
    "clock_r_missing": Fault("series resistor of the crystal missing", "R4", "missing", cut=("R4",)),
    "clock_in_short": Fault("load capacitor at the input shorted", "C5", "short", shorts=(("C_xi", 2.0),)),
    "clock_out_short": Fault("load capacitor at the output shorted", "C6", "short", shorts=(("C_xo", 2.0),)),
    "clock_bridge": Fault("crystal pads bridged", "Y1", "bridge", bridges=(("xi", "xo", 0.3),)),
    "strap_missing": Fault("boot strap missing", "R2", "missing", cut=("R2",)),
    "strap_bridge": Fault("boot strap bridged to the rail", "R2", "bridge", bridges=(("boot", "v33", 0.3),)),
}
