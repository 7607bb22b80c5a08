"""From photos of made-up sheets to coverage whose edges are where they were drawn."""

from __future__ import annotations

import json
import math

import cv2
import numpy as np
import pytest

from tests.support.drawn_sheets import DrawnSheet, as_srgb, bar, crossings, disc, square_to
from workers.errors import NoDrawingFoundError, ParameterOutOfRangeError, SheetNotFoundError
from workers.rectification.rectify import Rectified, rectify
from workers.values.finding import Severity
from workers.values.image import ColourImage
from workers.values.progress import silent
from workers.values.sheet import KnownLength, SheetSize

A5 = SheetSize(width_mm=148.0, height_mm=210.0)
CORNERS = np.array(
    [(113.1, 48.9), (628.4, 80.6), (679.1, 840.4), (64.6, 865.6)]
)  # by a phone's lens, tilted 10 deg
SPOT = (60.0, 80.0, 25.0)  # x, y, radius, mm


def drawn(**changes: object) -> DrawnSheet:
    """Return an A5 sheet with a spot and a bar, upright, aslant on a dark table."""
    given: dict[str, object] = {
        "width_mm": 148.0,
        "height_mm": 210.0,
        "corners_px": CORNERS,
        "columns": 750,
        "rows": 940,
        "ink": (disc(*SPOT), bar(30.0, 150.0, 120.0, 156.0)),
    }
    return DrawnSheet(**{**given, **changes})  # type: ignore[arg-type]


