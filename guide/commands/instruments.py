"""The connected meter: find it, read it once."""

from __future__ import annotations

import re
from pathlib import Path

from guide import app
from guide.commands.common import OWN_METER, document, profile
from guide.commands.data import write_private
from guide.core.errors import BadInput
from guide.core.jobs.wording import plain, shown_reading
from guide.core.quantity import Measure
from guide.edge.instruments.discover import Wire, connect, discovered
from guide.edge.jobs.database import private_folder
from guide.edge.profilefile import profile_from
from guide.edge.terminal import Lines

MOST_LEADS = 5.0  # ohm; more than any pair of leads has
_LEADS = re.compile(r"\s*leads(_margin)?\s*=")


def keep_profile(file: Path) -> int:
    """Keep a file as the technician's own meter, once it has been read through."""
    return _kept(file.read_text(encoding="utf-8") if profile_from(file) else "")


def null_leads(ohms: float) -> int:
    """Keep what the meter shows with the tips held together; it is taken off low readings from now on."""
    if not 0 <= ohms <= MOST_LEADS:
        raise BadInput(f"--leads {ohms:g}: give what the meter shows with the tips together, 0 to {MOST_LEADS:g} ohm")
    own = app.home_folder() / OWN_METER
    before = own.read_text(encoding="utf-8") if own.is_file() else ""
    rest = "".join(line for line in before.splitlines(keepends=True) if not _LEADS.match(line))
    return _kept(f"leads = {ohms:g}\nleads_margin = 0.05\n{rest}")


def _kept(text: str) -> int:
    own = app.home_folder() / OWN_METER
    private_folder(own.parent)
    trial = own.with_suffix(".new")
    write_private(trial, text.encode("utf-8"))
    meter = profile_from(trial)
    trial.replace(own)
    Lines().tell(f"{meter.name} is kept in {own}.")
    return 0


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
    with connect(resource, app.home_folder(), profile=profile()) as meter:
        reading = meter.once(Measure(measure))
        identity, address = meter.identity, meter.address
    value, unit, over = plain(reading)
    if as_json:
        return document({"address": address, "identity": identity, "measure": measure, "value": value, "unit": unit,
                         "over_range": over})  # fmt: skip
    lines.tell(f"{shown_reading(reading)}  ({identity})")
    return 0
