"""An RS-232 port on 3.3 V: level shifter with pump capacitors, both lines from the plug to the processor."""

from __future__ import annotations

from tests.physics.netlists.fault import Fault
from tests.physics.netlists.spice import Circuit

NAME = "rs232_port"
TITLE = "RS-232 port with charge-pump level shifter"
PARTS = (
    "J1 plug; R1 R2 100 ohm in transmit and receive; D1 D2 clamps of 15 V; U1 level shifter; C1 C2 pump capacitors; "
    "R3 R4 47 ohm to U2 processor on 3.3 V"
)
AMMETER = "psu"
OFF = {"as_found": "cable off, unplugged"}
ON = {"idle": "3.3 V on, nothing sent, cable off"}
PROBES = {
    "GND": "0", "J1 GND": "gp", "J1 TX": "txp", "J1 RX": "rxp", "U1 TOUT": "txl", "U1 RIN": "rxl",
    "U1 TIN": "tin", "U1 ROUT": "rout", "U2 TX": "txc", "U2 RX": "rxc", "U1 V+": "vp", "U1 V-": "vm",
    "U1 VCC": "vcc", "3V3": "v33",
}  # fmt: skip


def build(c: Circuit, state: str | None, fault: Fault) -> None:
    """Add the parts. The receiver pulls its input down with 5 kohm, which a dead chip shows as well."""
    c.joint("J1_g", "gp", "0")
    c.joint("J1_tx", "txp", "txj")
    c.joint("J1_rx", "rxp", "rxj")
    c.ohm("R1", "txj", "txl", 100)
    c.ohm("R2", "rxj", "rxl", 100)
    for line in ("txj", "rxj"):
        c.ohm(f"D_{line}", line, "0", 5e7, tolerance=0.4)  # stands off 15 V either way
    c.ohm("U1_rin", "rxl", "0", 5000, tolerance=0.25)
    c.ohm("U1_tout", "txl", "0", 3e6, tolerance=0.3)
    c.diode("U1_t_up", "txl", "vp", 0.7, rs=10)
    c.diode("U1_t_dn", "vm", "txl", 0.7, rs=10)
    c.diode("U1_vp", "vcc", "vp", 0.6, n=1.0)
    c.diode("U1_vm", "vm", "0", 0.6, n=1.0)
    c.ohm("C_p", "vp", "0", 1e8, tolerance=0.4)
    c.ohm("C_m", "vm", "0", 1e8, tolerance=0.4)
    c.joint("U1_vcc", "v33", "vcc")
    for pin in ("tin", "rout"):
        c.pin(f"U1_{pin}", pin, "vcc")
    for pin in ("txc", "rxc"):
        c.pin(f"U2_{pin}", pin, "v33", low=0.6)
    c.ohm("R3", "txc", "tin", 47)
    c.ohm("R4", "rxc", "rout", 47)
    c.diode("U1_substrate", "0", "vcc", 0.52, n=1.0)
    c.ohm("C1", "v33", "0", 5e7, tolerance=0.4)
    c.island("U2", "v33", running_ohm=None if state is None else 150)
    if state is not None:
        _idle(c, fault)


def _idle(c: Circuit, fault: Fault) -> None:
    c.fed("psu", "v33", "0", "0.02" if "rail_dead" in fault.marks else "3.3", "0.3")
    c.ohm("U2_tx_out", "txc", "0" if "cpu_low" in fault.marks else "v33", 40, tolerance=0.3)
    c.ohm("U2_rx_pull", "rxc", "v33", 40e3, tolerance=0.3)
    c.ohm("U1_draw", "vcc", "0", 4e3, tolerance=0.2)
    if "shifter_dead" in fault.marks:
        return
    ready = "0.5*(1+tanh(4*(V(vcc)-2.4)))"
    pumps = 0 if "pump_dead" in fault.marks else 1
    heard, told = "0.5*(1+tanh(10*(1.4-V(rxl))))", "0.5*(1+tanh(8*(1.4-V(tin))))"
    c.lines += [
        f"Bvp vcc vp I={pumps}*{ready}*max(5.6-V(vp),0)/60",
        f"Bvm vm 0 I={pumps}*{ready}*max(V(vm)+5.5,0)/80",
        # Idle is a high input and a negative output, 0.2 kohm behind the pump's rail.
        f"Btu vp txl I={ready}*{told}*(V(vp)-V(txl))/200",
        f"Btd txl vm I={ready}*(1-{told})*(V(txl)-V(vm))/200",
        f"Bro rout 0 I={ready}*(V(rout)-V(vcc)*{heard})/60",
    ]


FAULTS = {
    "none": Fault("no fault", "", "good"),
    "tx_joint": Fault("transmit contact joint open", "J1", "joint", cut=("J1_tx",)),
    "rx_r_missing": Fault("receive resistor missing", "R2", "missing", cut=("R2",)),
    "gnd_joint": Fault("ground contact joint open", "J1", "joint", cut=("J1_g",)),
    "tx_logic_open": Fault("resistor of the transmit logic open", "R3", "open", cut=("R3",)),
    "rx_logic_trace": Fault("trace of the receive logic broken", "trace", "open", cut=("R4",)),
    "tx_clamp_short": Fault("transmit clamp shorted", "D1", "short", shorts=(("D_txj", 2.0),)),
    "rx_clamp_short": Fault("receive clamp shorted", "D2", "short", shorts=(("D_rxj", 2.0),)),
    "bridge": Fault("transmit and receive bridged", "J1", "bridge", bridges=(("txp", "rxp", 0.2),)),
    "tx_logic_short": Fault("transmit pin of the processor shorted", "U2", "short", shorts=(("U2_txc_low", 3.0),)),
    "rx_logic_short": Fault("receive output shorted", "U1", "short", shorts=(("U1_rout_low", 3.0),)),
    "pump_dead": Fault("a pump capacitor open", "C1", "open", marks=("pump_dead",)),
    "shifter_dead": Fault("level shifter dead", "U1", "dead", marks=("shifter_dead",)),
    "vcc_joint": Fault("level shifter supply joint open", "U1", "joint", cut=("U1_vcc",)),
    "rail_dead": Fault("3.3 V missing", "supply", "dead", marks=("rail_dead",)),
    "rail_short": Fault("3.3 V shorted", "C1", "short", shorts=(("C1", 0.4),)),
    "cpu_low": Fault("transmit pin of the processor stuck low", "U2", "stuck", marks=("cpu_low",)),
}
