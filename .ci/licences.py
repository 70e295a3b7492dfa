"""Names, versions and licences of everything `guide` brings along, from the lock file and the packages installed.

    python .ci/licences.py            writes .licences.md
    python .ci/licences.py --check    1 where a package has come or gone, or its licence has changed

Versions are those of requirements.lock; licences are read from the metadata of what is installed here.
"""

import re
import sys
import tomllib
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).parents[1]
TARGET = ROOT / ".licences.md"
_NAME = re.compile(r"^([A-Za-z0-9._-]+)(?:\[([^\]]*)\])?")
# Where the metadata says nothing, or the whole text: as the package's own LICENSE file says.
KNOWN = {"vosk": "Apache-2.0", "espeakng-loader": "MIT; carries eSpeak NG, GPL-3.0-or-later"}


def plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def locked() -> dict[str, str]:
    """Name to version, of requirements.lock."""
    lines = (ROOT / "requirements.lock").read_text().splitlines()
    found: dict[str, str] = {}
    for pin in (re.match(r"([A-Za-z0-9._-]+)==(\S+)", line) for line in lines):
        if pin:  # one package may be pinned twice, for older and newer Pythons
            name, version = plain(pin.group(1)), pin.group(2)
            found[name] = f"{found[name]}, {version}" if name in found else version
    return found


def shipped() -> dict[str, str]:
    """Every package a user's install may bring, and for which part: the core, or an extra."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    parts = {"core": project["dependencies"], **project["optional-dependencies"]}
    found: dict[str, str] = {}
    for part, needed in parts.items():
        if part in ("dev", "all"):
            continue
        waiting = [_NAME.match(n).group(1, 2) for n in needed]
        while waiting:
            name, extras = waiting.pop()
            if plain(name) in found:
                continue
            found[plain(name)] = part
            waiting += _needs(name, extras)
    return found


def _needs(name: str, extras: str | None) -> list[tuple[str, str | None]]:
    from packaging.requirements import Requirement

    try:
        wanted = [Requirement(r) for r in metadata.requires(name) or ()]
    except metadata.PackageNotFoundError:
        return []
    asked = [e.strip() for e in (extras or "").split(",") if e.strip()] or [""]
    here = (r for r in wanted if r.marker is None or any(r.marker.evaluate({"extra": e}) for e in asked))
    return [(r.name, ",".join(sorted(r.extras))) for r in here]


def licence(name: str) -> str:
    if name in KNOWN:
        return KNOWN[name]
    try:
        told = metadata.metadata(name)
    except metadata.PackageNotFoundError:
        return "not installed here"
    if told.get("License-Expression"):
        return str(told["License-Expression"])
    classed = [c.rpartition(" :: ")[2] for c in told.get_all("Classifier") or () if c.startswith("License ::")]
    said = (told.get("License") or "").strip().split("\n")[0]
    return ", ".join(c for c in classed if c != "OSI Approved") or said[:60] or "not stated"


def table() -> list[tuple[str, str, str, str]]:
    versions = locked()
    return [(name, versions.get(name, "?"), licence(name), part) for name, part in sorted(shipped().items())]


def document() -> str:
    rows = [f"| {' | '.join(row)} |" for row in table()]
    head = "Made by `.ci/licences.py` from `requirements.lock`. Nothing below is copied into `guide`; pip installs it."
    return "\n".join(["# What comes along", "", head, "", "| Package | Version | Licence | For |", "|---|---|---|---|",
                      *rows, ""])  # fmt: skip


def changes() -> list[str]:
    """What differs from the list that is committed, versions aside: those move with the lock."""
    kept = dict(re.findall(r"^\| (\S+) \| .*? \| (.*?) \|", TARGET.read_text(), re.MULTILINE))
    now = {name: text for name, _, text, _ in table() if text != "not installed here"}
    return [
        *(f"{n}: new, {t}" for n, t in now.items() if n not in kept),
        *(f"{n}: {kept[n]} is now {t}" for n, t in now.items() if n in kept and kept[n] != t),
    ]


if __name__ == "__main__":
    if "--check" not in sys.argv:
        TARGET.write_text(document())
    elif found := changes():
        sys.exit("\n".join(["licences have changed; run python .ci/licences.py and look at the difference:", *found]))
