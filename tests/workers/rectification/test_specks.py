"""What is taken out of a drawing, and what is not."""

from __future__ import annotations

import numpy as np
import pytest

from workers.rectification.specks import cleaned


def sheet() -> np.ndarray:
    """Return a bare sheet of 100 x 80 mm at 5 px/mm with a stroke across it."""
    coverage = np.full((400, 500), 255, np.uint8)
    coverage[200:210, 50:450] = 0
    return coverage


def test_specks_go_and_dots_stay() -> None:
    """A grain of 0.16 mm2 is dust, a dot of 1 mm2 is a dot."""
    coverage = sheet()
    coverage[100:102, 100:102] = 0
    coverage[300:305, 300:305] = 0
    found = cleaned(coverage, 5.0, rim=True)
    assert found.specks_count == 1
    assert (found.coverage[95:110, 95:110] == 255).all()
    assert (found.coverage[300:305, 300:305] == 0).all()


def test_a_part_that_is_nowhere_dark_is_pencil() -> None:
    """A line that never gets beyond 55 % ink goes, one that reaches 90 % stays."""
    coverage = sheet()
    coverage[100:104, 50:450] = 115
    coverage[300:304, 50:450] = 26
    found = cleaned(coverage, 5.0, rim=True)
    assert found.faint_count == 1
    assert (found.coverage[:150] == 255).all()
    assert (found.coverage[300:304, 50:450] == 26).all()


def test_pinholes_close_and_holes_stay() -> None:
    """A light grain in the ink closes, the eye of a bird stays open."""
    coverage = sheet()
    coverage[50:150, 50:250] = 0
    coverage[70, 70] = 255
    coverage[100:110, 100:110] = 255
    found = cleaned(coverage, 5.0, rim=True)
    assert found.pinholes_count == 1
    assert found.coverage[70, 70] == 0
    assert (found.coverage[100:110, 100:110] == 255).all()


def test_a_thumb_on_the_rim_goes_and_a_drawing_that_runs_off_stays() -> None:
    """What reaches in 12 mm is a thing on the sheet; a bar 40 mm deep is drawn, and said to run off."""
    coverage = sheet()
    coverage[0:60, 100:160] = 0
    coverage[250:400, 200:400] = 0
    found = cleaned(coverage, 5.0, rim=True)
    assert found.rim_count == 1
    assert (found.coverage[:70] == 255).all()
    assert found.runs_off
    assert (found.coverage[260:390, 210:390] == 0).all()


def framed(coverage: np.ndarray) -> np.ndarray:
    """Draw a frame 1.6 mm wide, 8 mm inside of the rim."""
    coverage[40:360, 40:460] = 0
    coverage[48:352, 48:452] = 255
    return coverage


def test_a_frame_that_a_coin_touches_stays_and_the_coin_goes() -> None:
    """It is as near to the rim as a thing, but long; what hides it leaves a gap, and is told."""
    coverage = framed(sheet())
    coverage[0:44, 100:200] = 0
    found = cleaned(coverage, 5.0, rim=True)
    assert (found.touched_count, found.rim_count, found.runs_off) == (1, 0, False)
    assert (found.coverage[:35, 110:190] == 255).all()
    assert (found.coverage[41:47, 230:450] == 0).all()
    assert (found.coverage[354:358, 50:450] == 0).all()


def test_a_thin_thing_that_touches_a_frame_stays_with_it() -> None:
    """Nothing tells a pen's refill from a line that runs off, so both stay, and that is told."""
    coverage = framed(sheet())
    coverage[0:44, 100:110] = 0
    found = cleaned(coverage, 5.0, rim=True)
    assert found.touched_count == 1
    assert (found.coverage[5:35, 102:108] == 0).all()


def test_a_ruler_along_the_rim_goes() -> None:
    """It is long, but on the rim with all of its length."""
    coverage = sheet()
    coverage[:, 0:40] = 0
    found = cleaned(coverage, 5.0, rim=True)
    assert found.rim_count == 1
    assert (found.coverage[:, :48] == 255).all()


def test_a_picture_without_sheet_keeps_what_touches_its_frame() -> None:
    """There the frame is the drawing's own."""
    coverage = sheet()
    coverage[0:60, 100:160] = 0
    found = cleaned(coverage, 5.0, rim=False)
    assert found.rim_count == 0
    assert (found.coverage[5:50, 110:150] == 0).all()
    assert found.runs_off


def test_the_share_of_ink_is_counted() -> None:
    """400 x 10 of 400 x 500 pixels."""
    assert cleaned(sheet(), 5.0, rim=True).ink_fraction == pytest.approx(400 * 10 / (400 * 500))
