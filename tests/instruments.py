"""Instruments for tests: a SCPI meter as plain code, its wire in this process, and a real TCP socket before it.

The meter follows SCPI-1999 (CONFigure, READ?, MEASure, the error queue with -113 and -350, 9.9E37 for OL) and
IEEE 488.2 (*IDN?, *CLS, newline as terminator). DIODe and CONTinuity are vendor extensions.
"""

from __future__ import annotations

import os
import select
import socketserver
import threading
import tty
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager

import pyvisa
from pyvisa.constants import StatusCode

from guide.edge.instruments import scpi
from guide.edge.instruments.link import Link
from guide.edge.instruments.meter import BenchMeter
from guide.edge.instruments.talk import Talk

IDENTITY = "FERNLEAF,DM-6,0042,1.3"
FUNCTIONS = ("VOLT:DC", "VOLT:AC", "CURR:DC", "RES", "FRES", "CONT", "DIOD", "FREQ", "TEMP")
OL = "+9.90000000E+37"
QUEUE = 10

# Everything that may ever be sent, written out a second time: measurement functions, *IDN?, *CLS, SYST:ERR?.
# Nothing of SOURce, OUTPut, TRIGger, CALibration, *RST, *TRG, or a setting of any kind.
MAY_BE_SENT = frozenset({
    "*IDN?", "*CLS", "SYST:ERR?", "READ?",
    "CONF:VOLT:DC", "CONF:VOLT:AC", "CONF:CURR:DC", "CONF:RES", "CONF:FRES", "CONF:CONT", "CONF:DIOD", "CONF:FREQ",
    "CONF:TEMP",
    "MEAS:VOLT:DC?", "MEAS:VOLT:AC?", "MEAS:CURR:DC?", "MEAS:RES?", "MEAS:FRES?", "MEAS:CONT?", "MEAS:DIOD?",
    "MEAS:FREQ?", "MEAS:TEMP?",
    "MEAS:VOLT?", "MEAS:CURR?",
})  # fmt: skip

Value = float | str | None  # None is OL, text goes out as it is


def nr3(value: Value) -> str:
    """A reading as SCPI sends it: NR3 of IEEE 488.2."""
    return OL if value is None else value if isinstance(value, str) else f"{value:+.8E}"


class Meter:
    """A bench meter. `shows` gives the display for a function; `log` keeps every command, `answer` what comes back."""

    def __init__(
        self,
        *,
        functions: Iterable[str] = FUNCTIONS,
        lacks: Iterable[str] = (),
        identity: str = IDENTITY,
        errors_kept: bool = True,
    ) -> None:
        self.functions = frozenset(functions)
        self.lacks = frozenset(lacks)  # CONF, READ?
        self.identity = identity
        self.errors_kept = errors_kept
        self.errors: deque[str] = deque()
        self.log: list[str] = []
        self.function = "VOLT:DC"
        self.shows: Callable[[str], Value] = lambda function: 0.0
        self.spoil: Callable[[str, str], str | None] = lambda command, reply: reply

    def show(self, **displays: Iterable[Value]) -> None:
        """Feed the display of functions (`VOLT_DC=[...]`); the last value stays, functions not named show zero."""
        feeds = {name.replace("_", ":"): _stays(values) for name, values in displays.items()}
        self.shows = lambda function: next(feeds[function]) if function in feeds else 0.0

    def answer(self, command: str) -> str | None:
        """Return the reply to one command, None for silence."""
        self.log.append(command)
        reply = self._answer(command)
        return None if reply is None else self.spoil(command, reply)

    def _answer(self, command: str) -> str | None:
        head, _, function = command.partition(":")
        if command == "*IDN?":
            return self.identity
        if command == "*CLS":
            return self.errors.clear()
        if command == "SYST:ERR?" and self.errors_kept:
            return self.errors.popleft() if self.errors else '0,"No error"'
        if command == "READ?" and command not in self.lacks:
            return nr3(self.shows(self.function))
        if head == "CONF" and head not in self.lacks and function in self.functions:
            self.function = function
            return None
        if head == "MEAS" and function.rstrip("?") in self.functions:
            self.function = function.rstrip("?")
            return nr3(self.shows(self.function))
        return self.error('-113,"Undefined header"')

    def error(self, entry: str) -> None:
        """Queue an error; a full queue ends in -350 (SCPI-1999, 21.8)."""
        if len(self.errors) == QUEUE:
            self.errors[-1] = '-350,"Queue overflow"'
        else:
            self.errors.append(entry)


