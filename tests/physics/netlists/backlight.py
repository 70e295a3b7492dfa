"""Six white LEDs on an averaged boost converter from 12 V, sense resistor of 10 ohm, enable and brightness pins."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "backlight"
TITLE = "LED backlight with boost converter"
PARTS = (
    "F1 fuse; C1 input; L1 coil; U1 driver with its switch; D1 boost diode; C2 output; J1 panel plug; six white LEDs; "
    "R1 10 ohm sense; R2 10k enable from the controller with R3 100k to ground; R4 1k brightness"
)
AMMETER = "psu"
OFF = {"as_found": "unplugged"}
ON = {
    "lit": "12 V, 1 A limit, backlight told on at full brightness",
    "string_supply": "panel unplugged, 20 V and 10 mA on the string",
}
PROBES = {
    "GND": "0", "12V": "feed", "VIN": "vin", "SW": "sw", "J1 anode board": "an", "J1 anode panel": "anp",
    "J1 return board": "ret", "U1 EN": "en", "U1 DIM": "dim",
}  # fmt: skip
LEDS = 6


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts. The switch is averaged: with the driver running, current goes from input to output."""
    c.ohm("F1", "feed", "vin", 0.15, tolerance=0.3)
    c.ohm("C1", "vin", "0", 3e6, tolerance=0.4)
    c.diode("U1_in", "0", "vin", 0.55, n=1.0)
    c.ohm("L1", "vin", "sw", 0.3, tolerance=0.2)
    c.diode("U1_body", "0", "sw", 0.55, rs=0.1, n=1.0)
    c.ohm("U1_switch", "sw", "0", 5e7, tolerance=0.4)
    c.diode("D1", "sw", "an", 0.25, rs=0.1, n=1.05)
    c.ohm("C2", "an", "0", 2e7, tolerance=0.4)
    c.joint("J1_a", "an", "anp")
    joints = ["anp", *(f"led{n}" for n in range(1, LEDS)), "retp"]
    for n in range(LEDS):
        c.diode(f"LED{n}", joints[n], joints[n + 1], 2.6, rs=8, n=2.4)
    c.joint("J1_k", "retp", "ret")
    c.ohm("R1", "ret", "0", 10)
    c.pin("U1_fb", "ret", "vin")
    for pin in ("en", "dim"):
        c.diode(f"U1_{pin}_low", "0", pin, 0.62, rs=6)
    c.ohm("R2", "en_out", "en", 10e3)
    c.ohm("R3", "en", "0", 100e3)
    c.ohm("R4", "dim_out", "dim", 1e3)
    c.pin("U2_en", "en_out", "v33")
    c.pin("U2_dim", "dim_out", "v33")
    c.island("U2", "v33", running_ohm=None if state is None else 200)
    c.ohm("U1_quiet", "vin", "0", 20e3 if state else 300e3, tolerance=0.2)
    if state == "lit":
        _lit(c, fault)
    elif state == "string_supply":
        c.opened("J1_a")
        c.opened("J1_k")
        c.fed("psu", "anp", "retp", "20.0", "0.01")


def _lit(c: Circuit, fault: Fault) -> None:
    c.fed("psu", "feed", "0", "12.0", "1.0")
    c.fed("logic", "v33", "0", "3.3", "0.3")
    c.ohm("U2_en_out", "en_out", "0" if "told_off" in fault.marks else "v33", 40, tolerance=0.3)
    c.ohm("U2_dim_out", "dim_out", "0" if "dim_zero" in fault.marks else "v33", 40, tolerance=0.3)
    if {"driver_dead", "no_boost"} & {*fault.marks}:
        return
    step = "0.5*(1+tanh({}))".format
    runs = "*".join(
        step(x) for x in ("20*(V(en)-1.1)", "20*(V(dim)-0.6)", "20*(V(vin)-2.6)", "4*(29-V(an))", "20*(V(sw)-1)")
    )
    # 20 mA through 10 ohm. Output current from the switch node by way of the diode; energy comes from the input.
    c.lines += [
        f"Bdrive drive 0 V=0.12*{runs}*{step('150*(0.2-V(ret))')}",
        "Bout 0 sw_b I=V(drive)", "Dboost sw_b an boost", "Rsw_b sw_b 0 1e8", ".model boost D(IS=1e-8 N=1.05)",
        "Bin sw 0 I=V(drive)*max(V(an),V(vin))/max(V(vin),2)/0.9",
    ]  # fmt: skip


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "fuse_open": Fault("fuse open", "F1", "open", cut=("F1",)),
    "coil_open": Fault("coil open or cracked off", "L1", "open", cut=("L1",)),
    "diode_open": Fault("boost diode open", "D1", "open", cut=("D1",), marks=("no_boost",)),
    "diode_short": Fault("boost diode shorted", "D1", "short", shorts=(("D1", 0.1),), marks=("no_boost",)),
    "switch_short": Fault("switch shorted", "U1", "short", shorts=(("U1_switch", 0.2),)),
    "output_short": Fault("output capacitor shorted", "C2", "short", shorts=(("C2", 0.4),)),
    "anode_contact": Fault("anode contact of the plug open", "J1", "joint", cut=("J1_a",)),
    "string_open": Fault("an LED of the string open", "LED3", "open", cut=("LED3",)),
    "sense_open": Fault("sense resistor open", "R1", "open", cut=("R1",)),
    "enable_short": Fault("enable pin shorted to ground", "U1", "short", shorts=(("U1_en_low", 5.0),)),
    "enable_open": Fault("enable resistor missing", "R2", "missing", cut=("R2",)),
    "told_off": Fault("controller keeps enable low", "U2", "dead", marks=("told_off",)),
    "dim_zero": Fault("brightness held at zero", "U2", "dead", marks=("dim_zero",)),
    "driver_dead": Fault("driver gives nothing", "U1", "dead", marks=("driver_dead",)),
}
