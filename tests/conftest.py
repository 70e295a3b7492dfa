"""Settings for every test: no property depends on how fast the machine is."""

from hypothesis import settings

settings.register_profile("guide", deadline=None)
settings.load_profile("guide")
