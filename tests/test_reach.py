"""What `guide` can reach: no port is opened, nothing is fetched, files are private, dependencies are pinned."""

import ast
import os
import re
import runpy
import stat
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement

from tests.crash import strace
from tests.worlds import FERNLEAF, ROOT, TestBench

PACKAGE = ROOT / "guide"
SOURCES = sorted(PACKAGE.rglob("*.py"))
# Modules that open, serve or fetch. The one socket we touch is the meter's, opened by the instrument library.
NETWORK = {"socket", "socketserver", "ssl", "http", "urllib", "ftplib", "smtplib", "xmlrpc", "requests", "httpx",
           "aiohttp", "urllib3", "websockets", "webbrowser", "telnetlib", "multiprocessing"}  # fmt: skip
ALLOWED = {"edge/instruments/link.py": {"socket"}}
CALLS = {"bind", "create_server", "start_server", "start_unix_server", "open_connection", "urlopen",
         "urlretrieve", "create_connection", "download",
         "snapshot_download", "hf_hub_download", "from_pretrained"}  # fmt: skip
# Library calls that fetch a model where they are given a name or a language instead of a folder.
NAMED_MODELS = {"model_name", "lang", "model_arch"}


def reaching(path: Path, root: Path = PACKAGE) -> list[str]:
    """Return what in `path` could reach a network, as file:line."""
    name = str(path.relative_to(root))
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        modules = (
            [a.name for a in node.names] if isinstance(node, ast.Import)
            else [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        )  # fmt: skip
        for module in modules:
            top = module.split(".")[0]
            if top in NETWORK - ALLOWED.get(name, set()) or "download" in module:
                found.append(f"{name}:{node.lineno}: imports {module}")
        if isinstance(node, ast.Call):
            called = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if called in CALLS:
                found.append(f"{name}:{node.lineno}: calls {called}")
            found += [f"{name}:{node.lineno}: names a model" for k in node.keywords
                      if called == "Model" and k.arg in NAMED_MODELS]  # fmt: skip
    return found


def test_no_module_opens_a_port_or_fetches_anything():
    assert [one for path in SOURCES for one in reaching(path)] == []


def test_the_rule_sees_what_it_looks_for(tmp_path):
    bad = tmp_path / "bad.py"
    bad.write_text("import urllib.request\nfrom http import server\nurlopen('x')\nvosk.Model(lang='en')\ns.bind(1)\n")
    assert len(reaching(bad, tmp_path)) == 5


# Every way out of the process ends it, and so does waiting for anyone to come in. UNIX sockets stay: a sound server is
# no network. A library may bind the loopback's port 0 to see whether there is IPv6; nobody can come in by that.
GUARD = """
import os, socket, sys
WAYS = ("socket.bind", "socket.getaddrinfo", "socket.sendto", "urllib.Request", "socket.connect")
def end(event, arguments=()):
    sys.stderr.write(f"REACHED {event} {arguments}\\n"); sys.stderr.flush(); os._exit(99)
def guard(event, arguments):
    if event not in WAYS:
        return
    inside = event == "socket.connect" and isinstance(arguments[1], (str, bytes))
    probe = event == "socket.bind" and arguments[1][:2] == ("::1", 0)
    if not (inside or probe):
        end(event, arguments[1:])
sys.addaudithook(guard)
socket.socket.listen = lambda *arguments: end("listen")
from guide.cli import run
match sys.argv[1:]:
    case ["--connect"]: socket.create_connection(("127.0.0.1", 9))
    case ["--look-up"]: socket.getaddrinfo("localhost", 9)
    case ["--listen"]: socket.socket(socket.AF_UNIX).listen()
sys.exit(run(sys.argv[1:]))
"""


def guarded(home: Path, *arguments: str, typed: str = "") -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "GUIDE_HOME": str(home), "PYTHONPATH": str(ROOT)}
    return subprocess.run([sys.executable, "-c", GUARD, *arguments], input=typed, env=environment, capture_output=True,
                          text=True, timeout=120, check=False)  # fmt: skip


