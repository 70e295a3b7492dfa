"""For every test: no property depends on how fast the machine is; recognisers opened once a module; a meter."""

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


@pytest.fixture
def meter():
    """A full-featured meter. Whatever a test makes it hear must be on the list of what may be sent."""
    from tests.instruments import MAY_BE_SENT, Meter

    one = Meter()
    yield one
    assert set(one.log) <= MAY_BE_SENT
