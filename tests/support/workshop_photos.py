"""Photos of inked sheets as they lie in a workshop: folded, crumpled, in glare, in coloured light, dark.

A sheet is painted at 8 px/mm with exact coverage, shaded by the slope of its own surface, seen by a camera
without a lens's faults, lit, blurred, given a sensor's noise and cut off where the sensor is full. All of it
is made up from the laws of light (Lambert's for paper, a mirror's lobe for glare) and a seed; nothing is
taken from what is tested.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.support.drawn_sheets import square_to
from tests.support.exact_coverage import covered

DRAWINGS = Path(__file__).parent / "drawings"
PX_PER_MM = 8
PAPER, INK = 0.84, 0.04  # linear reflectance
TABLE = (0.16, 0.10, 0.06)  # red, green, blue: oiled wood

Rings = list[NDArray[np.float64]]
Array = NDArray[np.float32]


@dataclass(frozen=True, kw_only=True)
class Fold:
    """A straight fold over the whole sheet, pressed flat again but for a little."""

    angle_deg: float  # 0 runs across, 90 down
    through: tuple[float, float] = (0.5, 0.5)  # a point of it, 0..1 of the sheet's sides
    lost: float = 0.5  # of the light, in the dark line along its middle; below 0 it is a bright one
    width_mm: float = 0.4  # of that line
    slope: float = 0.05  # of the paper beside it, up on one side and down on the other


@dataclass(frozen=True, kw_only=True)
class Glare:
    """A lamp mirrored in the sheet."""

    at: tuple[float, float] = (0.5, 0.5)
    radius_mm: float = 22.0
    light: tuple[float, float, float] = (3.0, 3.0, 3.0)  # red, green, blue, times what the sensor holds


@dataclass(frozen=True, kw_only=True)
class Pencil:
    """A line of graphite: grey, grainy, soft at its edge."""

    points: tuple[tuple[float, float], ...]  # mm
    darkness: float = 0.4  # of the light that full ink takes
    width_mm: float = 0.5


@dataclass(frozen=True, kw_only=True)
class Scene:
    """How a sheet is drawn, treated, lit and photographed."""

    ink: float = INK
    fine_lines: tuple[Pencil, ...] = ()  # of a pen: even, sharp; part of the drawing
    pencil: tuple[Pencil, ...] = ()
    folds: tuple[Fold, ...] = ()
    crumple: float = 0.0  # deviation of the facets' slope
    facets_count: int = 40
    glare: tuple[Glare, ...] = ()
    shade: float = 0.0  # of the light lost right of the sheet's middle
    gains: tuple[float, float, float] = (1.0, 1.0, 1.0)
    exposure: float = 0.85  # of full, for a white sheet
    falloff: float = 0.25
    blur_px: float = 0.7
    noise: float = 0.004  # deviation at full light; of shot noise, so its root
    clutter: int = 0  # things on the table
    seed: int = 1
    long_side_px: int = 1500
    tilt_deg: float = 10.0
    from_deg: float = 70.0  # the side from which the camera looks: 0 the right, 90 the foot
    turn_deg: float = 2.0
    fill: float = 0.86  # of the picture, how much the sheet spans
    moved: tuple[float, float] = (0.0, 0.0)  # of the picture's sides, to the right and down


def rings_of(truth: Path) -> tuple[Rings, tuple[float, float]]:
    """Return a drawing's outlines and its sheet's sides, mm, y down, from a truth file."""
    record = json.loads(truth.read_text())
    rings = [np.array(ring, np.float64)[:-1] for part in record["polygons"] for ring in part]
    return rings, (record["sheet_width_mm"], record["sheet_height_mm"])


def photographed(rings: Rings, sides_mm: tuple[float, float], scene: Scene) -> NDArray[np.uint8]:
    """Return the photo, (rows, columns, 3), red first, its long side the sheet's."""
    rng = np.random.default_rng(scene.seed)
    sheet = _sheet(rings, sides_mm, scene, rng)
    sides_px = (scene.long_side_px, round(scene.long_side_px * 0.75))
    columns, rows = sides_px if sides_mm[0] > sides_mm[1] else sides_px[::-1]
    seen = _looked_at(sheet, scene, columns, rows, rng)
    return _developed(seen, scene, rng)


