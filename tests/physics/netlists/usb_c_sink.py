"""A USB Type-C sink: 5.1 kohm pull-downs, fuse, clamp, P-channel input switch, charger to a 4 V system rail."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "usb_c_sink"
TITLE = "USB Type-C sink with pull-downs, input switch and charger"
PARTS = (
    "J1 socket; F1 fuse; FB1 ferrite; D1 clamp; R1 R2 5.1k pull-downs; U3 array on C C and data; Q1 P-channel input "
    "switch with R3 100k to its source and R4 10k driven low by U1; U2 charger; U1 controller on the system rail"
)
AMMETER = "psu"
OFF = {"as_found": "cable out"}
ON = {
    "bench": "5 V, 0.5 A on the V bus and ground contacts",
    "source_one": "as bench, 56 kohm from V bus to C C one",
    "source_two": "as bench, 56 kohm from V bus to C C two",
}
PROBES = {
    "GND": "0", "J1 VBUS": "vb_pin", "J1 GND": "g_pin", "J1 shell": "sh_pin", "J1 CC1": "c1_pin", "J1 CC2": "c2_pin",
    "J1 D+": "dp_pin", "R1 top": "c1", "R2 top": "c2", "F1 in": "vb_pad", "F1 out": "vb_f",
    "VBUS at D1": "vbus", "Q1 gate": "gate", "Q1 out": "vin", "SYS": "sys",
}  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; `state` is None with power off."""
    pads = {"vb": "vb_pad", "g": "0", "c1": "c1", "c2": "c2", "dp": "dp", "dm": "dm", "sh": "0"}
    for name, pad in pads.items():
        c.joint(f"J1_{name}", f"{name}_pin", pad)
    c.ohm("F1", "vb_pad", "vb_f", 0.12, tolerance=0.3)
    c.ohm("FB1", "vb_f", "vbus", 0.05, tolerance=0.3)
    c.diode("D1", "0", "vbus", 0.65, rs=0.1)
    c.ohm("C1", "vbus", "0", 5e6, tolerance=0.4)
    c.ohm("R1", "c1", "0", 5100)
    c.ohm("R2", "c2", "0", 5100)
    for line in ("c1", "c2", "dp", "dm"):
        c.diode(f"U3_{line}", "0", line, 0.72, rs=1)
    for line in ("c1", "c2"):
        c.pin(f"U1_{line}", f"{line}_chip", "sys")
        c.ohm(f"U1_{line}_j", line, f"{line}_chip", 10, tolerance=0.2)
    for line in ("dp", "dm"):
        c.pin(f"U1_{line}", f"{line}_chip", "sys", low=0.6)
        c.ohm(f"R_{line}", line, f"{line}_chip", 22)
    c.diode("Q1_body", "vin", "vbus", 0.58, rs=0.05, n=1.0)
    c.ohm("R3", "gate", "vbus", 100e3)
    c.ohm("R4", "gate", "drive", 10e3)
    c.ohm("C2", "vin", "0", 2e7, tolerance=0.4)
    c.diode("U2_substrate", "0", "vin", 0.56, n=1.0)
    c.ohm("U2_quiet", "vin", "0", 220e3, tolerance=0.2)
    c.diode("U2_body", "sys", "vin", 0.6, n=1.0)
    c.ohm("C3", "sys", "0", 1e8, tolerance=0.4)
    c.island("U1", "sys", running_ohm=None if state is None else 70)
    if state is None:
        c.ohm("drive_off", "drive", "0", 1e9)
        c.ohm("Q1_off", "vbus", "vin", 1e9)
        return
    c.fed("psu", "vb_pin", "g_pin", "5.0", "0.5")
    c.ohm("drive_on", "drive", "0", 20, tolerance=0.3)
    if "switch_dead" not in fault.marks:
        c.lines.append("Bq1 vbus vin I=(V(vbus)-V(vin))*12*0.5*(1+tanh(6*(V(vbus)-V(gate)-1.2)))")
    if "charger_dead" not in fault.marks:
        c.fed("u2", "sys", "0", "0.5*(4.1+V(vin)-0.2-sqrt((4.1-V(vin)+0.2)^2+1e-4))", "0.4")
        c.lines.append("Bu2in vin 0 I=I(Vu2)")
    if state != "bench":
        c.ohm("source", "vb_pin", "c1_pin" if state == "source_one" else "c2_pin", 56e3, tolerance=0.05)


def _one(cause: str, part: str, kind: str, **what: object) -> Fault:
    return Fault(cause, part, kind, **what)  # type: ignore[arg-type]


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "vbus_joint": _one("V bus contact joint open", "J1", "joint", cut=("J1_vb",)),
    "gnd_joint": _one("ground contact joint open", "J1", "joint", cut=("J1_g",)),
    "shell_open": _one("shell not grounded", "J1", "joint", cut=("J1_sh",)),
    "fuse_open": _one("fuse open", "F1", "open", cut=("F1",)),
    "ferrite_open": _one("ferrite open", "FB1", "open", cut=("FB1",)),
    "clamp_short": _one("clamp shorted", "D1", "short", shorts=(("D1", 0.2),)),
    "input_short": _one("charger input capacitor shorted", "C2", "short", shorts=(("C2", 0.3),)),
    "switch_open": _one("input switch dead", "Q1", "open", cut=("Q1_body",), marks=("switch_dead",)),
    "drive_open": _one("gate resistor open", "R4", "open", cut=("R4",)),
    "charger_dead": _one("charger gives nothing", "U2", "dead", marks=("charger_dead",)),
    "sys_short": _one("system rail shorted", "C3", "short", shorts=(("C3", 0.4),)),
    "cc1_joint": _one("C C one contact joint open", "J1", "joint", cut=("J1_c1",)),
    "cc2_joint": _one("C C two contact joint open", "J1", "joint", cut=("J1_c2",)),
    "rd1_missing": _one("R1 missing", "R1", "missing", cut=("R1",)),
    "rd2_missing": _one("R2 missing", "R2", "missing", cut=("R2",)),
    "rd_both_missing": _one("R1 and R2 missing", "R1 R2", "missing", cut=("R1", "R2")),
    "rd1_high": _one("R1 is 22 kohm", "R1", "value", values=(("R1", 22e3),)),
    "rd2_low": _one("R2 is 1.5 kohm", "R2", "value", values=(("R2", 1500.0),)),
    "cc1_short": _one("array shorts C C one", "U3", "short", shorts=(("U3_c1", 3.0),)),
    "cc2_short": _one("controller shorts C C two", "U1", "short", shorts=(("U1_c2_low", 4.0),)),
    "cc_bridge": _one("C C one and two bridged", "J1", "bridge", bridges=(("c1", "c2", 0.1),)),
    "cc1_vbus": _one("C C one bridged to V bus", "J1", "bridge", bridges=(("c1_pin", "vb_pin", 1.0),)),
    "cc2_vbus": _one("C C two bridged to V bus", "J1", "bridge", bridges=(("c2_pin", "vb_pin", 1.0),)),
    "dp_joint": _one("D plus contact joint open", "J1", "joint", cut=("J1_dp",)),
    "dp_short": _one("array shorts D plus", "U3", "short", shorts=(("U3_dp", 2.0),)),
}
