"""Random photos of sheets on tables, each from its number alone, with the camera that took them.

``recipe`` asks how well the sheet is found, with a phone that does nothing to its pictures;
``workshop_recipe`` asks what becomes of the ink too: phones that sharpen, smooth and pack hard, coloured
paper, cutting mats, granite and white tables, fingers that hold the sheet down, another sheet beside it.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from tests.support.drawn_sheets import as_srgb
from tests.support.scene_camera import Curl, SceneCamera, turned
from tests.support.scene_surfaces import (
    PATTERNS,
    TABLE_MM,
    TABLE_PX_PER_MM,
    WORKSHOP_TABLES,
    Paper,
    lay_over,
    lay_sheet_beneath,
    lay_sheet_beside,
    paper,
    table_top,
)

Array = NDArray[np.float64]
Layer = NDArray[np.float32]

SIZES_MM = (
    (210.0, 297.0),
    (210.0, 297.0),
    (215.9, 279.4),
    (297.0, 420.0),
    (148.0, 210.0),
    (200.0, 200.0),
    (130.0, 260.0),
)
FRAMINGS = ("whole", "corner", "side", "two sides", "opposite sides")
_STORED = {1: 1, 3: 3, 6: 8, 8: 6}  # an orientation, and the turn (as another) that makes the stored pixels
_PAPER = 0.84
COLOURED_PAPERS = (
    (0.84, 0.74, 0.42),
    (0.55, 0.72, 0.84),
    (0.62, 0.80, 0.55),
    (0.84, 0.62, 0.66),
    (0.50, 0.38, 0.25),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Phone:
    """What a phone does to the light before it hands out a JPEG."""

    vignette: float = 0.0  # light lost in the picture's corners, by its own lens
    smoothed_px: float = 0.0  # deviation of the filter that takes noise away
    sharpened: float = 0.0  # of what a blur takes away, so much is added: a halo beside each edge
    halo_px: float = 1.0  # deviation of that blur
    noise: tuple[float, float] = (0.003, 0.012)  # deviation at full light, least and most
    quality: tuple[int, int] = (75, 93)  # of the JPEG, least and most


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """What a scene is like, in words and figures."""

    number: int
    size_mm: tuple[float, float]  # as it lies, before the roll
    table: str
    is_light: bool
    lines_off_deg: float  # of the table's lines from the sheet's sides
    ruling: str
    framing: str
    things: tuple[str, ...]
    beneath: bool
    shadow: float  # light lost in it; 0: none
    tilt_deg: float
    roll_deg: float
    focal_share: float  # of the long side
    bow: float
    lift_mm: float
    megapixels: float
    orientation: int
    phone: Phone = Phone()
    paper: tuple[float, float, float] = (_PAPER, _PAPER, _PAPER)  # red, green, blue
    beside: bool = False  # another sheet next to it


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Scene:
    """A recipe, and the camera and the photo that it leads to."""

    recipe: Recipe
    camera: SceneCamera
    jpeg: bytes
    ink: Layer | None = None  # (rows, columns) of the sheet: how much light what is drawn leaves
    covered: NDArray[np.bool_] | None = None  # of the same shape: where things lie over it

    def corners_px(self) -> Array:
        """Return where the sheet's corners are seen: TL, TR, BR, BL of the sheet."""
        return self.camera.seen(corners_mm(self.recipe.size_mm))


def corners_mm(size_mm: tuple[float, float]) -> Array:
    """Return a sheet's corners from its middle: TL, TR, BR, BL."""
    return np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * np.array(size_mm) / 2