def true_ink(rings: Rings, scene: Scene, shape: tuple[int, ...], mm_per_px: float) -> NDArray[np.bool_]:
    """Return what is drawn in ink, on a raster of the sheet."""
    drawn = covered([ring / mm_per_px for ring in rings], *shape[:2])
    for line in scene.fine_lines:
        drawn = np.minimum(drawn, np.rint(255 * (1 - _line(line, shape[:2], 1 / mm_per_px)))).astype(np.uint8)
    return np.asarray(drawn < 128)


def corners_px(shape: float, scene: Scene, columns: int, rows: int) -> NDArray[np.float64]:
    """Return where a phone's camera sees the corners of a sheet ``shape`` times as wide as it is high.

    The camera is a pinhole whose focal length is 0.72 of the picture's long side, a phone's 26 mm lens.
    """
    tilt, way, turn = (math.radians(v) for v in (scene.tilt_deg, scene.from_deg, scene.turn_deg))
    eye = np.array([math.sin(tilt) * math.cos(way), math.sin(tilt) * math.sin(way), -math.cos(tilt)])
    right = np.cross([0.0, 1.0, 0.0], -eye)
    right /= np.linalg.norm(right)
    down = np.cross(-eye, right)
    axes = np.stack([math.cos(turn) * right + math.sin(turn) * down,
                     math.cos(turn) * down - math.sin(turn) * right, -eye])  # fmt: skip
    flat = np.array([(-shape, -1, 0), (shape, -1, 0), (shape, 1, 0), (-shape, 1, 0)]) / 2
    focal = 0.72 * max(columns, rows)
    away = 2.0
    for _ in range(40):
        seen = (flat - away * eye) @ axes.T
        points = focal * seen[:, :2] / seen[:, 2:]
        spread = (np.ptp(points, axis=0) / (columns, rows)).max()
        away *= spread / scene.fill
    points -= (points.max(axis=0) + points.min(axis=0)) / 2
    return np.asarray(points + (np.array([0.5, 0.5]) + scene.moved) * (columns, rows))


def _sheet(rings: Rings, sides_mm: tuple[float, float], scene: Scene, rng: np.random.Generator) -> Array:
    """Return the light that the sheet throws back, 1 for a white one, (rows, columns, 3)."""
    shape = (round(sides_mm[1] * PX_PER_MM), round(sides_mm[0] * PX_PER_MM))
    fibre = _spots(rng, shape, 1.6) * 0.6 + _spots(rng, shape, 4) * 0.4
    paper = PAPER * (1 + 0.006 * fibre)
    for stroke in scene.pencil:
        grain = np.clip(0.85 - 0.25 * fibre, 0.2, 1.1)
        soft = cv2.GaussianBlur(_line(stroke, shape, PX_PER_MM), (0, 0), 0.08 * PX_PER_MM)
        paper *= 1 - stroke.darkness * (1 - INK / PAPER) * soft * grain
    ink = 1 - covered([ring * PX_PER_MM for ring in rings], *shape).astype(np.float32) / 255
    paper = paper * (1 - ink) + scene.ink * ink
    for line in scene.fine_lines:
        own = _line(line, shape, PX_PER_MM)
        paper = paper * (1 - own) + (PAPER + line.darkness * (INK - PAPER)) * own
    return np.asarray((paper * _shading(shape, sides_mm, scene, rng))[:, :, None], np.float32)


