"""Settings for every test: no property depends on how fast the machine is. The recognisers, opened once a module."""

import pytest
from hypothesis import settings

settings.register_profile("guide", deadline=None)
settings.load_profile("guide")


@pytest.fixture(scope="module")
def panel(tmp_path_factory):
    pytest.importorskip("pocketsphinx")
    pytest.importorskip("miniaudio")
    from guide.edge.voice.panel import panel

    opened = panel(tmp_path_factory.mktemp("home"))
    yield opened
    opened.close()
