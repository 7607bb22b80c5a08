"""A picture of a scene through a camera: the light of its surface, and walls that the plan does not show."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from workers.preview.appearance import Appearance
from workers.preview.camera import Camera
from workers.preview.grain import end_grain, figure_of, plies
from workers.preview.rays import hits
from workers.preview.scaling import scaled
from workers.preview.scene import Scene
from workers.preview.shading import AMBIENT, Lamp
from workers.preview.tones import linear_light
from workers.preview.window import outside_mm
from workers.values.design import Board

Floats = NDArray[np.float32]

_SAMPLES = 2  # rays along each side of a pixel, averaged
_STEEP = (4.2, 6.0)  # slopes between which a surface becomes a wall: steeper than a V-bit of 30 degrees cuts
_SMOOTH_PX = 1.6  # over which a wall's direction is evened out; its edge is made of pixels
_SKY_ON_WALL = 0.62  # of the light from all round, reaches a wall outside
_SKY_DEEPER_MM = 9.0  # in a hole half of that is gone so deep
_LINEAR, _BEYOND = cv2.INTER_LINEAR, cv2.BORDER_REPLICATE


def photograph(scene: Scene, camera: Camera, board: Board, look: Appearance, lamp: Lamp) -> Floats:
    """Return colours in linear light as the camera sees them.

    Args:
        scene: Light and depth from above.
        camera: Its place and picture.
        board: The board in the scene.
        look: What its walls are made of.
        lamp: The scene's own.
    """
    met = hits(camera, scene.depth_mm, scene.part, board.thickness_mm, _SAMPLES)
    x_px, y_px, z_px = (np.ascontiguousarray(met[:, :, axis]) for axis in range(3))
    seen = np.asarray(cv2.remap(scene.light, x_px, y_px, _LINEAR, borderMode=_BEYOND), dtype=np.float32)
    on_wall = _on_wall(scene, x_px, y_px, z_px)
    rows, columns = np.nonzero(on_wall > 0)
    if len(rows):
        at = (x_px[rows, columns], y_px[rows, columns], z_px[rows, columns])
        wall = _wall_light(scene, board, look, lamp, at)
        seen[rows, columns] += (wall - seen[rows, columns]) * on_wall[rows, columns, None]
    return scaled(seen, camera.rows, camera.columns)


def _on_wall(scene: Scene, x_px: Floats, y_px: Floats, z_px: Floats) -> Floats:
    """How much of each ray ends on a wall, 0 to 1: where it is steep, between the levels above and below."""
    depth_px = scene.depth_mm * np.float32(1 / scene.part.mm_per_px)
    slope_x, slope_y = (cv2.Sobel(depth_px, cv2.CV_32F, dx, 1 - dx, ksize=1, scale=0.5) for dx in (1, 0))
    steep = np.hypot(slope_x, slope_y)
    around = np.ones((3, 3), dtype=np.uint8)
    over, under = cv2.erode(depth_px, around), cv2.dilate(depth_px, around)
    low, high = _STEEP
    share = np.clip((cv2.remap(steep, x_px, y_px, _LINEAR) - low) / (high - low), 0, 1)
    below = np.clip(-z_px - cv2.remap(over, x_px, y_px, _LINEAR) - 0.3, 0, 1)
    above = np.clip(cv2.remap(under, x_px, y_px, _LINEAR) + z_px - 0.3, 0, 1)
    walled: Floats = share * below * above
    return walled


def _wall_light(
    scene: Scene, board: Board, look: Appearance, lamp: Lamp, at: tuple[Floats, Floats, Floats]
) -> Floats:
    """Colours (n, 3) of points on walls: their own grain, lit by their direction."""
    x_px, y_px, z_px = at
    part = scene.part
    across_x, across_y = _outward(scene, x_px, y_px)
    depth_mm = -z_px * np.float32(part.mm_per_px)
    x_mm = np.float32(part.left_mm) + (x_px + np.float32(0.5)) * np.float32(part.mm_per_px)
    y_mm = np.float32(part.top_mm) - (y_px + np.float32(0.5)) * np.float32(part.mm_per_px)
    lamp_x, lamp_y, lamp_z = lamp.towards
    direct = np.maximum(across_x * lamp_x + across_y * lamp_y, 0) * np.float32((1 - AMBIENT) / lamp_z)
    is_inside = outside_mm(board, x_mm, y_mm) < -2 * part.mm_per_px
    sheltered = np.where(is_inside, 1 / (1 + depth_mm / np.float32(_SKY_DEEPER_MM)), 1)
    light = (direct * np.where(is_inside, sheltered, 1) + np.float32(AMBIENT * _SKY_ON_WALL * 2)) * sheltered
    colour = np.array([linear_light(tone) for tone in look.material.colour], dtype=np.float32)
    figure = _wall_figure(look, (across_x, across_y), (x_mm, y_mm), depth_mm)
    lit: Floats = (light * figure)[:, None] * colour
    return lit


def _outward(scene: Scene, x_px: Floats, y_px: Floats) -> tuple[Floats, Floats]:
    """Which way walls face at these places, x right and y up, length 1: to where it is deeper."""
    smooth = cv2.GaussianBlur(scene.depth_mm, (0, 0), _SMOOTH_PX)
    ways = [cv2.Sobel(smooth, cv2.CV_32F, dx, 1 - dx, ksize=1) for dx in (1, 0)]
    row, column = (
        np.clip(np.rint(place), 0, side - 1).astype(np.intp)
        for place, side in zip((y_px, x_px), scene.depth_mm.shape, strict=True)
    )
    x, y = (np.asarray(way, dtype=np.float32)[row, column] for way in ways)
    length: Floats = np.maximum(np.hypot(x, y), np.float32(1e-6))
    outward: tuple[Floats, Floats] = (x / length, -y / length)
    return outward


def _wall_figure(
    look: Appearance, across: tuple[Floats, Floats], place_mm: tuple[Floats, Floats], depth_mm: Floats
) -> Floats:
    """How bright a wall's wood is: ends of fibres where it cuts across the grain, streaks where along."""
    turn = math.radians(look.grain_deg)
    along_x, along_y = np.float32(math.cos(turn)), np.float32(math.sin(turn))
    endness = np.abs(across[0] * along_x + across[1] * along_y)
    across_mm = place_mm[1] * along_x - place_mm[0] * along_y
    along_mm = place_mm[0] * along_x + place_mm[1] * along_y
    ends = end_grain(look.material, across_mm, depth_mm)
    share = np.float32(figure_of(look.material).fibre_fraction)
    streaks = 1 + share * np.sin(depth_mm * 5 + np.sin(along_mm / 23) * 2) * np.sin(
        depth_mm * 1.7 + along_mm / 61
    )
    shown: Floats = (streaks + (ends - streaks) * endness) * plies(look.material, depth_mm)
    return shown