def _shading(
    shape: tuple[int, int], sides_mm: tuple[float, float], scene: Scene, rng: np.random.Generator
) -> Array:
    """Return the light on a sheet that is not flat: a lamp 35 degrees over the table, from the upper left."""
    y, x = (np.mgrid[0 : shape[0], 0 : shape[1]] + 0.5).astype(np.float32) / PX_PER_MM
    shade = np.ones(shape, np.float32)
    lamp = np.array([-0.8, -0.6]) / math.tan(math.radians(35))
    for fold in scene.folds:
        angle = math.radians(fold.angle_deg)
        normal = np.array([-math.sin(angle), math.cos(angle)])
        off = (x - fold.through[0] * sides_mm[0]) * normal[0] + (y - fold.through[1] * sides_mm[1]) * normal[
            1
        ]
        slope = fold.slope * np.tanh(off / 0.5) * np.exp(-np.abs(off) / 25.0)
        shade *= 1 + slope * float(normal @ lamp)
        shade *= 1 - fold.lost * np.exp(-((off / (0.6 * fold.width_mm)) ** 2))
    if scene.crumple:
        shade *= _crumpled(x, y, sides_mm, scene, lamp, rng)
    return shade


def _crumpled(
    x: Array,
    y: Array,
    sides_mm: tuple[float, float],
    scene: Scene,
    lamp: NDArray[np.float64],
    rng: np.random.Generator,
) -> Array:
    """Return the light on facets about random points, their borders pressed into thin lines."""
    points = rng.uniform(0, 1, (scene.facets_count, 2)) * sides_mm
    nearest, second = np.full(x.shape, np.inf, np.float32), np.full(x.shape, np.inf, np.float32)
    slope = np.zeros(x.shape, np.float32)
    for px, py in points:
        away = np.hypot(x - px, y - py)
        slope = np.where(away < nearest, rng.normal(0, scene.crumple, 2) @ lamp, slope)
        second = np.minimum(np.maximum(away, nearest), second)
        nearest = np.minimum(away, nearest)
    slope = np.asarray(cv2.GaussianBlur(slope.astype(np.float32), (0, 0), 0.35 * PX_PER_MM), np.float32)
    border = np.exp(-(((second - nearest) / 0.5) ** 2)) * np.sign(slope) * min(1.0, 4 * scene.crumple)
    return np.asarray(np.clip(1 + slope, 0.25, 2.0) * (1 - 0.35 * border), np.float32)


def _looked_at(sheet: Array, scene: Scene, columns: int, rows: int, rng: np.random.Generator) -> Array:
    """Return the light that comes to the camera from sheet and table."""
    corners = corners_px(sheet.shape[1] / sheet.shape[0], scene, columns, rows)
    to_photo = square_to(corners) @ np.diag([1 / sheet.shape[1], 1 / sheet.shape[0], 1.0])
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]])
    matrix = np.linalg.inv(half) @ to_photo @ half
    double = np.diag([2.0, 2.0, 1.0])
    fine = np.array(
        [[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]]
    )  # a finer raster, then its mean: no steps at edges
    matrix = np.linalg.inv(fine) @ double @ fine @ matrix
    size = (2 * columns, 2 * rows)
    laid = cv2.warpPerspective(sheet, matrix, size, flags=cv2.INTER_AREA, borderMode=cv2.BORDER_REPLICATE)
    mask = cv2.warpPerspective(np.ones(sheet.shape[:2], np.float32), matrix, size, flags=cv2.INTER_LINEAR)
    wood = _table(rows, columns, scene, rng)
    laid = cv2.resize(laid, (columns, rows), interpolation=cv2.INTER_AREA)[:, :, None]
    mask = cv2.resize(mask, (columns, rows), interpolation=cv2.INTER_AREA)[:, :, None]
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float32) + 0.5
    light = 1 - scene.falloff * (x / columns + y / rows) / 2
    if scene.shade:
        side = corners.mean(axis=0)[0] + 40 * np.sin(y / 90)
        light *= 1 - scene.shade * np.clip((x - side) / 12 + 0.5, 0, 1)
    seen = (laid * mask + wood * (1 - mask)) * light[:, :, None] * np.array(scene.gains, np.float32)
    back = np.linalg.inv(square_to(corners))
    depth = back[2, 0] * x + back[2, 1] * y + back[2, 2]
    for lamp in scene.glare:
        u, v = ((back[k, 0] * x + back[k, 1] * y + back[k, 2]) / depth - lamp.at[k] for k in (0, 1))
        long_mm = sheet.shape[0] / PX_PER_MM, sheet.shape[1] / PX_PER_MM
        lobe = np.exp(-((u * long_mm[1]) ** 2 + (v * long_mm[0]) ** 2) / (2 * (lamp.radius_mm / 2) ** 2))
        seen = seen + lobe[:, :, None] * np.array(lamp.light, np.float32)
    return np.asarray(seen, np.float32)


