"""Tree files made to harm or by accident: each is refused with a line a person can act on, quickly, and never run."""

import os
import sys

import pytest
import yaml
from hypothesis import given, settings, strategies as st

from guide.core.errors import BadInput, TreeError
from guide.core.lint import lint
from guide.edge.trees import linting, treefile, yamlmarks
from guide.edge.trees.library import Library, file_text, head
from tests.lint_examples import CLEAN

BOMB = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
    f"{chr(98 + i)}: &{chr(98 + i)} [{','.join(['*' + chr(97 + i)] * 9)}]\n" for i in range(9)
)

# What is in the file, and the whole of the first line it is answered with.
REFUSED = {
    "alias": ("version: *v\n", "t.yaml:1: `*v` repeats another part; write it out, aliases are not taken"),
    "anchor": ("version: 1\ndevice: &d x\n", "t.yaml:2: `&d` marks a part for repeating; take it out"),
    "anchor on a map": ("checks: &c\n  a: b\n", "t.yaml:1: `&c` marks a part for repeating; take it out"),
    "alias bomb": (BOMB, "t.yaml:1: `&a` marks a part for repeating; take it out"),
    "merge": ("version: 1\n<<: *base\n", "t.yaml:2: `*base` repeats another part; write it out, aliases are not taken"),
    "python object": (
        "version: !!python/object/apply:os.system [true]\n",
        "t.yaml:1: `tag:yaml.org,2002:python/object/apply:os` is a type tag; take it out, all values are text",
    ),
    "own tag": ("version: !x 1\n", "t.yaml:1: `!x` is a type tag; take it out, all values are text"),
    "number tag": (
        "version: !!int 1\n",
        "t.yaml:1: `tag:yaml.org,2002:int` is a type tag; take it out, all values are text",
    ),
    "duplicate key": ("version: 1\ndevice: a\nversion: 2\n", "t.yaml:3: `version` is already on line 1; keep one"),
    "duplicate inside": ("checks: {a: 1, b: 2, a: 3}\n", "t.yaml:1: `a` is already on line 1; keep one"),
    "two documents": ("version: 1\n---\nversion: 2\n", "t.yaml:2: begins a second document; keep one tree in a file"),
    "list": ("- version\n- 1\n", "t.yaml:1: is not a map of keys; begin with `version: 1`"),
    "word": ("version\n", "t.yaml:1: is not a map of keys; begin with `version: 1`"),
    "empty": ("", "t.yaml:1: is not a map of keys; begin with `version: 1`"),
    "comment only": ("# nothing\n", "t.yaml:1: is not a map of keys; begin with `version: 1`"),
    "list as key": ("? [a, b]\n: c\n", "t.yaml:1: a key is a map or list; use a plain word"),
    "deep list": ("a: " + "[" * 5000, "t.yaml:1: nests deeper than 10; a tree is flatter, check the indentation"),
    "deep map": (
        "".join("  " * i + "a:\n" for i in range(500)),
        "t.yaml:11: nests deeper than 10; a tree is flatter, check the indentation",
    ),
    "huge text": (f"version: 1\ndevice: {'x' * 5000}\n", "t.yaml:2: text of 5000 characters; keep it under 4000"),
    "huge key": (f"{'k' * 900}: 1\n" , "t.yaml:1: the tree has no `version`; add it"),
    "over a mebibyte": (
        "# " + "x" * yamlmarks.MAX_BYTES,
        "t.yaml:1: is over 1 MiB; a tree is a few hundred lines, split it",
    ),
    "control character": ("version: 1\ndevice: a\x07b\n", "t.yaml:2: holds a control character; take it out"),
    "lone surrogate": ("device: \ud800\n", "t.yaml:1: is not UTF-8; save it as UTF-8"),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_a_hostile_file_is_refused_with_one_clear_line(case):
    text, said = REFUSED[case]
    with pytest.raises(TreeError) as refused:
        treefile.read(text, "t.yaml", "t")
    assert str(refused.value).splitlines()[0] == said


@pytest.mark.parametrize(
    ("text", "line"),
    [("version: 1\n\tdevice: a\n", 2), ("checks:\n\ta: 1\n", 2), ("version: 1\ndevice: a: b\n", 2), ("a: [1, 2\n", 2),
     ("a: 'open\n", 2), ("version: 1\n device: x\n", 2), ("a: }\n", 1), ("%YAML 9.9\n", 1), ("a: @x\n", 1),
     ("a: `x`\n", 1)],
)  # fmt: skip
def test_broken_syntax_is_told_at_its_line_with_a_remedy(text, line):
    with pytest.raises(TreeError) as refused:
        treefile.read(text, "t.yaml", "t")
    told = str(refused.value)
    assert told.startswith(f"t.yaml:{line}: ")
    assert "; " in told
    assert len(told.splitlines()) == 1


def test_every_duplicate_key_is_told_not_the_first_only():
    with pytest.raises(TreeError) as refused:
        treefile.read("a: 1\na: 2\nb: {c: 1, c: 2}\na: 3\n", "t.yaml", "t")
    assert [str(f.where) for f in refused.value.findings] == ["t.yaml:2", "t.yaml:3", "t.yaml:4"]


def test_tabs_get_the_remedy_for_tabs():
    with pytest.raises(TreeError, match="use spaces, tabs cannot indent"):
        treefile.read("checks:\n\ta: 1\n", "t.yaml", "t")


def test_an_alias_bomb_is_not_expanded():
    """Refused at its first anchor: nothing of it is built. The counter-proof is that composing it does expand."""
    assert sum(len(v) for v in yaml.load(BOMB, yaml.CBaseLoader).values()) == 90
    with pytest.raises(TreeError) as refused:
        yamlmarks.document(BOMB, "t.yaml")
    assert len(refused.value.findings) == 1


def test_the_parser_without_libyaml_refuses_the_same(monkeypatch):
    """Where PyYAML has no libyaml its own parser runs; the answers must not differ in place."""
    monkeypatch.setattr(yamlmarks, "_Loader", yaml.BaseLoader)
    for text, said in REFUSED.values():
        with pytest.raises(TreeError) as refused:
            treefile.read(text, "t.yaml", "t")
        assert str(refused.value).splitlines()[0] == said
    tree, findings = treefile.load(CLEAN, "t.yaml", "t")
    assert (findings, lint(tree)) == ((), ())


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_windows_newlines_and_a_byte_order_mark_do_no_harm(newline, mark, tmp_path):
    path = tmp_path / "t.yaml"
    path.write_bytes((mark + CLEAN.replace("\n", newline)).encode())
    text = file_text(path)
    tree = treefile.read(text, "t.yaml", "t")
    assert text.encode() == path.read_bytes()
    assert tree.checks["coil"].mark("bands").line == CLEAN.splitlines().index("    measure: ohm") + 3
    assert head(text, "t.yaml", "t").symptom == tree.symptom


def test_text_of_a_tree_is_never_run_or_formatted():
    odd = "{0.__class__} %s ${HOME} $(id) {{7*7}} __import__('os')"
    text = CLEAN.replace("say: The coil is open.", f'say: "{odd}"')
    assert treefile.read(text, "t.yaml", "t").causes["coil-open"].say == odd


@pytest.mark.parametrize(
    "name", ["a b", "../x", "a/b", "-x", "", "é", "a" * 61, "a\\u0000b", "__class__", "{0}", "a:b"]
)  # fmt: skip
def test_names_that_could_mean_something_elsewhere_are_refused(name):
    text = CLEAN.replace("  coil:\n", f'  "{name}":\n', 1)
    with pytest.raises(TreeError):
        treefile.read(text, "t.yaml", "t")


@settings(max_examples=150, deadline=None)
@given(
    st.integers(0, len(CLEAN)),
    st.integers(0, 30),
    st.text(alphabet=" \t\n:{}[],'\"&*!|>%@#-?ab0.\u2028\x85", max_size=6),
)
def test_a_tree_with_any_piece_torn_out_is_loaded_or_refused(at, width, put):
    """Nothing but TreeError comes out, and each finding has a line of the file."""
    text = CLEAN[:at] + put + CLEAN[at + width :]
    try:
        lint(treefile.read(text, "t.yaml", "t"))
        return
    except TreeError as refused:
        found = refused.findings
    assert found
    assert all(1 <= f.where.line <= len(text.splitlines()) + 1 for f in found)


@given(st.text(max_size=200))
def test_any_text_is_a_tree_or_refused(text):
    with pytest.raises(TreeError):
        treefile.read(text, "t.yaml", "t")


# Files and folders


def test_a_file_over_a_mebibyte_is_not_read_whole(tmp_path):
    path = tmp_path / "t.yaml"
    with path.open("wb") as file:
        file.truncate(1 << 40)  # a sparse terabyte: reading it whole would not return
    with pytest.raises(TreeError, match=r"t\.yaml:1: is over 1 MiB; a tree is a few hundred lines, split it"):
        file_text(path)


def test_a_file_that_is_not_utf8_is_told_with_its_line(tmp_path):
    path = tmp_path / "t.yaml"
    path.write_bytes("version: 1\nsymptom: läuft nicht\n".encode("latin-1"))
    with pytest.raises(TreeError, match=r"t\.yaml:2: is not UTF-8; save the file as UTF-8"):
        file_text(path)


def test_what_cannot_be_read_is_told_and_the_other_trees_stay(tmp_path):
    (tmp_path / "trees" / "folder.yaml").mkdir(parents=True)
    (tmp_path / "trees" / "gone.yaml").symlink_to(tmp_path / "nowhere")
    (tmp_path / "trees" / "valve.yaml").write_text(CLEAN)
    library = Library(tmp_path)
    assert "valve" in {h.id for h in library.heads()}
    assert list(library.broken) == ["gone"]
    assert "cannot be read (No such file or directory); check the file and its rights" in str(library.broken["gone"][0])


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="rights do not bind the superuser")
def test_a_file_without_rights_is_told(tmp_path):
    path = tmp_path / "t.yaml"
    path.write_text(CLEAN)
    path.chmod(0)
    with pytest.raises(TreeError, match="cannot be read"):
        file_text(path)