def _stays(values: Iterable[Value]) -> Iterator[Value]:
    last: Value = 0.0
    for last in values:
        yield last
    while True:
        yield last


class Wire:
    """A VISA resource that is this process. Replies wait in `pending` until they are read, as in a meter's output."""

    def __init__(self, meter: Meter) -> None:
        self.meter = meter
        self.pending: deque[bytes] = deque()
        self.closed = False

    def write(self, message: str) -> None:
        assert not self.closed, "written to a closed line"
        reply = self.meter.answer(message)
        if reply is not None:
            self.pending.append(reply.encode("latin-1") + b"\n")

    def read_raw(self) -> bytes:
        assert not self.closed, "read from a closed line"
        if not self.pending:
            raise pyvisa.errors.VisaIOError(StatusCode.error_timeout)
        return self.pending.popleft()

    def close(self) -> None:
        self.closed = True


def talk_with(meter: Meter, **kept: object) -> Talk:
    """A conversation over in-process wires; each opening is a new one."""
    return Talk(Link("TEST::INSTR", lambda: Wire(meter)), scpi.METER, **kept)


DROP = "\x00drop"  # the meter hangs up instead of answering
CUT = "\x00cut"  # the reply ends here, without its newline


class _Connection(socketserver.StreamRequestHandler):
    server: SocketServer

    def handle(self) -> None:
        for line in self.rfile:
            command = line.decode().rstrip("\n")
            reply = self.server.meter.answer(command)
            self.server.wait_before_sending(command)
            if reply == DROP:
                return
            if reply is not None:
                whole = reply.removesuffix(CUT)
                self.wfile.write(whole.encode("latin-1") + (b"" if whole != reply else b"\n"))


class SocketServer(socketserver.ThreadingTCPServer):
    """A meter on a loopback port. `late` keeps the next answer to a command back until its event is set."""

    allow_reuse_address = True
    daemon_threads = True

    def __init__(self, meter: Meter, port: int = 0) -> None:
        super().__init__(("127.0.0.1", port), _Connection)
        self.meter = meter
        self.late: dict[str, threading.Event] = {}
        self.waiting: list[threading.Event] = []

    def wait_before_sending(self, command: str) -> None:
        event = self.late.pop(command, None)
        if event is not None:
            self.waiting.append(event)
            event.wait()

    def handle_error(self, request: object, client_address: object) -> None:
        """A client that has gone away is part of the play."""

    @property
    def port(self) -> int:
        return self.server_address[1]

    @property
    def address(self) -> str:
        return f"TCPIP::127.0.0.1::{self.port}::SOCKET"


@contextmanager
def on_a_socket(meter: Meter, port: int = 0) -> Iterator[SocketServer]:
    with SocketServer(meter, port) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
        thread.start()
        try:
            yield server
        finally:
            for event in server.waiting:
                event.set()
            server.shutdown()
            thread.join()


class SerialLine:
    """A meter at the far end of a pseudo-terminal. `late` is sent before the next answer, as by a slow meter."""

    def __init__(self, meter: Meter) -> None:
        self.meter = meter
        self.late = b""
        self._far, self._near = os.openpty()
        tty.setraw(self._near)
        self._stop, self._stopped = os.pipe()
        self._thread = threading.Thread(target=self._serve)

    @property
    def address(self) -> str:
        return f"ASRL{os.ttyname(self._near)}::INSTR"

    def _serve(self) -> None:
        heard = b""
        while True:
            ready, _, _ = select.select([self._far, self._stop], [], [])
            if self._stop in ready:
                return
            heard += os.read(self._far, 4096)
            *lines, heard = heard.split(b"\n")
            for line in lines:
                reply = self.meter.answer(line.decode())
                if reply is not None:
                    os.write(self._far, self.late + reply.encode() + b"\r\n")
                    self.late = b""

    def __enter__(self) -> SerialLine:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        os.write(self._stopped, b"x")
        self._thread.join()
        for descriptor in (self._far, self._near, self._stop, self._stopped):
            os.close(descriptor)


def never():
    return False


def after(count):
    """Return a stop that says so from its `count`th question on."""
    asked = iter(range(count))
    return lambda: next(asked, None) is None


def on(meter, **kept):
    return BenchMeter(talk_with(meter), pause=lambda: None, **kept)
