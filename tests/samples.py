"""The recordings that ship with the tool, as the tests use them."""

import json
from pathlib import Path

SAMPLES = Path(__file__).parents[1] / "audio_samples"
MANIFEST = json.loads((SAMPLES / "manifest.json").read_text(encoding="utf-8"))
