"""Finding trees: packaged, at home, in named folders; heads without whole trees; broken ones named."""

import pytest
from test_treefile import SAMPLE, SMALL

from guide.core.errors import BadInput, UnknownTree
from guide.core.symptoms import Head
from guide.edge.trees.library import Library, head


def write(folder, tree_id, text=SMALL):
    path = folder / f"{tree_id}.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_shipped_trees_are_found_by_their_path(tmp_path):
    library = Library(tmp_path)
    assert "fernleaf-gh2/sensor-bus-dead" in library.ids()
    text, path = library.text("fernleaf-gh2/sensor-bus-dead")
    assert text == SAMPLE.read_text()
    assert path.name == "sensor-bus-dead.yaml"
    assert library.tree("fernleaf-gh2/sensor-bus-dead").id == "fernleaf-gh2/sensor-bus-dead"


def test_a_later_folder_replaces_an_earlier_tree(tmp_path):
    home, mine = tmp_path / "home", tmp_path / "mine"
    write(home / "trees", "fernleaf-gh2/sensor-bus-dead")
    write(home / "trees", "valve")
    write(mine, "valve", SMALL.replace("version: 1", "version: 9"))
    library = Library(home, (mine,))
    assert library.tree("fernleaf-gh2/sensor-bus-dead").symptom == "The valve hums"
    assert library.tree("valve").version == 9


def test_an_unknown_tree_is_refused_with_the_nearest_name(tmp_path):
    with pytest.raises(UnknownTree, match="did you mean fernleaf-gh2/sensor-bus-dead"):
        Library(tmp_path).tree("sensor-bus-ded")


def test_a_file_named_instead_of_an_id_is_told_its_id_or_where_to_put_it(tmp_path):
    mine = write(tmp_path / "home" / "trees", "shop/valve")
    elsewhere = write(tmp_path / "desk", "valve").rename(tmp_path / "desk" / "valve.yml")
    library = Library(tmp_path / "home")
    with pytest.raises(UnknownTree, match="that file is the tree shop/valve"):
        library.tree(str(mine))
    with pytest.raises(UnknownTree, match=r"by its id.* below .*home/trees, with a name that ends in \.yaml, or"):
        library.tree(str(elsewhere))


def test_a_folder_that_is_not_there_is_bad_input(tmp_path):
    with pytest.raises(BadInput, match="no such folder of trees"):
        Library(tmp_path, (tmp_path / "gone",)).ids()


def test_listing_ids_opens_no_file(tmp_path):
    write(tmp_path / "trees", "broken", "{{{")
    assert "broken" in Library(tmp_path).ids()


def test_heads_come_without_building_trees(tmp_path):
    write(tmp_path / "trees", "half", "device: D\nsymptom: S\nheard_as: one word\nchecks: {a: *nothing}\n")
    found = {h.id: h for h in Library(tmp_path).heads()}
    assert found["half"] == Head("half", "D", "S", ("one word",))
    assert found["fernleaf-gh2/sensor-bus-dead"].heard_as == ("sensor bus dead", "probes all dashes")


def test_a_head_is_found_however_the_map_is_laid_out():
    flow = "{checks: {}, symptom: S, device: D,\n version: 3}"
    assert head(flow, "t.yaml", "t") == Head("t", "D", "S", version="3")
    quoted = "\"device\": D\n'symptom': S\n"
    assert head(quoted, "t.yaml", "t") == Head("t", "D", "S")
    block = "symptom: |\n  It hums.\n  checks: no\ndevice: >\n  A\n\n  B\nchecks: {}\n"
    assert head(block, "t.yaml", "t").symptom == "It hums.\nchecks: no\n"


def test_broken_trees_are_skipped_and_named(tmp_path):
    write(tmp_path / "trees", "broken", SMALL.replace("weight: 3", "weight: x"))
    (tmp_path / "trees" / "latin.yaml").write_bytes(b"version: 1\ndevice: caf\xe9\n")
    library = Library(tmp_path)
    assert [t.id for t in library.all() if "/" not in t.id] == []
    assert str(library.broken["broken"][0]).endswith(
        "broken.yaml:30: T00 causes coil-open weight wants a number, as in 0.85"
    )
    assert str(library.broken["latin"][0]).endswith("latin.yaml:2: T00 is not UTF-8; save the file as UTF-8")
    assert "latin" not in {h.id for h in library.heads()}


def test_an_installed_package_brings_its_trees_inside(tmp_path, monkeypatch):
    """A wheel holds them in the package; a source tree beside it."""
    package = tmp_path / "site-packages" / "guide"
    write(package / "trees", "from-the-wheel")
    monkeypatch.setattr("guide.__file__", str(package / "__init__.py"))
    assert Library(tmp_path).ids() == ("from-the-wheel",)