def recipe(number: int) -> Recipe:
    """Return what the scene of a number is like."""
    rng = np.random.default_rng([number, 77])
    size = SIZES_MM[int(rng.integers(len(SIZES_MM)))]
    framing = str(rng.choice(FRAMINGS, p=(0.76, 0.08, 0.06, 0.06, 0.04)))
    things = [kind for kind, share in (("hand", 0.15), ("coins", 0.1), ("pen", 0.1)) if rng.uniform() < share]
    wide = rng.uniform() < 0.25
    level = framing == "opposite sides"  # one leaning or turned shows a corner
    square = framing in ("side", "two sides", "opposite sides")
    roll_deg = 90.0 * rng.integers(4) + rng.normal(0, 1.0 if level else 5) if square else rng.normal(0, 5)
    roll_deg = roll_deg if square or rng.uniform() > 0.35 else rng.uniform(-180, 180)
    return Recipe(
        number=number,
        size_mm=size if rng.uniform() < 0.6 else size[::-1],
        table=str(rng.choice(["plain", *PATTERNS], p=(0.3, 0.2, 0.13, 0.13, 0.12, 0.12))),
        is_light=bool(rng.uniform() < 0.4),
        lines_off_deg=float(rng.uniform(-4, 4) if rng.uniform() < 0.6 else rng.uniform(0, 90)),
        ruling=str(rng.choice(["none", "lines", "squares", "frame"], p=(0.5, 0.2, 0.15, 0.15))),
        framing=framing,
        things=tuple(things),
        beneath=bool(rng.uniform() < 0.12),
        shadow=float(rng.uniform(0.25, 0.6)) if rng.uniform() < 0.35 else 0.0,
        tilt_deg=float(rng.uniform(0, 35) if rng.uniform() < 0.7 and not level else rng.uniform(0, 8)),
        roll_deg=float(roll_deg),
        focal_share=float(rng.uniform(0.45, 0.6) if wide else rng.normal(0.72, 0.02)),
        bow=float(rng.uniform(-0.15, 0.15)) if wide or rng.uniform() < 0.1 else 0.0,
        lift_mm=float(rng.uniform(0.5, 5)) if rng.uniform() < 0.25 else 0.0,
        megapixels=float(rng.choice([1, 2, 3, 5, 12, 24], p=(0.2, 0.3, 0.25, 0.13, 0.1, 0.02))),
        orientation=int(rng.choice([1, 1, 3, 6, 8])),
    )


def workshop_recipe(number: int) -> Recipe:
    """Return what the scene of a number is like where work is done: the same sheet, harder to read."""
    rng = np.random.default_rng([number, 80])
    made = recipe(number)
    phone = Phone(
        vignette=float(rng.uniform(0, 0.5)),
        smoothed_px=float(rng.uniform(0.4, 1.0)) if rng.uniform() < 0.4 else 0.0,
        sharpened=float(rng.uniform(0.3, 1.5)) if rng.uniform() < 0.7 else 0.0,
        halo_px=float(rng.uniform(0.8, 2.5)),
        noise=(0.003, 0.03),
        quality=(60, 95),
    )
    tint = COLOURED_PAPERS[int(rng.integers(len(COLOURED_PAPERS)))] if rng.uniform() < 0.2 else made.paper
    kinds = [
        kind for kind, share in (("fingers", 0.2), ("coins", 0.1), ("pen", 0.1)) if rng.uniform() < share
    ]
    return replace(
        made,
        phone=phone,
        paper=tint,
        table=str(rng.choice(["plain", *PATTERNS, *WORKSHOP_TABLES])),
        things=tuple(kinds),
        beside=bool(rng.uniform() < 0.15),
        ruling=str(rng.choice(["none", "lines", "squares", "frame"], p=(0.6, 0.15, 0.1, 0.15))),
        megapixels=float(rng.choice([1.5, 2, 3, 8], p=(0.3, 0.4, 0.25, 0.05))),
    )


def scene(made: Recipe) -> Scene:
    """Return a scene photographed."""
    rng = np.random.default_rng([made.number, 78])
    camera = scene_camera(made)
    light, sheet, covered = _looked_at(made, camera, rng)
    picture = _developed(light, made, rng)
    jpeg = _as_jpeg(picture, made.orientation, int(rng.integers(*made.phone.quality)))
    return Scene(recipe=made, camera=camera, jpeg=jpeg, ink=sheet.ink, covered=covered)


def scene_camera(made: Recipe) -> SceneCamera:
    """Return a camera that shows as much of the sheet as the recipe says.

    Where the phone must be held straight for that it is; where its picture has not the shape for it, it is
    turned by a quarter.
    """
    straight = replace(made, tilt_deg=0.0, roll_deg=90.0 * round(made.roll_deg / 90))
    for held, across in ((made, False), (straight, False), (straight, True)):
        camera = _tried_camera(held, across)
        if camera is not None:
            return camera
    raise LookupError(f"scene {made.number}: no camera shows {made.framing}")