def slope(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return light that falls to 60 % from one corner to the other."""
    return 1.0 - 0.4 * (x + y) / 2


def read(photo: np.ndarray, size: SheetSize = A5) -> Rectified:
    return rectify([ColourImage(photo)], size, silent)


def spot_of(result: Rectified) -> tuple[float, float, float]:
    """Return middle and radius of the largest spot, in mm, from its edge's crossings and its area."""
    scale = result.coverage.mm_per_px
    window = tuple(slice(round((middle - 30) / scale), round((middle + 30) / scale)) for middle in (80, 60))
    ink = (255.0 - result.coverage.pixels[window]) / 255.0
    y, x = np.mgrid[window] + 0.5
    area = ink.sum()
    return (
        float((ink * x).sum() / area * scale),
        float((ink * y).sum() / area * scale),
        math.sqrt(area / math.pi) * scale,
    )


@pytest.fixture(scope="module")
def plain() -> Rectified:
    """The sheet in sloping light, nothing in the way."""
    return read(drawn().photograph(slope))


def test_the_corners_are_found_to_a_fraction_of_a_pixel(plain: Rectified) -> None:
    """TL, TR, BR, BL of the upright picture, within 0.1 px of where the camera put them."""
    found = np.array(plain.record["corners_px"])
    assert np.linalg.norm(found - CORNERS, axis=1).max() < 0.1


def test_the_drawing_is_at_true_scale_and_place(plain: Rectified) -> None:
    """Middle within 0.02 mm, radius within 0.03 mm of what was drawn."""
    assert spot_of(plain) == pytest.approx(SPOT, abs=0.03)


def test_the_half_way_level_lies_on_the_edge(plain: Rectified) -> None:
    """The spot's middle: within 0.1 px of 35 and 85 mm. The bar: its width within 0.1 px, its place 0.15."""
    scale = plain.coverage.mm_per_px
    across = crossings(plain.coverage.pixels[round(80.0 / scale - 0.5)])
    assert across * scale == pytest.approx([35.0, 85.0], abs=0.1 * scale)
    down = crossings(plain.coverage.pixels[round(140.0 / scale) :, round(75.0 / scale)]) + round(
        140.0 / scale
    )
    assert down * scale == pytest.approx([150.0, 156.0], abs=0.15 * scale)
    assert (down[1] - down[0]) * scale == pytest.approx(6.0, abs=0.1 * scale)


def test_the_sheet_covers_the_raster(plain: Rectified) -> None:
    """The raster is the sheet, at about the photo's own resolution, and no finer."""
    rows, columns = plain.coverage.pixels.shape
    scale = plain.coverage.mm_per_px
    assert (columns * scale, rows * scale) == pytest.approx((148.0, 210.0), abs=scale)
    assert 3.0 < 1 / scale < 4.6


def test_a_lying_sheet_is_told_from_an_upright_one() -> None:
    """The size is given upright; the picture says that it lies."""
    lying = drawn(
        width_mm=210.0,
        height_mm=148.0,
        corners_px=np.array([(60.0, 101.0), (860.0, 53.0), (829.0, 690.0), (92.0, 640.0)]),
        columns=940,
        rows=750,
    )
    rows, columns = read(lying.photograph()).coverage.pixels.shape
    assert columns > rows


def test_something_over_the_edges_does_not_move_them() -> None:
    """Three discs over a side and two corners: corners within 0.5 px, nothing of them left in the drawing."""
    covered = drawn(covers=((148.0, 120.0, 9.0), (2.0, 3.0, 10.0), (146.0, 207.0, 8.0)))
    result = read(covered.photograph(slope))
    assert np.linalg.norm(np.array(result.record["corners_px"]) - CORNERS, axis=1).max() < 0.5
    assert spot_of(result) == pytest.approx(SPOT, abs=0.1)
    assert "rim-parts-left-out" in {finding.code for finding in result.findings}


def test_a_corner_outside_of_the_picture_is_worked_out() -> None:
    """The sides that are seen meet there; the report says so."""
    moved = CORNERS - np.array([70.0, 0.0])
    result = read(drawn(corners_px=moved).photograph())
    assert np.linalg.norm(np.array(result.record["corners_px"]) - moved, axis=1).max() < 0.5
    assert "corner-outside" in {finding.code for finding in result.findings}


@pytest.mark.parametrize("table", [0.02, 0.3, 0.55])
def test_the_table_may_be_dark_grey_or_almost_white(table: float) -> None:
    """A table of 55 % against paper of 80 %: still the same corners."""
    result = read(drawn(table=table).photograph(slope))
    assert np.linalg.norm(np.array(result.record["corners_px"]) - CORNERS, axis=1).max() < 0.3


@pytest.mark.parametrize("check_mm", [12.0, 17.0])
def test_the_table_may_be_a_chequered_cloth(check_mm: float) -> None:
    """Stripes nearly along the sheet's sides, dark where they cross: corners within 2 px, half a mm."""
    dark, grey, pale = (drawn(table=table).photograph(slope) for table in (0.06, 0.3, 0.75))
    row, column = np.mgrid[0:940, 0:750] + 0.5
    places = np.linalg.inv(square_to(CORNERS)) @ np.stack([column, row, np.ones_like(row)]).reshape(3, -1)
    across, down = (places[:2] / places[2]).reshape(2, 940, 750) * np.array([148.0, 210.0])[:, None, None]
    across, down = across + 0.1 * down, down - 0.1 * across
    both = np.floor(across / check_mm) % 2 + np.floor(down / check_mm) % 2
    result = read(np.choose(both.astype(int)[:, :, None], (pale, grey, dark)).astype(np.uint8))
    assert np.linalg.norm(np.array(result.record["corners_px"]) - CORNERS, axis=1).max() < 2.0


def test_a_frame_drawn_on_the_sheet_is_not_the_sheet() -> None:
    """A rectangle of the same shape, 8 mm inside, has the same sides; what lies beyond it is paper."""
    frame = (
        bar(8, 11.35, 140, 13.35), bar(8, 196.65, 140, 198.65), bar(8, 11.35, 10, 198.65),
        bar(138, 11.35, 140, 198.65),
    )  # fmt: skip
    result = read(drawn(ink=frame).photograph())
    assert np.linalg.norm(np.array(result.record["corners_px"]) - CORNERS, axis=1).max() < 0.3


def test_the_sharpest_of_several_photos_is_chosen() -> None:
    """A blurred one, one with no sheet, a sharp one and a dark one: the sharp one, with figures for all."""
    sharp = drawn().photograph()
    blurred = cv2.GaussianBlur(sharp, (0, 0), 3.0)
    nothing = np.full_like(sharp, 90)
    nothing[::7] = 120
    dark = drawn().photograph(lambda x, y: np.full_like(x, 0.03))
    result = rectify([ColourImage(p) for p in (blurred, nothing, sharp, dark)], A5, silent)
    assert result.chosen == 2
    photos = result.record["photos"]
    assert isinstance(photos, list)
    assert [entry["sheet_found"] for entry in photos] == [True, False, True, True]
    assert photos[0]["edge_width_mm"] > 2 * photos[2]["edge_width_mm"]
    assert all(entry["reason"] for entry in photos)
    assert photos[2]["rank"] == 1
    assert photos[1]["rank"] == 4
    assert "most of it by its blur" in photos[0]["reason"]
    assert sum(photos[0]["expected_errors_mm"].values()) == pytest.approx(
        photos[0]["expected_error_mm"], abs=0.003
    )


@pytest.mark.parametrize(
    ("light", "blur", "code"),
    [
        (0.10, 0.0, "too-dark"),
        (1.0, 4.0, "blurred"),
        (1.0, 0.0, None),
    ],
)
def test_what_is_wrong_with_a_photo_is_told_with_what_helps(
    light: float, blur: float, code: str | None
) -> None:
    """A tenth of the light, and a lens out of focus: one warning each; a good photo has none."""
    photo = drawn().photograph(lambda x, y: np.full_like(x, light))
    blurred = cv2.GaussianBlur(photo, (0, 0), blur) if blur else photo
    warnings = [f for f in read(np.asarray(blurred, np.uint8)).findings if f.severity is Severity.WARNING]
    assert (code in {f.code for f in warnings}) if code else not warnings
    assert all(f.remedy for f in warnings)


def test_no_sheet_is_said_and_not_guessed() -> None:
    """A table without a sheet is an error that tells what to do."""
    grain = np.random.default_rng(5).normal(0.2, 0.03, (600, 800))
    photo = as_srgb(cv2.GaussianBlur(grain, (0, 0), 2.0) + np.linspace(0, 0.2, 800))
    with pytest.raises(SheetNotFoundError) as caught:
        read(photo)
    assert caught.value.field == "/inputs/photos/0"
    assert "darker table" in (caught.value.remedy or "")


@pytest.mark.parametrize("value", [0, 255, 128])
@pytest.mark.parametrize("hint", [A5, None, KnownLength(length_mm=50, start_px=(5, 5), end_px=(300, 5))])
def test_a_picture_of_one_tone_holds_no_drawing(value: int, hint: SheetSize | KnownLength | None) -> None:
    """White, black and grey all over."""
    with pytest.raises(NoDrawingFoundError):
        rectify([ColourImage(np.full((400, 320, 3), value, np.uint8))], hint, silent)


def test_a_bare_sheet_on_a_table_holds_no_drawing() -> None:
    """The sheet is found, and nothing on it."""
    with pytest.raises(NoDrawingFoundError, match="no ink"):
        read(drawn(ink=()).photograph(slope))


def flat_picture() -> np.ndarray:
    """Return a scan of the A5 sheet at 5 px/mm: light added up in each pixel, no table."""
    frame = np.array([(0.0, 0.0), (740.0, 0.0), (740.0, 1050.0), (0.0, 1050.0)])
    return drawn(corners_px=frame, columns=740, rows=1050).photograph()


def test_a_scan_is_its_own_sheet() -> None:
    """Bare rims and the sheet's shape: the frame is the sheet's edge."""
    result = read(flat_picture())
    assert result.coverage.mm_per_px == pytest.approx(0.2, rel=1e-6)
    assert spot_of(result) == pytest.approx(SPOT, abs=0.02)


def test_a_scan_mixed_of_values_is_read_by_its_values() -> None:
    """Drawing programs mix values at an edge, not light; half-way is then half the value (radius 0.02 mm)."""
    scan = flat_picture()[:, :, 0].astype(float)
    light = np.where(scan / 255 <= 0.04045, scan / 255 / 12.92, ((scan / 255 + 0.055) / 1.055) ** 2.4)
    share = (light - light.min()) / (light.max() - light.min())
    mixed = np.round(20 + share * 230).astype(np.uint8)
    result = read(np.repeat(mixed[:, :, None], 3, axis=2))
    assert spot_of(result)[2] == pytest.approx(SPOT[2], abs=0.02)


def test_without_a_sheet_the_picture_is_the_drawing_at_its_own_scale() -> None:
    """The file's resolution counts; without one 0.1 mm a pixel is taken, and said."""
    pixels = flat_picture()
    stated = rectify([ColourImage(pixels, 0.2)], None, silent)
    assert stated.coverage.mm_per_px == pytest.approx(0.2)
    assert spot_of(stated) == pytest.approx(SPOT, abs=0.02)
    assumed = rectify([ColourImage(pixels)], None, silent)
    assert assumed.coverage.mm_per_px == pytest.approx(0.1)
    assert [finding.code for finding in assumed.findings] == ["scale-assumed", "cut-to-drawing"]


def test_a_known_length_sets_the_scale() -> None:
    """50 mm over 250 pixels is 0.2 mm a pixel."""
    hint = KnownLength(length_mm=50.0, start_px=(100.0, 100.0), end_px=(250.0, 300.0))
    result = rectify([ColourImage(flat_picture())], hint, silent)
    assert result.coverage.mm_per_px == pytest.approx(0.2)
    assert "known-length-used" in {finding.code for finding in result.findings}


@pytest.mark.parametrize("end_px", [(103.0, 100.0), (5000.0, 100.0)])
def test_a_known_length_that_measures_nothing_is_refused(end_px: tuple[float, float]) -> None:
    """Too short to measure by, or outside of the picture."""
    hint = KnownLength(length_mm=50.0, start_px=(100.0, 100.0), end_px=end_px)
    with pytest.raises(ParameterOutOfRangeError) as caught:
        rectify([ColourImage(flat_picture())], hint, silent)
    assert caught.value.field == "/inputs/sheet/between"


def test_no_photo_is_refused() -> None:
    """One to eight are wanted."""
    with pytest.raises(ParameterOutOfRangeError):
        rectify([], A5, silent)


def test_the_record_is_json_and_the_same_each_time(plain: Rectified) -> None:
    """Same photo, same report, same coverage."""
    again = read(drawn().photograph(slope))
    assert json.dumps(again.record) == json.dumps(plain.record)
    assert np.array_equal(again.coverage.pixels, plain.coverage.pixels)


def test_a_phone_that_moved_is_told_with_how_far() -> None:
    """Moved by 10 px aslant while the shutter was open, at 3.5 px/mm: 'blurred', by about those 10 px."""
    path = np.zeros((11, 11), np.float32)
    cv2.line(path, (1, 1), (8, 8), 1.0)
    moved = np.clip(cv2.filter2D(drawn().photograph().astype(np.float32), -1, path / path.sum()), 0, 255)
    result = read(moved.astype(np.uint8))
    assert "blurred" in {finding.code for finding in result.findings}
    photos = result.record["photos"]
    assert isinstance(photos, list)
    assert 7.0 < photos[0]["smear_mm"] * photos[0]["px_per_mm"] < 14.0