def _table(rows: int, columns: int, scene: Scene, rng: np.random.Generator) -> Array:
    grain = 1 + 0.25 * _spots(rng, (rows, columns), 3.0)
    wood = grain[:, :, None] * np.array(TABLE, np.float32)
    for _ in range(scene.clutter):
        middle = rng.uniform(0, 1, 2) * (columns, rows)
        box = cv2.boxPoints(
            (
                tuple(map(float, middle)),
                tuple(map(float, rng.uniform(60, 420, 2))),
                float(rng.uniform(0, 180)),
            )
        )
        colour = tuple(float(v) for v in rng.uniform(0.02, 0.7, 3))
        cv2.fillPoly(wood, [box.astype(np.int32)], colour, cv2.LINE_AA)
    return np.asarray(np.clip(wood, 0.004, 1), np.float32)


def _developed(light: Array, scene: Scene, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Return sRGB values (IEC 61966-2-1) after a JPEG, as a sensor and its noise reduction leave them."""
    seen = cv2.GaussianBlur(light, (0, 0), scene.blur_px) * (scene.exposure / PAPER)
    grain = rng.standard_normal(seen.shape, np.float32)
    grain = 0.4 * grain + 0.8 * cv2.GaussianBlur(grain, (0, 0), 0.9)
    seen = np.clip(seen + scene.noise * np.sqrt(np.clip(seen, 0.01, 1)) * grain, 0, 1)
    value = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * np.maximum(seen, 1e-6) ** (1 / 2.4) - 0.055)
    blue_first = np.ascontiguousarray((value * 255 + 0.5).astype(np.uint8)[:, :, ::-1])
    _, data = cv2.imencode(".jpg", blue_first, [cv2.IMWRITE_JPEG_QUALITY, 88])
    return np.asarray(cv2.imdecode(data, cv2.IMREAD_COLOR_RGB), np.uint8)


def _line(line: Pencil, shape: Sequence[int], px_per_mm: float) -> Array:
    """Return how much of each pixel a line covers, by its distance from the pixel's middle."""
    bits, over = 4, 4
    mask = np.zeros((shape[0], shape[1]), np.float32)
    points = np.array(line.points) * px_per_mm
    low = np.maximum(np.floor(points.min(axis=0) - line.width_mm * px_per_mm - 2), 0).astype(int)
    high = np.minimum(
        np.ceil(points.max(axis=0) + line.width_mm * px_per_mm + 2), (shape[1], shape[0])
    ).astype(int)
    if (high <= low).any():
        return mask
    fine = np.zeros(((high[1] - low[1]) * over, (high[0] - low[0]) * over), np.uint8)
    places = np.round(((points - low) * over - 0.5) * 2**bits).astype(np.int32)
    cv2.polylines(
        fine, [places], False, 255, max(1, round(line.width_mm * px_per_mm * over)), cv2.LINE_8, bits
    )
    small = cv2.resize(fine, tuple(int(v) for v in high - low), interpolation=cv2.INTER_AREA)
    mask[low[1] : high[1], low[0] : high[0]] = small.astype(np.float32) / 255
    return mask


def _spots(rng: np.random.Generator, shape: tuple[int, int], size_px: float) -> Array:
    """Return smooth noise of unit deviation."""
    few = (max(4, int(shape[0] / size_px)), max(4, int(shape[1] / size_px)))
    field_ = cv2.resize(rng.standard_normal(few, np.float32), shape[::-1], interpolation=cv2.INTER_LINEAR)
    return np.asarray((field_ - field_.mean()) / (field_.std() + 1e-6), np.float32)
