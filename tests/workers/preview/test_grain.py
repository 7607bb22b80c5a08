"""Grain runs as the board's does, is the same at the same place, and goes on into the wood."""

import numpy as np
import pytest

from workers.cutting_data.tables import MATERIALS
from workers.preview.appearance import Appearance
from workers.preview.grain import end_grain, grain, plies
from workers.preview.part import Part

PART = Part(left_mm=0, top_mm=60, rows=240, columns=240, mm_per_px=0.25)
FLAT = np.zeros((240, 240), np.float32)


def direction_deg(brightness: np.ndarray) -> float:
    """Along which a picture changes least: the lesser axis of its structure tensor (a closed form)."""
    down, across = np.gradient(brightness.astype(float))
    up = -down
    return float(np.degrees(np.arctan2(2 * (across * up).sum(), (across**2 - up**2).sum())) / 2 + 90) % 180


@pytest.mark.parametrize("name", ["basswood", "western-redcedar", "walnut", "white-oak", "birch-plywood"])
@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 90.0, 135.0])
def test_grain_runs_as_the_board_says(name: str, turn_deg: float) -> None:
    """Measured in the picture by its structure tensor, to eight degrees: rings wander, pores are small."""
    seen = direction_deg(grain(Appearance(material=MATERIALS[name], grain_deg=turn_deg), PART, FLAT))
    assert abs((seen - turn_deg + 90) % 180 - 90) < 8


@pytest.mark.parametrize("name", ["foamed-pvc", "mdf", "hdu"])
def test_what_has_no_grain_is_even(name: str) -> None:
    """Plastic, fibreboard and foam: within three parts in a hundred, and no ends of fibres."""
    look = Appearance(material=MATERIALS[name])
    assert np.abs(grain(look, PART, FLAT) - 1).max() < 0.03
    assert (end_grain(look.material, FLAT, FLAT) == 1).all()
    assert (plies(look.material, FLAT) == 1).all()


@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 90.0])
def test_a_closer_look_at_a_place_finds_the_same_grain(turn_deg: float) -> None:
    """A part of the picture, made alone, is that part of it; lattices are stretched to whole pixels."""
    look = Appearance(material=MATERIALS["walnut"], grain_deg=turn_deg)
    whole = grain(look, PART, FLAT)
    inner = Part(left_mm=20, top_mm=40, rows=80, columns=80, mm_per_px=0.25)
    alone = grain(look, inner, FLAT[:80, :80])
    assert np.corrcoef(alone.ravel(), whole[80:160, 80:160].ravel())[0, 1] > 0.7


def test_in_a_groove_rings_lie_elsewhere_than_on_the_face() -> None:
    """They lean: what is cut deeper shows the ring beside; where nothing is cut nothing changes."""
    look = Appearance(material=MATERIALS["western-redcedar"])
    cut_mm = FLAT.copy()
    cut_mm[:, 100:140] = 3
    difference = np.abs(grain(look, PART, cut_mm) - grain(look, PART, FLAT))
    assert difference[:, :100].max() == 0
    assert difference[:, 100:140].max() > 0.05