def _tried_camera(made: Recipe, across: bool) -> SceneCamera | None:
    """Return the first of many cameras that shows as much of the sheet as wanted, None if none does."""
    rng = np.random.default_rng([made.number, 79])
    long_px = round(math.sqrt(made.megapixels * 1e6 * 4 / 3) / 2) * 2
    short_px = round(long_px * 0.375) * 2
    upright = made.size_mm[1] >= made.size_mm[0]
    upright ^= abs(math.sin(math.radians(made.roll_deg))) > 0.7
    columns, rows = (short_px, long_px) if upright != across else (long_px, short_px)
    curl = None
    if made.lift_mm:
        direction = float(rng.integers(8)) * math.pi / 4 + rng.uniform(-0.2, 0.2)
        reach = float(np.abs(corners_mm(made.size_mm) @ [math.cos(direction), math.sin(direction)]).max())
        start = reach * rng.uniform(-0.2, 0.5)
        curl = Curl(angle_rad=direction, start_mm=start, radius_mm=(reach - start) ** 2 / 2 / made.lift_mm)
    fills = {
        "whole": (0.5, 0.93),
        "corner": (0.7, 0.98),
        "side": (0.9, 1.15),
        "two sides": (0.9, 1.25),
        "opposite sides": (1.3, 2.0) if across else (1.0, 1.2),
    }
    moves = {"whole": 0.1, "corner": 0.35, "side": 0.35, "two sides": 0.4, "opposite sides": 0.05}[
        made.framing
    ]
    for _ in range(4000):
        turn = turned(math.radians(made.tilt_deg), rng.uniform(0, 2 * math.pi), math.radians(made.roll_deg))
        target = rng.uniform(-moves, moves, 2) * made.size_mm
        camera = SceneCamera(
            columns=columns,
            rows=rows,
            focal_px=made.focal_share * long_px,
            turn=turn,
            target_mm=target,
            distance_mm=float(_distance(made, columns, rows, rng.uniform(*fills[made.framing]))),
            bow=made.bow,
            bow_outer=-0.3 * made.bow,
            curl=curl,
        )
        if _framed(camera, made, least_seen=0.5 if across else 0.8):
            return camera
    return None


def _distance(made: Recipe, columns: int, rows: int, fill: float) -> float:
    """Return from how far a sheet, turned as it is, spans so much of the picture, seen from above."""
    turn = math.radians(made.roll_deg)
    across = abs(made.size_mm[0] * math.cos(turn)) + abs(made.size_mm[1] * math.sin(turn))
    down = abs(made.size_mm[0] * math.sin(turn)) + abs(made.size_mm[1] * math.cos(turn))
    return made.focal_share * max(columns, rows) * max(across / columns, down / rows) / fill


def _framed(camera: SceneCamera, made: Recipe, least_seen: float) -> bool:
    """Return whether as much of the sheet is out of the picture as wanted.

    ``least_seen`` is of a side that runs from rim to rim.
    """
    share = np.linspace(0, 1, 21)[:, None]
    corners = corners_mm(made.size_mm)
    sides = [
        camera.seen(a + share * (b - a)) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)
    ]
    frame = np.array([camera.columns, camera.rows])
    inside = [((side > 0.01 * frame) & (side < 0.99 * frame)).all(axis=1) for side in sides]
    corners_in = [bool(own[0]) for own in inside]
    seen = [float(own.mean()) for own in inside]
    match made.framing:
        case "whole":
            return min(seen) == 1.0
        case "corner":
            return sum(corners_in) == 3 and min(seen) > 0.6
        case "side":
            return sum(corners_in) == 2 and seen.count(0.0) == 1 and sorted(seen)[1] > 0.65
        case "two sides":
            return sum(corners_in) == 1 and seen.count(0.0) == 2 and sorted(seen)[2] > 0.5
        case _:
            return (
                sum(corners_in) == 0
                and seen.count(0.0) == 2
                and max(seen[0], seen[1]) > least_seen
                and min(seen[0] + seen[2], seen[1] + seen[3]) == 0.0
            )


