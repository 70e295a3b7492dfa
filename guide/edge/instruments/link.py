"""The wire to one instrument: open, send, ask, close, and nothing but the commands of `scpi.COMMANDS`.

After any failure the line is closed, because an answer that comes late would be read as the answer to the next
question (seen with a time-out on a TCP socket). The next use opens it again.
"""

from __future__ import annotations

import socket
from collections.abc import Callable
from typing import Any, Protocol

from guide.core.errors import GuideError, Unavailable
from guide.edge.instruments import scpi

TIMEOUT_S = 3.0  # a slow range with averaging takes about 2 s
PYTHON_BACKEND = "@py"
_TERMINATOR = "\n"  # IEEE 488.2, 7.5
_MOST_OWED = 8  # no instrument holds back more answers; while one is unplugged, questions to it would count on
_LONGEST_REPLY = 4096  # bytes; an identity or a reading is far shorter


class NoAnswer(Unavailable):
    """The instrument did not answer, or the line to it broke; the line is closed by now."""


class Resource(Protocol):
    """What is used of an open VISA resource."""

    def write(self, message: str) -> Any: ...

    def read_raw(self) -> bytes: ...

    def close(self) -> None: ...


Opener = Callable[[], Resource]


class Link:
    """A line to the instrument at `address`.

    `openings` counts how often it was opened: whoever remembers something about the instrument's state compares it.
    `owed` is how many answers may still be under way, over all openings; whoever knows that there is none sets it to 0.
    """

    def __init__(self, address: str, opener: Opener, *, timeout_s: float = TIMEOUT_S) -> None:
        self.address = address
        self.openings = 0
        self.owed = 0
        self._opener = opener
        self._timeout_s = timeout_s
        self._resource: Resource | None = None

    @property
    def is_open(self) -> bool:
        return self._resource is not None

    def open(self) -> None:
        """Open the line if it is closed. Raises Unavailable."""
        if self._resource is None:
            self._resource = self._opener()
            self.openings += 1

    def send(self, command: str) -> None:
        """Send a command that has no reply. Raises NoAnswer."""
        if command not in scpi.COMMANDS:
            raise GuideError(f"{command!r} is no measurement command; it was not sent")
        self.open()
        assert self._resource is not None, "open leaves a resource"
        try:
            self._resource.write(command)
        except _failures() as error:
            self.close()
            raise NoAnswer(self._told(error)) from error

    def ask(self, query: str) -> str:
        """Send a query and return its reply without the terminator. Raises NoAnswer, BadReply."""
        self.open()
        self.owed = min(self.owed + 1, _MOST_OWED)
        self.send(query)
        return self.listen()

    def listen(self) -> str:
        """Return the next reply. Raises NoAnswer, BadReply; the line is closed then."""
        if self._resource is None:
            raise NoAnswer(f"the line to {self.address} is closed")
        try:
            raw = self._resource.read_raw()
        except _failures() as error:
            self.close()
            raise NoAnswer(self._told(error)) from error
        if not raw.endswith(_TERMINATOR.encode()):
            self.close()
            raise NoAnswer(f"the answer of {self.address} was cut short")
        try:
            reply = raw[:_LONGEST_REPLY].decode("ascii").strip()
        except UnicodeDecodeError as error:
            self.close()
            raise scpi.BadReply(f"{self.address} answered with bytes that are no text; check its baud rate") from error
        self.owed = max(0, self.owed - 1)
        return reply

    def close(self) -> None:
        """Close the line; it may be closed already."""
        resource, self._resource = self._resource, None
        if resource is None:
            return
        try:
            resource.close()
        except _failures():
            return  # what was to be closed is gone, and that is what was wanted

    def _told(self, error: BaseException) -> str:
        return f"{self.address}: {reason(error, self._timeout_s)}"


def visa(address: str, *, timeout_s: float = TIMEOUT_S, backend: str = PYTHON_BACKEND, baud: int | None = None) -> Link:
    """Return a closed link to a VISA address: `TCPIP::10.0.0.5::5025::SOCKET`, `ASRL/dev/ttyUSB0::INSTR`, ...

    `baud` is for serial lines only; None leaves the library's 9600.
    """

    def opener() -> Resource:
        return _opened(manager(backend), address, timeout_s, baud)

    return Link(address, opener, timeout_s=timeout_s)


