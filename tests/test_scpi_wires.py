"""Meters at the end of real lines: simulated VISA resources, TCP sockets on the loopback, a serial line.

Where a test waits for silence it gives the meter SILENCE_S; everything else has the tool's own time-out.
"""

import json
import socket
import sys
import threading
from pathlib import Path

import pytest

from guide.core.errors import BadInput, Unavailable
from guide.core.quantity import Measure, Quantity, Unit
from guide.core.reading import OverRange
from guide.edge.instruments import scpi
from guide.edge.instruments.discover import NOT_TRIED, Wire, connect, connect_supply, discovered, doctor_lines
from guide.edge.instruments.link import NoAnswer, manager, visa
from guide.edge.instruments.memory import FILE, Kind, recall
from tests.instruments import CUT, DROP, IDENTITY, MAY_BE_SENT, Meter, SerialLine, on_a_socket

SILENCE_S = 1.0
SIMULATED = Wire(backend=f"{Path(__file__).with_name('sim_meters.yaml')}@sim", timeout_s=0.5)
FULL, SPARSE, SUPPLY = "TCPIP::10.0.0.5::5025::SOCKET", "TCPIP::10.0.0.6::inst0::INSTR", "TCPIP::10.0.0.7::5025::SOCKET"
USB, SERIAL = "USB::0xF0F0::0x0001::DM6::INSTR", "ASRL4::INSTR"


def never():
    return False


def reach(address, home, *, timeout_s=3.0):
    return connect(address, home, wire=Wire(timeout_s=timeout_s), pause=lambda: None)


@pytest.fixture
def meter():
    one = Meter()
    yield one
    assert set(one.log) <= MAY_BE_SENT


# --- simulated VISA resources --------------------------------------------------------------------------------------


@pytest.mark.parametrize("address", [FULL, USB])
def test_a_full_featured_meter_is_read_over_tcp_and_usb(tmp_path, address):
    with connect(address, tmp_path, wire=SIMULATED) as bench:
        reading = bench.once(Measure.VOLTS_DC)
        assert reading.quantity.value == pytest.approx(0.012005)
        with pytest.raises(scpi.ModeMissing):
            bench.once(Measure.DIODE)
        assert bench.once(Measure.HERTZ).quantity.unit is Unit.HERTZ


@pytest.mark.parametrize("address", [SPARSE, SERIAL])
def test_a_sparse_meter_is_read_by_measure_over_vxi_11_and_serial(tmp_path, address):
    with connect(address, tmp_path, wire=SIMULATED) as bench:
        assert bench.once(Measure.OHMS) == OverRange(Unit.OHM)
        with pytest.raises(scpi.ModeMissing, match="no continuity"):
            bench.once(Measure.CONTINUITY)
        assert not bench.supports(Measure.CONTINUITY)
        assert bench.supports(Measure.OHMS)


def test_a_supply_is_read(tmp_path):
    with connect_supply(SUPPLY, tmp_path, wire=SIMULATED) as supply:
        assert supply.once(Measure.VOLTS_DC).quantity == Quantity(12.003, Unit.VOLT)
        assert supply.once(Measure.AMPS_DC).quantity == Quantity(pytest.approx(0.0284), Unit.AMP)


def test_everything_on_the_bench_is_listed_by_name_and_serial_lines_are_left_alone():
    found = {f.address: f for f in discovered(SIMULATED)}
    assert {scpi.name_of(f.identity) for f in found.values() if f.identity} == {
        "FERNLEAF DM-6",
        "FERNLEAF DM-1",
        "FERNLEAF PS-3",
    }
    assert found[SERIAL].note == NOT_TRIED
    assert len(found) == 5


def test_adapters_and_raw_devices_are_not_opened(monkeypatch):
    """A GPIB adapter's address is a serial port once more."""

    class Listing:
        def list_resources(self, query):
            assert query == "?*"
            return ("ASRL/dev/ttyS0::INSTR", "PRLGX-ASRL::/dev/ttyS0::INTFC", "USB0::1::2::3::0::RAW")

    monkeypatch.setattr("guide.edge.instruments.discover.manager", lambda backend: Listing())
    assert [(f.address, f.note) for f in discovered(Wire())] == [("ASRL/dev/ttyS0::INSTR", NOT_TRIED)]


# --- memory --------------------------------------------------------------------------------------------------------


def test_an_address_is_given_once(tmp_path):
    with connect(FULL, tmp_path, wire=SIMULATED):
        pass
    with connect_supply(SUPPLY, tmp_path, wire=SIMULATED):
        pass
    with connect(None, tmp_path, wire=SIMULATED) as bench, connect_supply(None, tmp_path, wire=SIMULATED) as supply:
        assert (bench.name, supply.name) == ("FERNLEAF DM-6", "FERNLEAF PS-3")
    assert recall(tmp_path, Kind.METER).identity == IDENTITY