def _looked_at(
    made: Recipe, camera: SceneCamera, rng: np.random.Generator
) -> tuple[Layer, Paper, NDArray[np.bool_]]:
    """Return the light that reaches each pixel, the sheet, and where things lie over it."""
    near_px_per_mm = camera.focal_px / camera.distance_mm
    detail = min(max(1.3 * near_px_per_mm, 3.0), 10.0)
    sheet = paper(made.size_mm, made.ruling, detail, rng)
    top = table_top(made.table, made.is_light, math.radians(made.lines_off_deg), rng)
    if made.beneath:
        lay_sheet_beneath(top, made.size_mm, rng)
    if made.beside:
        lay_sheet_beside(top, made.size_mm, rng)
    shown = camera.shown()
    half = np.array(made.size_mm, np.float32) / 2
    u, v = shown[..., 0], shown[..., 1]
    to_edge = np.minimum(half[0] - np.abs(u), half[1] - np.abs(v))
    slope = np.hypot(*np.gradient(to_edge)) if to_edge.size < 4e6 else 1 / near_px_per_mm
    inside = np.clip(to_edge / np.maximum(slope, 1e-3) + 0.5, 0, 1)[..., None]
    ink = cv2.remap(
        sheet.light,
        (u + half[0]) * np.float32(detail) - 0.5,
        (v + half[1]) * np.float32(detail) - 0.5,
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    place_x, place_y = ((shown[..., k] + TABLE_MM / 2) * np.float32(TABLE_PX_PER_MM) for k in (2, 3))
    light = cv2.remap(top, place_x, place_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    reach = 1.0 + 0.6 * made.lift_mm
    light *= (1 - 0.5 * np.exp(-np.maximum(-to_edge, 0) / np.float32(reach)))[..., None]
    light += inside * (np.array(made.paper, np.float32) * ink[..., None] - light)
    covered = np.zeros(sheet.ink.shape, np.bool_)
    for thing in made.things:
        over = lay_over(thing, corners_mm(made.size_mm), rng)
        layer = cv2.remap(over, place_x, place_y, cv2.INTER_LINEAR)
        light += layer[..., 3:] * (layer[..., :3] - light)
        covered |= _on_sheet(over[..., 3], made, sheet.ink.shape)
    return np.asarray(light * _lamp(made, camera, shown, rng)[..., None], np.float32), sheet, covered


def _on_sheet(opacity: Layer, made: Recipe, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Return which pixels of a sheet something lies over that is laid out like a table."""
    columns, rows = (round(side * TABLE_PX_PER_MM) for side in made.size_mm)
    own = cv2.getRectSubPix(opacity, (columns, rows), tuple((side - 1) / 2 for side in opacity.shape[::-1]))
    return np.asarray(cv2.resize(own, shape[::-1], interpolation=cv2.INTER_LINEAR) > 0)


def _lamp(
    made: Recipe, camera: SceneCamera, shown: NDArray[np.float32], rng: np.random.Generator
) -> NDArray[np.float32]:
    """Return how bright it is at each pixel: a lamp's falloff, and a shadow over a corner."""
    y, x = np.mgrid[0 : camera.rows, 0 : camera.columns].astype(np.float32)
    x, y = x / camera.columns - 0.5, y / camera.rows - 0.5
    angle = rng.uniform(0, 2 * math.pi)
    lit = 1 - rng.uniform(0.05, 0.4) * (0.5 + x * math.cos(angle) + y * math.sin(angle)).clip(0, 1)
    if made.phone.vignette:
        lit *= 1 - made.phone.vignette * (2 * (x * x + y * y)) ** 2
    if made.shadow:
        corner = corners_mm(made.size_mm)[int(rng.integers(4))] * rng.uniform(0.2, 0.8)
        own = math.atan2(corner[1], corner[0]) + rng.uniform(-0.6, 0.6)
        off = (shown[..., 2] - corner[0]) * math.cos(own) + (shown[..., 3] - corner[1]) * math.sin(own)
        lit *= 1 - made.shadow * np.clip(off / rng.uniform(2, 30) + 0.5, 0, 1)
    return np.asarray(lit, np.float32)


def _developed(light: NDArray[np.float32], made: Recipe, rng: np.random.Generator) -> NDArray[np.uint8]:
    """Return the picture: a lens's blur, a wrong white balance, a sensor's noise, filters, sRGB."""
    blurred = cv2.GaussianBlur(light, (0, 0), float(rng.uniform(0.5, 1.0)))
    blurred *= (rng.uniform(0.6, 1.0) * (1 + rng.uniform(-0.15, 0.15, 3) * (rng.uniform() < 0.5))).astype(
        np.float32
    )
    noise = rng.uniform(*made.phone.noise)
    blurred += noise * np.sqrt(np.maximum(blurred, 0.01)) * rng.standard_normal(blurred.shape, np.float32)
    if made.phone.smoothed_px:
        blurred = cv2.GaussianBlur(blurred, (0, 0), made.phone.smoothed_px)
    if made.phone.sharpened:
        halo = cv2.GaussianBlur(blurred, (0, 0), made.phone.halo_px)
        blurred = np.clip(blurred + made.phone.sharpened * (blurred - halo), 0, 1)
    channels = [as_srgb(blurred[..., k])[..., 0] for k in range(3)]
    return np.stack(channels, axis=-1)


def _as_jpeg(picture: NDArray[np.uint8], orientation: int, quality: int) -> bytes:
    """Return a JPEG whose stored pixels need an Exif orientation to come upright."""
    turn = {1: None, 3: cv2.ROTATE_180, 6: cv2.ROTATE_90_COUNTERCLOCKWISE, 8: cv2.ROTATE_90_CLOCKWISE}[
        orientation
    ]
    stored = picture if turn is None else cv2.rotate(picture, turn)
    exif = Image.Exif()
    exif[0x0112] = orientation
    file = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(stored)).save(file, "JPEG", quality=quality, exif=exif)
    return file.getvalue()
