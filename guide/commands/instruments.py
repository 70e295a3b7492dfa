"""The connected meter: find it, read it once."""

from __future__ import annotations

from guide import app
from guide.commands.common import document
from guide.core.errors import BadInput
from guide.core.quantity import Measure
from guide.core.wording import plain, shown_reading
from guide.edge.instruments.discover import Wire, connect, discovered
from guide.edge.terminal import Lines


def meter(resource: str | None, measure: str, *, listing: bool, as_json: bool) -> int:
    """Print one reading of the meter named, remembered or found; or list what is there."""
    lines = Lines()
    if listing:
        found = discovered(Wire())
        if as_json:
            return document([{"address": f.address, "identity": f.identity, "note": f.note} for f in found])
        for one in found:
            lines.tell(f"{one.address}  {one.identity or one.note}")
        if not found:
            lines.tell("No instrument was found. Name one: guide meter --resource TCPIP::ADDRESS::5025::SOCKET")
        return 0
    if measure not in {m.value for m in Measure if m.takes_a_reading}:
        raise BadInput(
            f"{measure!r} is no kind of measurement; one of: {', '.join(m for m in Measure if m.takes_a_reading)}"
        )
    with connect(resource, app.home_folder()) as meter:
        reading = meter.once(Measure(measure))
        identity, address = meter.identity, meter.address
    value, unit, over = plain(reading)
    if as_json:
        return document({"address": address, "identity": identity, "measure": measure, "value": value, "unit": unit,
                         "over_range": over})  # fmt: skip
    lines.tell(f"{shown_reading(reading)}  ({identity})")
    return 0
