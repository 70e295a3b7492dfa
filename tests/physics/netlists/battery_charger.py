"""A lithium cell in a pack with protector and thermistor, plug, charger from 5 V, switch to the system rail."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "battery_charger"
TITLE = "Single-cell pack, charger and system switch"
PARTS = (
    "BT1 cell with protector and 10k thermistor; J1 battery plug; F1 way to the charger; U1 charger with power path; "
    "Q1 switch to the system rail; J2 5 V input; U2 device, 150 mA"
)
AMMETER = "psu"
OFF = {"as_found": "pack out, charger out"}
ON = {
    "pack_alone": "pack on a plate", "running": "pack in, charger out, device on",
    "charging": "pack in, 5 V 1 A at the input, device off", "no_pack": "pack out, 5 V at the input",
    "bench_pack": "3.8 V for the pack, device off",
}  # fmt: skip
PROBES = {
    "GND": "0", "pack plus": "pp", "pack minus": "pm", "pack sense": "ps", "J1 plus": "jp", "U1 BAT": "bat",
    "U1 IN": "vin", "SYS": "sys",
}  # fmt: skip
PACK_IN = ("running", "charging")


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; the pack's own ground is its minus, tied to the board's when it is plugged in."""
    _pack(c, state, fault)
    c.joint("J1_p", "jp", "jpad")
    c.ohm("F1", "jpad", "bat", 0.04, tolerance=0.3)
    c.diode("U1_bat", "0", "bat", 0.58, n=1.0)
    c.diode("Q1_body", "bat", "sys", 0.55, rs=0.05, n=1.0)
    c.diode("U1_body", "sys", "vin", 0.6, n=1.0)
    c.diode("U1_in", "0", "vin", 0.56, n=1.0)
    c.ohm("J2", "usb", "vin", 0.08, tolerance=0.3)
    c.ohm("U1_quiet", "vin", "0", 150e3, tolerance=0.2)
    c.ohm("C1", "sys", "0", 5e7, tolerance=0.4)
    c.ohm("U1_bat_quiet", "bat", "0", 400e3, tolerance=0.2)
    on = 28 if state == "running" else 3e4
    c.island("U2", "sys", running_ohm=None if state is None else on)
    if "leak" in fault.marks:
        c.ohm("leak", "sys", "0", 180)
    if state is None:
        return
    if state in ("charging", "no_pack"):
        c.fed("psu", "usb", "0", "0.02" if "input_absent" in fault.marks else "5.0", "1.0")
        _charger(c, fault)
    elif state == "bench_pack":
        c.fed("psu", "jp", "0", "3.8", "1.0")
    else:
        c.lines += ["Vpsu psu_o 0 0", "Rpsu psu_o 0 1k"]
    if "q_open" not in fault.marks:
        # The power path: from the battery to the rail, never back.
        c.lines += ["Dq1 bat q1 ideal", "Rq1 q1 sys 0.08"]


def _pack(c: Circuit, state: str | None, fault: Fault) -> None:
    c.ohm("NTC", "ps", "pm", 10e3, tolerance=0.05)
    if state is not None:
        volts = 1.1 if "deep" in fault.marks else 2.95 if "low" in fault.marks else 3.85
        c.lines.append(f"Vcell cell pm {volts}")
    else:
        c.ohm("cell", "cell", "pm", 1e12)
    c.ohm("BT1", "cell", "prot", 0.12, tolerance=0.2)
    c.ohm("protector", "prot", "pp", 0.04, tolerance=0.3)
    c.ohm("pack_leak", "pp", "pm", 5e6, tolerance=0.3)
    c.joint("J1_c", "pp", "jp")
    c.joint("J1_g", "pm", "0")
    if "trips" in fault.marks and state in PACK_IN:
        c.opened("protector")  # a short through the pack is more than any protector lets pass
    if state not in PACK_IN:
        c.opened("J1_c")
        c.opened("J1_g")
        c.ohm("plate", "pm", "0", 1e9)


def _charger(c: Circuit, fault: Fault) -> None:
    """The power path holds the rail at 4.4 V with up to 0.45 A; the pack gets up to 0.5 A towards 4.2 V."""
    if {"charger_dead", "input_absent"} & {*fault.marks}:
        return
    amps = "0" if "thermistor" in fault.marks else "0.05" if "deep" in fault.marks else "0.5"
    c.fed("path", "sys", "0", "4.4", "0.45")
    c.fed("chg", "bat", "0", "4.2", amps)
    c.lines.append("Bin vin 0 I=I(Vpath)+I(Vchg)")


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "cell_deep": Fault("cell discharged to 1.1 V", "BT1", "value", marks=("deep",)),
    "cell_worn": Fault("cell of 9 ohm", "BT1", "value", values=(("BT1", 9.0),)),
    "protector_open": Fault("protector switched off", "BT1", "open", cut=("protector",)),
    "contact_open": Fault("plus contact of the battery plug open", "J1", "joint", cut=("J1_c",)),
    "way_open": Fault("way from plug to charger open", "F1", "open", cut=("F1",)),
    "ntc_open": Fault("thermistor open", "BT1", "open", cut=("NTC",), marks=("thermistor",)),
    "ntc_short": Fault("thermistor shorted", "BT1", "short", values=(("NTC", 3.0),), marks=("thermistor",)),
    "input_absent": Fault("charger gives nothing to the input", "J2", "dead", marks=("input_absent",)),
    "input_joint": Fault("input socket joint open", "J2", "joint", cut=("J2",), marks=("input_absent",)),
    "charger_dead": Fault("charger chip dead", "U1", "dead", marks=("charger_dead",)),
    "switch_open": Fault("system switch open", "Q1", "open", cut=("Q1_body",), marks=("q_open",)),
    "system_short": Fault("system rail shorted", "C1", "short", shorts=(("C1", 0.4),), marks=("trips",)),
    "drain": Fault("system rail leaks 20 mA", "C1", "leak", marks=("leak",)),
}