@pytest.mark.parametrize("way", ["--connect", "--look-up", "--listen"])
def test_the_guard_sees_every_way_out_and_in(tmp_path, way):
    assert guarded(tmp_path, way).returncode == 99


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    home = tmp_path_factory.mktemp("home")
    bench = TestBench(home)
    bench.hears("ready", "12.1", "unplugged", "OL")
    bench.store.close()
    return home


@pytest.mark.parametrize(
    "arguments",
    [
        ["--version"], ["jobs"], ["trees", "bus", "dead"], ["lint"], ["demo", "--fast"], ["export", "1"],
        ["report", "1"], ["doctor"],
        ["report", "1", "--to", "{home}/r.html"], ["report", "1", "--to", "{home}/r.pdf"], ["plan", FERNLEAF],
        ["rehearse", FERNLEAF, "--runs", "20"], ["draw", FERNLEAF, "--to", "{home}/t.svg"], ["help"],
        ["hear", "--words", "four fifty two", "--measure", "diode"], ["begin", "--tree", FERNLEAF, "--jsonl"],
        ["resume", "1", "--jsonl"], ["begin", "--tree", FERNLEAF, "--voice"],
    ],
    ids=lambda a: " ".join(a)[:40],
)  # fmt: skip
def test_a_command_never_leaves_the_machine(home, arguments):
    ran = guarded(home, *(a.format(home=home) for a in arguments), typed="ready\n12.1\n")
    assert "REACHED" not in ran.stderr
    assert ran.returncode in (0, 2), ran.stderr
    assert "Traceback" not in ran.stderr


# The guard above sees what Python asks for; recognisers are libraries of machine code, and only the kernel sees those.
CLIPS = [str(p) for p in sorted((ROOT / "audio_samples" / "job").glob("*.wav"))[:2]]
PROBE = re.compile(r'bind\(\d+, \{sa_family=AF_INET6, sin6_port=htons\(0\).*"::1"')  # is there IPv6? nobody can come in


def reached(trace: Path) -> list[str]:
    """Return the system calls that left the machine or let anyone in; sockets of the machine itself are no network."""
    called = re.compile(r"\b(connect|bind|listen|accept4?|sendto|sendmsg|sendmmsg)\(")
    lines = trace.read_text(errors="replace").splitlines()
    return [one for one in lines if called.search(one) and "AF_UNIX" not in one and not PROBE.search(one)]


def traced(home: Path, *command: str, typed: str = "") -> list[str]:
    trace = home / "trace"
    environment = {**os.environ, "GUIDE_HOME": str(home), "PYTHONPATH": str(ROOT), "PULSE_SERVER": "unix:/nowhere"}
    watched = ["strace", "-f", "-qq", "-e", "trace=network", "-o", str(trace), sys.executable, *command]
    ran = subprocess.run(
        watched, input=typed, env=environment, capture_output=True, text=True, timeout=120, check=False
    )
    assert ran.returncode == 0, ran.stderr
    return reached(trace)


@pytest.mark.skipif(not strace.available(), reason="no strace here that may trace")
@pytest.mark.parametrize(
    "arguments",
    [
        ["begin", "--tree", FERNLEAF, "--jsonl"], ["begin", "--tree", FERNLEAF, "--voice"], ["demo", "--fast"],
        ["hear", "--json", *CLIPS],
    ],
    ids=lambda a: " ".join(a[:4]),
)  # fmt: skip
def test_no_system_call_of_a_job_or_of_a_recogniser_leaves_the_machine(tmp_path, arguments):
    assert traced(tmp_path, "-m", "guide", *arguments, typed="ready\n12.1\n") == []


@pytest.mark.skipif(not strace.available(), reason="no strace here that may trace")
def test_the_trace_sees_what_it_looks_for(tmp_path):
    code = (
        "import socket\na = socket.socket()\na.bind(('127.0.0.1', 0))\na.listen()\n"
        "socket.create_connection(a.getsockname())"
    )
    assert len(traced(tmp_path, "-c", code)) == 3