def test_the_only_meter_there_needs_no_address(tmp_path):
    text = Path(SIMULATED.backend.removesuffix("@sim")).read_text(encoding="utf-8")
    one = tmp_path / "one.yaml"
    one.write_text(text[: text.index("resources:")] + "resources:\n  TCPIP::10.0.0.5::inst0::INSTR: {device: full}\n")
    with connect(None, tmp_path, wire=Wire(backend=f"{one}@sim", timeout_s=0.5)) as bench:
        assert bench.name == "FERNLEAF DM-6"


def test_several_meters_are_named_and_none_is_chosen(tmp_path):
    with pytest.raises(Unavailable, match=r"name the meter with --resource; there are: .*FERNLEAF DM-6.*FERNLEAF PS-3"):
        connect(None, tmp_path, wire=SIMULATED)
    assert not (tmp_path / FILE).exists()


def test_no_supply_is_ever_guessed(tmp_path):
    with pytest.raises(Unavailable, match="no supply is known"):
        connect_supply(None, tmp_path, wire=SIMULATED)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        '{"version": 2}',
        '{"version": 1, "meter": {"address": 5}}',
        '{"version": 1, "meter": "x"}',
        "\x00",
    ],
)
def test_a_spoilt_memory_is_one_clear_line(tmp_path, text):
    (tmp_path / FILE).write_text(text, encoding="utf-8")
    with pytest.raises(BadInput, match="cannot be read; delete it"):
        connect(None, tmp_path, wire=SIMULATED)


def test_a_memory_that_cannot_be_written_is_one_clear_line(tmp_path):
    (tmp_path / "home").write_text("a file where the folder should be")
    with pytest.raises(BadInput, match="cannot be"):
        connect(FULL, tmp_path / "home", wire=SIMULATED)


def test_the_memory_is_plain_json(tmp_path):
    with connect(FULL, tmp_path, wire=SIMULATED):
        pass
    assert json.loads((tmp_path / FILE).read_text(encoding="utf-8")) == {
        "version": 1,
        "meter": {"address": FULL, "identity": IDENTITY, "baud": None},
    }


# --- doctor --------------------------------------------------------------------------------------------------------


def test_the_doctor_tells_of_a_bench_without_instruments(tmp_path):
    lines = {name: (state, advice) for name, state, advice in doctor_lines(tmp_path, wire=SIMULATED)}
    assert lines["meter"] == ("none", "guide meter --resource ADDRESS remembers a meter")
    assert lines["supply"][0] == "none"
    assert lines["serial meters"] == ("ready", "")


def test_the_doctor_asks_the_remembered_meter_its_name_and_nothing_else(meter, tmp_path):
    with on_a_socket(meter) as server:
        reach(server.address, tmp_path).close()
        before = len(meter.log)
        (name, state, advice), *_ = doctor_lines(tmp_path)
        assert (name, state, advice) == ("meter", f"FERNLEAF DM-6 at {server.address}", "")
        assert meter.log[before:] == ["*IDN?"]
        meter.identity = "FERNLEAF,DM-9,1,1"
        assert doctor_lines(tmp_path)[0][2] == "it was FERNLEAF DM-6 before"


def test_the_doctor_tells_of_a_meter_that_is_gone(meter, tmp_path):
    with on_a_socket(meter) as server:
        reach(server.address, tmp_path).close()
    name, state, advice = doctor_lines(tmp_path)[0]
    assert (name, state) == ("meter", "no answer")
    assert "connection refused" in advice


