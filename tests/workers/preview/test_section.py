"""The section is taken where it shows the most, and its profile is the groove's own."""

import io
import math

import numpy as np
import pytest
from PIL import Image

from tests.support.specimens import board
from workers.cutting_data.tables import MATERIALS
from workers.preview.appearance import Appearance
from workers.preview.section import draw_section, shown_mm
from workers.preview.section_place import depth_along_mm, section_place
from workers.values.height_field import HeightField

BOARD = board(100, 60, 12)
CELL_MM = 0.1
LOOK = Appearance(material=MATERIALS["basswood"])


def groove(turn_deg: float, deep_mm: float = 2.5, half_angle_deg: float = 45.0) -> np.ndarray:
    """A V-groove through the middle of the board in a direction, as deep as it says."""
    y_mm, x_mm = (np.indices((600, 1000)) + 0.5) * CELL_MM
    turn = math.radians(turn_deg)
    across_mm = np.abs((y_mm - 30) * math.cos(turn) - (x_mm - 50) * math.sin(turn))
    return np.maximum(0, deep_mm - across_mm / math.tan(math.radians(half_angle_deg))).astype(np.float32)


@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 90.0, 120.0])
@pytest.mark.parametrize("half_angle_deg", [30.0, 45.0])
def test_a_groove_is_cut_square_across(turn_deg: float, half_angle_deg: float) -> None:
    """At right angles to it, so that its width is 2 d tan(half the angle): trigonometry of the V."""
    place = section_place(groove(turn_deg, 2.5, half_angle_deg), CELL_MM, BOARD)
    assert abs((place.turn_deg - turn_deg) % 180 - 90) < 8
    assert place.end_mm - place.start_mm == pytest.approx(
        2 * 2.5 * math.tan(math.radians(half_angle_deg)), abs=0.15
    )
    assert place.depth_mm == pytest.approx(2.5, abs=CELL_MM)


def test_the_profile_is_the_grooves_own() -> None:
    """d - |s| / tan(45) at a distance s from its middle, to a cell's share."""
    depth_mm = groove(30.0)
    place = section_place(depth_mm, CELL_MM, BOARD)
    middle_mm = (place.start_mm + place.end_mm) / 2
    along_mm = np.linspace(-4, 4, 81, dtype=np.float32)
    found = depth_along_mm(depth_mm, CELL_MM, place, along_mm + np.float32(middle_mm))
    assert found == pytest.approx(np.maximum(0, 2.5 - np.abs(along_mm)), abs=0.12)


def test_what_leads_to_an_opening_is_no_groove() -> None:
    """Over the tabs of an opening the cut is deep, but not carved: the groove is shown."""
    depth_mm = groove(0.0)
    depth_mm[50:80, 100:400] = 12.3
    depth_mm[50:80, 200:260] = 9.0
    assert section_place(depth_mm, CELL_MM, BOARD).depth_mm == pytest.approx(2.5, abs=CELL_MM)


def test_the_picture_is_to_scale() -> None:
    """At its own dots to the inch the groove's lowest point lies its depth under the face."""
    cut = HeightField(depth_mm=groove(90.0), cell_mm=CELL_MM, left_mm=0, bottom_mm=0)
    image = Image.open(io.BytesIO(draw_section(cut, BOARD, LOOK)))
    px_per_mm = image.info["dpi"][0] / 25.4
    place = section_place(groove(90.0), CELL_MM, BOARD)
    assert px_per_mm == pytest.approx(1100 / shown_mm(place), rel=0.01)
    middle = np.asarray(image.convert("L")).astype(int)[160:, 690:710].min(axis=1)
    first_dark = int(np.argmax(middle < 90)) + 160
    assert (first_dark - 150) / px_per_mm == pytest.approx(2.5, abs=0.15)


@pytest.mark.parametrize("thickness_mm", [6.0, 60.0])
def test_uncut_thin_and_thick_boards_are_drawn(thickness_mm: float) -> None:
    """Foreign programs may carve nothing; a thick board is broken off."""
    flat = HeightField(depth_mm=np.zeros((60, 100), np.float32), cell_mm=1.0, left_mm=0, bottom_mm=0)
    sign = board(100, 60, thickness_mm)
    data = draw_section(flat, sign, Appearance(material=MATERIALS["walnut"], paint=(200, 30, 30)))
    assert data == draw_section(flat, sign, Appearance(material=MATERIALS["walnut"], paint=(200, 30, 30)))
    assert Image.open(io.BytesIO(data)).width == 1400