@pytest.mark.skipif(os.name == "nt", reason="POSIX file modes")
def test_every_file_a_command_writes_is_private_even_over_an_open_one(tmp_path):
    """Store, log, lock, export, reports, pictures: 0600; folders of ours: 0700. Whatever the umask."""
    home, out = tmp_path / "home", tmp_path / "out"
    bench = TestBench(home)
    bench.hears("ready", "12.1", "unplugged", "OL")
    out.mkdir(mode=0o700)
    (out / "old.md").write_text("open to all")
    (out / "old.md").chmod(0o644)
    old = os.umask(0)
    try:
        for arguments in (
            ["export", "1", "--to", f"{out}/j.json"], ["report", "1", "--to", f"{out}/old.md"],
            ["report", "1", "--to", f"{out}/r.html"], ["report", "1", "--for", "customer", "--to", f"{out}/r.json"],
            ["draw", FERNLEAF, "--to", f"{out}/t.svg"], ["demo", "--fast"], ["resume", "1", "--jsonl"],
        ):  # fmt: skip
            assert guarded(home, *arguments).returncode == 0, arguments
        modes = {p: stat.S_IMODE(p.stat().st_mode) for p in (home, *home.rglob("*"), *out.rglob("*"))}
    finally:
        os.umask(old)
        bench.store.close()
    assert {p.name for p in modes} >= {"guide.sqlite3", "guide.sqlite3-wal", "1.lock", "j.json", "old.md", "t.svg"}
    assert {p.name: oct(m) for p, m in modes.items() if p.is_file() and m != 0o600} == {}
    assert {p.name: oct(m) for p, m in modes.items() if p.is_dir() and m != 0o700} == {}


def test_a_device_named_as_the_file_keeps_its_rights(tmp_path):
    bench = TestBench(tmp_path)
    bench.hears("ready", "12.1")
    bench.store.close()
    before = os.stat(os.devnull).st_mode
    assert guarded(tmp_path, "export", "1", "--to", os.devnull).returncode == 0
    assert os.stat(os.devnull).st_mode == before


# Dependencies


def pins() -> dict[str, list[str]]:
    """Every pin of the lock: name to its lines, hashes below it."""
    found: dict[str, list[str]] = {}
    for entry in re.split(r"\n(?=\S)", (ROOT / "requirements.lock").read_text()):
        found.setdefault(entry.split("==")[0].lower(), []).append(entry)
    return found


def test_every_dependency_is_pinned_with_hashes_and_within_what_the_project_asks_for():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    extras = project["optional-dependencies"].values()
    asked = [Requirement(r) for r in (*project["dependencies"], *(one for extra in extras for one in extra))]
    locked = pins()
    for wanted in asked:
        name = re.sub(r"[-_.]+", "-", wanted.name).lower()
        if name == project["name"]:
            continue
        assert name in locked, f"{name} is not in requirements.lock"
        for entry in locked[name]:
            version = re.match(r"[^=]+==(\S+)", entry).group(1)
            assert wanted.specifier.contains(version), f"{name} {version} is not {wanted.specifier}"
    for entries in locked.values():
        assert all(re.search(r"--hash=sha256:[0-9a-f]{64}", entry) for entry in entries)


def test_the_lock_names_no_place_to_fetch_from():
    assert not re.search(r"://|--(extra-)?index|--find-links|@ ", (ROOT / "requirements.lock").read_text())


def test_the_list_of_licences_is_that_of_what_comes_along():
    listing = runpy.run_path(str(ROOT / ".ci" / "licences.py"))
    assert listing["changes"]() == []
    kept = (ROOT / ".licences.md").read_text()
    core = re.findall(r"^\| (\S+) \| .*? \| (.*?) \| core \|", kept, re.MULTILINE)
    assert {"transitions", "pydantic", "prompt-toolkit", "typer"} <= {name for name, _ in core}
    assert [name for name, licence in core if re.search(r"GPL|not stated|\?", licence)] == [], "the core is permissive"
    for name, version in re.findall(r"^\| (\S+) \| (.*?) \|", kept, re.MULTILINE)[2:]:
        assert version.split(", ")[0] in {re.match(r"[^=]+==(\S+)", e).group(1) for e in pins()[name]}