def test_without_the_library_the_extra_is_named(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyvisa", None)
    assert doctor_lines(tmp_path)[0][:2] == ("instruments", "not installed")
    with pytest.raises(Unavailable, match="instruments extra"):
        connect(FULL, tmp_path)


# --- a TCP socket ---------------------------------------------------------------------------------------------------


def test_a_socket_meter_takes_a_reading_by_itself(meter, tmp_path):
    meter.show(DIOD=[None, None, *[0.512] * 5])
    with on_a_socket(meter) as server, reach(server.address, tmp_path) as bench:
        assert bench.take(Measure.DIODE, never).quantity == Quantity(pytest.approx(0.512), Unit.VOLT)


def test_silence_is_told_and_the_late_answer_is_never_taken_for_the_next(meter, tmp_path):
    """The pitfall: after a time-out the late answer is read as the next query's, unless the line is opened anew."""
    meter.show(VOLT_DC=[111.0, 222.0])
    with on_a_socket(meter) as server, reach(server.address, tmp_path, timeout_s=SILENCE_S) as bench:
        server.late["READ?"] = threading.Event()
        with pytest.raises(NoAnswer, match=r"no answer within 1 s; check that it is on and connected"):
            bench.once(Measure.VOLTS_DC)
        server.waiting[0].set()  # 111 V is sent now
        assert bench.once(Measure.VOLTS_DC).quantity.value == 222.0


@pytest.mark.parametrize("fault", [DROP, f"+4.52E-0{CUT}"])
def test_a_reply_lost_or_cut_short_is_told_and_the_next_reading_is_whole(meter, tmp_path, fault):
    meter.show(VOLT_DC=[1.0, 2.0])
    with on_a_socket(meter) as server, reach(server.address, tmp_path, timeout_s=SILENCE_S) as bench:
        spoilt = iter([fault])
        meter.spoil = lambda command, reply: next(spoilt, reply) if command == "READ?" else reply
        with pytest.raises(NoAnswer):
            bench.once(Measure.VOLTS_DC)
        assert bench.once(Measure.VOLTS_DC).quantity.value == 2.0


def test_a_meter_unplugged_and_plugged_in_again_is_reached_again(meter, tmp_path):
    meter.show(RES=[470.0])
    with on_a_socket(meter) as server:
        port = server.port
        bench = reach(server.address, tmp_path)
        bench.close()
    with pytest.raises(NoAnswer, match="connection refused; check the address, and close other programs"):
        bench.once(Measure.OHMS)
    with on_a_socket(meter, port), bench:
        assert bench.once(Measure.OHMS).quantity.value == 470.0


def test_a_meter_held_by_another_program_is_told(meter, tmp_path):
    """An instrument with one client at a time hangs up on the second."""
    meter.spoil = lambda command, reply: DROP
    with on_a_socket(meter) as server, pytest.raises(NoAnswer):
        reach(server.address, tmp_path, timeout_s=SILENCE_S)
    assert not (tmp_path / FILE).exists()


def test_two_commands_in_a_row_are_sent_at_once(meter):
    """Otherwise the second waits for the first one's acknowledgement: 44 ms a mode change, measured here."""
    with on_a_socket(meter) as server:
        link = visa(server.address)
        link.open()
        session = manager().visalib.sessions[link._resource.session]
        assert session.interface.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY) != 0
        link.close()


# --- a serial line ---------------------------------------------------------------------------------------------------


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
def test_a_serial_meter_is_read_and_its_baud_rate_remembered(meter, tmp_path):
    meter.show(RES=[None, 470.0])
    with SerialLine(meter) as line:
        with connect(line.address, tmp_path, wire=Wire(baud=19200), pause=lambda: None) as bench:
            assert bench.once(Measure.OHMS).quantity.value == 470.0
        assert recall(tmp_path, Kind.METER).baud == 19200
        with connect(None, tmp_path, pause=lambda: None) as bench:
            assert bench.name == "FERNLEAF DM-6"


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals")
def test_a_late_answer_on_a_serial_line_is_thrown_away(meter, tmp_path):
    """Opening a serial line again does not stop what the meter is still sending."""
    meter.show(RES=[470.0])
    with SerialLine(meter) as line, connect(line.address, tmp_path, pause=lambda: None) as bench:
        bench.close()
        line.late = b"+1.11000000E+02\r\n"
        assert bench.once(Measure.OHMS).quantity.value == 470.0


# --- addresses that cannot be opened --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("address", "told"),
    [
        ("nonsense", "no VISA address"),
        ("", "no VISA address"),
        ("ASRL/dev/no-such-line::INSTR", "cannot be opened: it is not there"),
        ("TCPIP::127.0.0.1::1::SOCKET", "connection refused"),
    ],
)
def test_an_address_that_cannot_be_opened_is_one_clear_line(tmp_path, address, told):
    with pytest.raises(Unavailable) as caught:
        connect(address, tmp_path)
    assert told in str(caught.value)
    assert "\n" not in str(caught.value)


class _Refusing:
    """A VISA library whose opening fails in the ways pyvisa-py and its drivers are known to."""

    def __init__(self, error):
        self.error = error

    def open_resource(self, address, **_):
        raise self.error


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (Exception("could not connect: StatusCode.error_timeout"), "no answer within 3 s"),
        (Exception("error creating link: 3"), "another program holds it; close that program"),  # VXI-11
        (OSError(16, "Resource busy"), "another program holds it"),  # USB
        (OSError(11, "Could not exclusively lock port"), "another program holds it"),  # serial
        (PermissionError(13, "Permission denied"), "no permission to use it"),
        (ValueError("No device found."), "it is not there"),
        (ValueError("Please install PyUSB to use this resource type.\nNo module"), "Please install PyUSB"),
        (EOFError(), "EOFError"),
    ],
)
def test_a_library_s_failure_to_open_is_one_clear_line(monkeypatch, error, told):
    monkeypatch.setattr("guide.edge.instruments.link.manager", lambda backend: _Refusing(error))
    with pytest.raises(NoAnswer) as caught:
        visa(FULL).open()
    assert told in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_mistake_of_ours_is_not_dressed_up_as_a_missing_meter(monkeypatch):
    monkeypatch.setattr("guide.edge.instruments.link.manager", lambda backend: _Refusing(KeyError("ours")))
    with pytest.raises(KeyError):
        visa(FULL).open()
