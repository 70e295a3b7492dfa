"""A serial flash and its processor on 3.3 V: four lines with 33 ohm in series, pull-ups at select, hold and protect."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "spi_flash"
TITLE = "Serial flash with series resistors and pull-ups"
PARTS = (
    "U1 processor, held in reset; U2 flash; R1 R2 R3 R4 33 ohm in select, clock, data in and data out; R5 10k select "
    "pull-up; R6 10k hold pull-up; R7 10k write protect pull-up; C1 capacitor"
)
AMMETER = "psu"
OFF = {"as_found": "unplugged"}
ON = {"rest": "3.3 V on, processor held in reset"}
LINES = ("cs", "sck", "mosi", "miso")
PROBES = {
    "GND": "0", "U2 GND": "mgnd", "3V3": "v33", "U2 VCC": "vcc", "U2 HOLD": "hold", "U2 WP": "wp",
    **{f"U{chip} {line.upper()}": f"{line}{chip}" for line in LINES for chip in (1, 2)},
}  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts; the flash drives nothing while its select rests high."""
    c.joint("U2_vcc", "v33", "vcc")
    c.joint("U2_gnd", "mgnd", "0")
    for line in LINES:
        c.pin(f"U1_{line}", f"{line}1", "v33")
        c.ohm(f"R_{line}", f"{line}1", f"{line}t", 33)
        c.joint(f"TR_{line}", f"{line}t", f"{line}2")
    for pin in (*(f"{line}2" for line in LINES), "hold", "wp"):
        c.diode(f"U2_{pin}_low", "mgnd", pin, 0.64, rs=6)
        c.diode(f"U2_{pin}_high", pin, "vcc", 0.68, rs=6)
        c.ohm(f"U2_{pin}_leak", pin, "mgnd", 3e7, tolerance=0.4)
    c.diode("U2_substrate", "mgnd", "vcc", 0.52, n=1.0)
    c.ohm("R5", "cs2", "v33", 10e3)
    c.ohm("R6", "hold", "v33", 10e3)
    c.ohm("R7", "wp", "v33", 10e3)
    c.ohm("C1", "v33", "0", 5e7, tolerance=0.4)
    c.island("U1", "v33", running_ohm=None if state is None else 150)
    if state is not None:
        c.fed("psu", "v33", "0", "0.02" if "rail_dead" in fault.marks else "3.3", "0.3")
        c.ohm("U2_draw", "vcc", "mgnd", 100e3, tolerance=0.3)
        for line in LINES[1:]:
            c.ohm(f"U1_{line}_weak", f"{line}1", "0", 100e3, tolerance=0.3)


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "cs_r_missing": Fault("select resistor missing", "R1", "missing", cut=("R_cs",)),
    "sck_trace": Fault("clock trace broken", "trace", "open", cut=("TR_sck",)),
    "mosi_joint": Fault("data in joint open", "U2", "joint", cut=("TR_mosi",)),
    "miso_r_open": Fault("data out resistor open", "R4", "open", cut=("R_miso",)),
    "cs_short": Fault("select shorted to ground", "U2", "short", shorts=(("U2_cs2_low", 3.0),)),
    "sck_short": Fault("clock shorted to ground", "U2", "short", shorts=(("U2_sck2_low", 3.0),)),
    "mosi_short": Fault("data in shorted at the processor", "U1", "short", shorts=(("U1_mosi_low", 3.0),)),
    "miso_short": Fault("data out shorted to ground", "U2", "short", shorts=(("U2_miso2_low", 3.0),)),
    "rail_dead": Fault("3.3 V missing", "supply", "dead", marks=("rail_dead",)),
    "rail_short": Fault("capacitor shorted", "C1", "short", shorts=(("C1", 0.5),)),
    "vcc_joint": Fault("supply pin joint open", "U2", "joint", cut=("U2_vcc",)),
    "gnd_joint": Fault("ground pin joint open", "U2", "joint", cut=("U2_gnd",)),
    "bridge_sck_mosi": Fault("clock and data in bridged", "U2", "bridge", bridges=(("sck2", "mosi2", 0.2),)),
    "bridge_cs_miso": Fault("select and data out bridged", "U2", "bridge", bridges=(("cs2", "miso2", 0.2),)),
    "pull_missing": Fault("select pull-up missing", "R5", "missing", cut=("R5",)),
    "hold_low": Fault("hold pin shorted to ground", "U2", "short", shorts=(("U2_hold_low", 3.0),)),
    "hold_pull_missing": Fault("hold pull-up missing", "R6", "missing", cut=("R6",)),
}