def manager(backend: str = PYTHON_BACKEND) -> Any:
    """Return the VISA resource manager. Raises Unavailable where the library is not installed."""
    try:
        import pyvisa
    except ImportError as error:
        raise Unavailable(
            "connected meters need the instruments extra: pip install 'bench-guide[instruments]'"
        ) from error
    try:
        # One manager a backend, kept by the library; closing it here would close every other line too.
        return pyvisa.ResourceManager(backend)
    except (pyvisa.errors.Error, OSError, ValueError) as error:
        raise Unavailable(f"the VISA library cannot be used: {_first_line(error)}") from error


def _opened(visa_manager: Any, address: str, timeout_s: float, baud: int | None) -> Resource:
    from pyvisa.rname import InvalidResourceName, ResourceName

    try:
        ResourceName.from_string(address)
    except (InvalidResourceName, ValueError) as error:
        raise Unavailable(f"{address!r} is no VISA address; one is like TCPIP::10.0.0.5::5025::SOCKET") from error
    milliseconds = round(timeout_s * 1000)
    settings: dict[str, Any] = {"timeout": milliseconds, "baud_rate": baud}
    settings |= {"read_termination": _TERMINATOR, "write_termination": _TERMINATOR}
    try:
        opened: Resource = visa_manager.open_resource(
            address, open_timeout=milliseconds, **{k: v for k, v in settings.items() if v is not None}
        )
        _sends_at_once(visa_manager, opened)
    except Exception as error:
        # The library raises the bare class where a host does not answer or the instrument is locked by another
        # client; a subclass that is not ours to expect goes on.
        if type(error) is not Exception and not isinstance(error, _failures()):
            raise
        raise NoAnswer(f"{address} cannot be opened: {reason(error, timeout_s)}") from error
    return opened


def _sends_at_once(visa_manager: Any, opened: Any) -> None:
    """Keep a TCP socket from holding a command back until the one before is acknowledged.

    A mode change is two commands in a row, and cost 44 ms on the loopback. VISA has an attribute for it, which the
    Python library cannot set (0.8: its setter is not registered), so the socket itself is asked for.
    """
    session = getattr(visa_manager.visalib, "sessions", {}).get(opened.session)
    interface = getattr(session, "interface", None)
    if isinstance(interface, socket.socket):
        interface.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)


def _failures() -> tuple[type[BaseException], ...]:
    """Return what a broken line raises; USB and serial errors are OSError."""
    own: tuple[type[BaseException], ...] = (OSError, EOFError, ValueError, NotImplementedError)
    try:
        import pyvisa.errors
        from pyvisa_py.protocols.rpc import RPCError
    except ImportError:
        return own
    return (*own, pyvisa.errors.Error, RPCError)


# What a failure's own words tell, the first that fits; VISA's names for its errors are in its specification VPP-4.3.
_REASONS = (
    (("rsrc_locked", "rsrc_busy", "busy", "exclusively lock", "error creating link"),
     "another program holds it; close that program"),
    (("refused",), "connection refused; check the address, and close other programs that hold it"),
    (("permission", "access denied", "no_permission"),
     "no permission to use it; see your system's rules for USB and serial devices"),
    (("err_tmo", "error_tmo", "timeout", "timed out"),
     "no answer within {timeout_s:g} s; check that it is on and connected"),
    (("conn_lost", "reset by peer", "broken pipe", "no such device", "disconnected"),
     "the connection was lost; check the cable"),
    (("rsrc_nfound", "no device found", "no such file", "not known"),
     "it is not there; check the address, the cable and that it is on"),
)  # fmt: skip


def reason(error: BaseException, timeout_s: float) -> str:
    """Return why a line failed, with what to do, in a clause."""
    text = f"{getattr(error, 'abbreviation', '')} {type(error).__name__} {error}".lower()
    for marks, told in _REASONS:
        if any(mark in text for mark in marks):
            return told.format(timeout_s=timeout_s)
    return _first_line(error)


def _first_line(error: BaseException) -> str:
    return (str(error).strip().splitlines() or [type(error).__name__])[0][:120]
