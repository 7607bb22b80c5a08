"""Photos that show no sheet are cut to the drawing's own box."""

from __future__ import annotations

import numpy as np
import pytest

from workers.rectification.drawing_box import drawing_box
from workers.rectification.found_picture import draw_found
from workers.rectification.rectify import Rectified, rectify
from workers.values.image import ColourImage, InkCoverage
from workers.values.progress import silent
from workers.values.sheet import KnownLength

HINT = KnownLength(length_mm=50.0, start_px=(100.0, 100.0), end_px=(350.0, 100.0))  # 0.2 mm a pixel


def picture() -> np.ndarray:
    """Return paper with a frame from column 300 to 500 and row 200 to 300, 12 px of ink wide."""
    pixels = np.full((700, 900, 3), 235, np.uint8)
    pixels[200:300, 300:500] = 20
    pixels[212:288, 312:488] = 235
    return pixels


def codes(result: Rectified) -> list[str]:
    return [finding.code for finding in result.findings]


@pytest.mark.parametrize("hint", [HINT, None])
def test_what_is_left_is_the_ink_with_five_millimetres_of_paper(hint: KnownLength | None) -> None:
    """By a known length, and by a scale taken for granted; the report tells the box in the photo."""
    result = rectify([ColourImage(picture())], hint, silent)
    scale, margin_px = (0.2, 25) if hint else (0.1, 50)
    assert result.coverage.mm_per_px == pytest.approx(scale)
    assert result.coverage.pixels.shape == (100 + 2 * margin_px, 200 + 2 * margin_px)
    assert result.record["box_px"] == (300 - margin_px, 200 - margin_px, 500 + margin_px, 300 + margin_px)
    assert result.record["width_mm"] == pytest.approx((200 + 2 * margin_px) * scale)
    assert "cut-to-drawing" in codes(result)


def test_a_picture_that_states_its_scale_keeps_its_rim() -> None:
    """A scan's rim is somebody's choice."""
    result = rectify([ColourImage(picture(), 0.2)], None, silent)
    assert result.coverage.pixels.shape == (700, 900)
    assert "cut-to-drawing" not in codes(result)


def test_the_box_stays_within_the_picture() -> None:
    """Ink in a corner: paper only on the two other sides."""
    pixels = np.full((200, 300), 255, np.uint8)
    pixels[150:, :40] = 0
    assert drawing_box(InkCoverage(pixels=pixels, mm_per_px=0.5)) == (0, 140, 50, 200)


def test_the_picture_of_what_was_found_shows_the_box() -> None:
    """The photo outside of it is darkened, so the two pictures of what was found differ."""
    cut = rectify([ColourImage(picture())], HINT, silent)
    whole = rectify([ColourImage(picture(), 0.2)], None, silent)
    assert draw_found(ColourImage(picture()), cut) != draw_found(ColourImage(picture()), whole)
