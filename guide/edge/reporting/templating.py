"""The one Jinja2 environment: everything escaped, nothing undefined passed over."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from guide.core.palette import COLOURS, LINES

TEMPLATES = Path(__file__).parent / "templates"


@cache
def environment() -> Environment:
    """Return the environment; `c` are the palette's colours, `lines` the line styles of charts."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.globals.update(c=COLOURS, lines=LINES)
    return made


def rendered(name: str, **context: object) -> Markup:
    """Return the template `name` filled in; what comes out is escaped and may stand inside another template."""
    return Markup(environment().get_template(name).render(**context))