def test_a_loop_of_links_ends(tmp_path):
    (tmp_path / "trees" / "a").mkdir(parents=True)
    (tmp_path / "trees" / "a" / "loop").symlink_to(tmp_path / "trees")
    (tmp_path / "trees" / "a" / "t.yaml").write_text(CLEAN)
    assert [i for i in Library(tmp_path).ids() if i.startswith("a/")] == ["a/t"]


# Lint over files


def test_lint_over_paths_tells_files_folders_and_what_is_broken(tmp_path):
    folder = tmp_path / "trees" / "kind"
    folder.mkdir(parents=True)
    (folder / "good.yaml").write_text(CLEAN)
    (folder / "bad.yaml").write_text(CLEAN.replace("weight: 3", "weight: x", 1))
    (folder / "weak.yaml").write_text(CLEAN.replace("{short: stop,", "{short: stop, shut: stop,"))
    library = Library(tmp_path / "home")
    found = [str(f) for f in linting.linted([tmp_path / "trees"], library).findings]
    assert [f.split("kind/")[1].split(" ")[:2] for f in found] == [
        ["bad.yaml:61:", "T00"], ["good.yaml:4:", "T19"], ["weak.yaml:4:", "T19"], ["weak.yaml:33:", "T06"],
    ]  # fmt: skip
    assert linting.linted([folder / "good.yaml"], library).findings == ()


def test_lint_over_the_shipped_trees_is_clean(tmp_path):
    assert [str(f) for f in linting.linted([], Library(tmp_path)).findings] == []


def test_lint_of_a_path_that_is_not_there_is_bad_input(tmp_path):
    for path, said in ((tmp_path / "gone", "no such file or folder"), (tmp_path, "no .yaml file below this folder")):
        with pytest.raises(BadInput, match=said):
            linting.linted([path], Library(tmp_path))
