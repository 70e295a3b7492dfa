"""Finding the bench's instruments and connecting to them."""

from __future__ import annotations

import importlib.util
import warnings
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from guide.core.errors import GuideError, Unavailable
from guide.core.meter import HANDHELD, MeterProfile
from guide.edge.instruments import scpi
from guide.edge.instruments.instrument import Instrument, pause_between
from guide.edge.instruments.link import PYTHON_BACKEND, TIMEOUT_S, manager, visa
from guide.edge.instruments.memory import Kind, Remembered, recall, remember
from guide.edge.instruments.meter import BenchMeter
from guide.edge.instruments.supply import BenchSupply
from guide.edge.instruments.talk import Talk, Wording

SERIAL = "ASRL"
# Opening a serial port toggles its control lines, which resets many a board: only the one that is named is opened.
NOT_TRIED = "serial line, not tried; name it to use it"


@dataclass(frozen=True, slots=True)
class Wire:
    """How instruments are reached. `backend` is a VISA library in PyVISA's words."""

    timeout_s: float = TIMEOUT_S
    backend: str = PYTHON_BACKEND
    baud: int | None = None
    ohms: scpi.Ohms = scpi.Ohms.TWO_WIRE


@dataclass(frozen=True, slots=True)
class Found:
    """An address on the bench and who answers there; `identity` is empty where `note` says why."""

    address: str
    identity: str = ""
    note: str = ""


def discovered(wire: Wire) -> tuple[Found, ...]:
    """Return every address the VISA library finds, each asked for its name and for nothing else.

    A TCP socket cannot be found, only named. Raises Unavailable where the library is missing.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library warns of discovery packages that are optional
        addresses = manager(wire.backend).list_resources("?*")
    # Adapters and raw devices are no instruments, and an adapter's address would open a serial port after all.
    return tuple(_identified(a, wire) for a in sorted(addresses) if a.endswith(("::INSTR", "::SOCKET")))


def _identified(address: str, wire: Wire) -> Found:
    if address.startswith(SERIAL):
        return Found(address, note=NOT_TRIED)
    talk = _talk(address, Kind.METER, wire)
    try:
        return Found(address, talk.identify())
    except Unavailable as error:
        return Found(address, note=str(error))
    finally:
        talk.link.close()


def _talk(address: str, kind: Kind, wire: Wire) -> Talk:
    link = visa(address, timeout_s=wire.timeout_s, backend=wire.backend, baud=wire.baud)
    if kind is Kind.SUPPLY:
        return Talk(link, scpi.SUPPLY, wording=Wording.MEASURE, noun="supply")
    return Talk(link, scpi.meter(wire.ohms))


def connect(
    resource: str | None,
    home: Path,
    *,
    profile: MeterProfile = HANDHELD,
    wire: Wire | None = None,
    pause: Callable[[], None] = pause_between,
) -> BenchMeter:
    """Return the meter at `resource`, or the one remembered in `home`, or the only one that is found.

    It is remembered. Use it in a `with`. Raises Unavailable with one clear line, BadInput for a spoilt memory.
    """
    address, wire = _where(resource, home, Kind.METER, wire)
    meter = BenchMeter(_talk(address, Kind.METER, wire), profile=profile, pause=pause)
    _keep(home, Kind.METER, meter, wire)
    return meter


def connect_supply(
    resource: str | None,
    home: Path,
    *,
    profile: MeterProfile = HANDHELD,
    wire: Wire | None = None,
    pause: Callable[[], None] = pause_between,
) -> BenchSupply:
    """Return the supply at `resource` or the one remembered; it is only ever read. Otherwise as `connect`."""
    address, wire = _where(resource, home, Kind.SUPPLY, wire)
    supply = BenchSupply(_talk(address, Kind.SUPPLY, wire), profile=profile, pause=pause)
    _keep(home, Kind.SUPPLY, supply, wire)
    return supply


def _keep(home: Path, kind: Kind, instrument: Instrument, wire: Wire) -> None:
    try:
        remember(home, kind, Remembered(instrument.address, instrument.identity, wire.baud))
    except GuideError:
        instrument.close()
        raise


def _where(resource: str | None, home: Path, kind: Kind, wire: Wire | None) -> tuple[str, Wire]:
    known, wire = recall(home, kind), wire or Wire()
    if known is not None and resource in (None, known.address):
        return known.address, replace(wire, baud=wire.baud or known.baud)
    if resource is not None:
        return resource, wire
    if kind is Kind.SUPPLY:
        raise Unavailable("no supply is known; name it once by its VISA address")
    return _only_one(discovered(wire)), wire


def _only_one(found: tuple[Found, ...]) -> str:
    answering = [f for f in found if f.identity]
    if len(answering) == 1:
        return answering[0].address
    named = "; ".join(f"{f.address} ({scpi.name_of(f.identity) or f.note})" for f in answering or found)
    if not named:
        raise Unavailable("no meter was found; connect one, or name it: --resource TCPIP::ADDRESS::5025::SOCKET")
    raise Unavailable(f"name the meter with --resource; there are: {named}")


# --- doctor ---------------------------------------------------------------------------------------------------

Line = tuple[str, str, str]  # name, state, advice


def doctor_lines(home: Path, *, wire: Wire | None = None) -> list[Line]:
    """Return what is there for connected instruments, as (name, state, advice); advice is empty where all is well."""
    if importlib.util.find_spec("pyvisa") is None or importlib.util.find_spec("pyvisa_py") is None:
        return [("instruments", "not installed", "pip install 'bench-guide[instruments]', or type and say readings")]
    return [_remembered(home, kind, wire) for kind in Kind] + [
        _package("serial meters", "serial", "pyserial"),
        _usb(),
    ]


def _package(name: str, module: str, package: str) -> Line:
    there = importlib.util.find_spec(module) is not None
    return (name, "ready", "") if there else (name, "not installed", f"pip install {package}")


def _usb() -> Line:
    line = _package("USB meters", "usb", "pyusb")
    if line[2]:
        return line
    from usb.backend import libusb1

    if libusb1.get_backend() is None and importlib.util.find_spec("libusb_package") is None:
        return ("USB meters", "no libusb", "install your system's libusb, or pip install libusb-package")
    return line


def _remembered(home: Path, kind: Kind, wire: Wire | None) -> Line:
    try:
        known = recall(home, kind)
        if known is None:
            return (kind.value, "none", f"guide meter --resource ADDRESS remembers a {kind.value}")
        address, wire = _where(None, home, kind, wire)
        talk = _talk(address, kind, wire)
        try:
            talk.identify()
        finally:
            talk.link.close()
    except GuideError as error:
        return (kind.value, "no answer", str(error))
    other = "" if talk.identity == known.identity else f"it was {scpi.name_of(known.identity)} before"
    return (kind.value, f"{scpi.name_of(talk.identity)} at {address}", other)
