"""The README's pictures are what the script makes now, valid and small; hues and inks can be read."""

import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest

from guide.edge.screen.style import BADGE_INK, COLOURED, TEXT_HUES, without_hues
from tests.pictures import PICTURES, made

FOLDER = Path(__file__).parents[1] / ".pictures"


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_valid_small_and_what_a_run_of_today_shows(name):
    drawn = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    assert len(drawn.encode()) < 60_000
    root = ElementTree.fromstring(drawn)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    _, _, width, height = (float(v) for v in root.get("viewBox").split())
    for rect in root.iter("{http://www.w3.org/2000/svg}rect"):
        assert float(rect.get("x", 0)) + float(rect.get("width")) <= width
        assert float(rect.get("y", 0)) + float(rect.get("height")) <= height
    assert drawn == made(name), "make it anew: python -m tests.pictures"


def luminance(colour: str) -> float:
    """Relative luminance of sRGB, WCAG 2.1 (definition, as recalled)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_measure_of_contrast_gives_the_published_ends():
    """21:1 for black on white and 1:1 for a colour on itself (WCAG 2.1)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#123456", "#123456") == pytest.approx(1)


@pytest.mark.parametrize("hue", TEXT_HUES)
def test_hues_of_text_stand_out_on_black_and_on_white(hue):
    assert contrast(hue, "#000000") >= 4.5
    assert contrast(hue, "#ffffff") >= 4.5


@pytest.mark.parametrize(("ground", "ink"), BADGE_INK.items())
def test_badges_can_be_read_whatever_the_terminal_is_like(ground, ink):
    assert contrast(ground, ink) >= 4.5
    assert any(f"bg:{ground} {ink}" in style for style in COLOURED.values())


def test_every_hue_in_use_is_one_of_those_that_were_checked():
    used = {w.removeprefix("bg:") for style in COLOURED.values() for w in style.split() if "#" in w}
    assert used == {*TEXT_HUES, *BADGE_INK, *BADGE_INK.values()}
    assert not any("#" in style for style in without_hues().values())
