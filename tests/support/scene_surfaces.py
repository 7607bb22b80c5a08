"""What made-up photos show: table tops, sheets of paper, things lying over them; all in linear light."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Layer = NDArray[np.float32]
Generator = np.random.Generator

TABLE_MM, TABLE_PX_PER_MM = 1000.0, 2.5
_BITS = 4
DARK = {"walnut": (0.10, 0.06, 0.035), "slate": (0.07, 0.075, 0.08), "blue": (0.05, 0.08, 0.17)}
LIGHT = {"birch": (0.56, 0.46, 0.33), "grey": (0.50, 0.50, 0.49), "sand": (0.62, 0.56, 0.47)}
PATTERNS = ("planks", "stripes", "tiles", "checks", "boards")
WORKSHOP_TABLES = ("mat", "granite", "grain", "white")
SKIN = (0.45, 0.27, 0.19)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Paper:
    """An inked sheet, each (rows, columns), as a share of its paper's light."""

    light: Layer  # of ink and of the paper's own lines
    ink: Layer  # of ink alone


def table_top(pattern: str, is_light: bool, turn_rad: float, rng: Generator) -> Layer:
    """Return a table, TABLE_MM square: plain, or with lines that run near a given direction.

    Args:
        pattern: "plain" or one of PATTERNS or WORKSHOP_TABLES.
        is_light: Whether its colour is near that of paper.
        turn_rad: Direction of its lines.
        rng: Everything else is drawn from it.
    """
    side = round(TABLE_MM * TABLE_PX_PER_MM)
    if pattern in WORKSHOP_TABLES:
        return _workshop_top(pattern, turn_rad, rng)
    base = np.array(list((LIGHT if is_light else DARK).values())[int(rng.integers(3))], np.float32)
    grain = cv2.GaussianBlur(rng.standard_normal((side, side), np.float32), (0, 0), 6.0, sigmaY=1.2)
    fine = rng.standard_normal((side, side), np.float32)
    top = base * (1 + (0.5 * grain + 0.03 * fine)[..., None])
    y, x = (np.mgrid[0:side, 0:side].astype(np.float32) - side / 2) / np.float32(TABLE_PX_PER_MM)
    along = x * math.cos(turn_rad) + y * math.sin(turn_rad)
    across = y * math.cos(turn_rad) - x * math.sin(turn_rad)
    if pattern == "planks":
        width_mm = rng.uniform(50, 140)
        tone = rng.uniform(0.75, 1.25, 64).astype(np.float32)
        top *= tone[np.floor(across / width_mm).astype(int) % 64][..., None]
        gap = np.abs(
            (across + width_mm * rng.uniform()) % width_mm - width_mm / 2
        ) > width_mm / 2 - rng.uniform(0.5, 1.5)
        top[gap] *= rng.uniform(0.15, 0.5)
    elif pattern in ("stripes", "checks"):
        width_mm = rng.uniform(8, 30)
        other = base * rng.choice([0.3, 2.2, 3.5]) if not is_light else base * rng.choice([0.25, 0.5, 1.25])
        odd = (np.floor(across / width_mm) % 2)[..., None]
        if pattern == "checks":
            odd = (odd + (np.floor(along / width_mm) % 2)[..., None]) / 2
        top = top * (1 - odd) + np.minimum(other, 0.85) * odd * (top / base)
    elif pattern == "tiles":
        pitch_mm, grout_mm = rng.uniform(60, 160), rng.uniform(2, 6)
        grout = (np.abs(along) % pitch_mm < grout_mm) | (np.abs(across) % pitch_mm < grout_mm)
        top[grout] = base * (rng.choice([0.4, 2.5]) if not is_light else rng.choice([0.3, 1.3]))
    elif pattern == "boards":  # lines at any distance, thin and thick
        for place in rng.uniform(-300, 300, 14):
            top[np.abs(across - place) < rng.uniform(0.3, 2.5)] *= rng.choice([0.2, 0.5, 2.5])
    return np.asarray(np.clip(top, 0.004, 0.9), np.float32)


def _workshop_top(pattern: str, turn_rad: float, rng: Generator) -> Layer:
    """Return a cutting mat, polished granite, wood with a strong figure, or a white table."""
    side = round(TABLE_MM * TABLE_PX_PER_MM)
    y, x = (np.mgrid[0:side, 0:side].astype(np.float32) - side / 2) / np.float32(TABLE_PX_PER_MM)
    along = x * math.cos(turn_rad) + y * math.sin(turn_rad)
    across = y * math.cos(turn_rad) - x * math.sin(turn_rad)
    fine = 1 + 0.03 * rng.standard_normal((side, side), np.float32)
    if pattern == "mat":
        top = np.array((0.03, 0.12, 0.09), np.float32) * fine[..., None]
        for pitch_mm, width_mm in ((10.0, 0.4), (50.0, 0.8)):
            lines = (np.abs(along) % pitch_mm < width_mm) | (np.abs(across) % pitch_mm < width_mm)
            top[lines] = np.float32(rng.uniform(0.35, 0.7))
    elif pattern == "granite":
        specks = sum(
            cv2.GaussianBlur(rng.standard_normal((side, side), np.float32), (0, 0), size) * size
            for size in (1.0, 2.0, 4.0)
        )
        top = np.float32(rng.uniform(0.04, 0.15)) * np.exp(0.9 * specks)[..., None] * np.ones(3, np.float32)
    elif pattern == "grain":
        rows = cv2.GaussianBlur(rng.standard_normal((4 * side, 1), np.float32), (1, 0), 0.01, sigmaY=2.5)
        wave = cv2.GaussianBlur(rng.standard_normal((side, side), np.float32), (0, 0), 60.0) * 6000
        places = np.float32(TABLE_PX_PER_MM) * across + 2 * side + wave
        streaks = cv2.remap(rows, np.zeros_like(places), places, cv2.INTER_LINEAR)
        base = np.array(((0.10, 0.06, 0.035), (0.36, 0.24, 0.14))[int(rng.integers(2))], np.float32)
        top = base * (np.exp(0.9 * streaks) * fine)[..., None]
    else:
        tint = rng.uniform(0.97, 1.03, 3).astype(np.float32)
        top = np.float32(rng.uniform(0.66, 0.84)) * tint * (1 + 0.3 * (fine - 1))[..., None]
    return np.asarray(np.clip(top, 0.004, 0.9), np.float32)


def lay_sheet_beside(top: Layer, size_mm: tuple[float, float], rng: Generator) -> None:
    """Draw another inked sheet next to the one in question, nearly square to it, a gap between."""
    axis, way = int(rng.integers(2)), float(rng.choice([-1, 1]))
    shift = rng.uniform(-0.1, 0.1, 2) * size_mm
    shift[axis] = way * (size_mm[axis] * 1.04 + rng.uniform(4, 40))
    middle, angle = TABLE_MM / 2 + shift, float(rng.uniform(-2, 2))
    px = TABLE_PX_PER_MM
    box = cv2.boxPoints((tuple(middle * px), tuple(np.array(size_mm) * px), angle))
    mask = np.zeros(top.shape[:2], np.float32)
    cv2.fillPoly(mask, [np.round(box * 2**_BITS).astype(np.int32)], 1.0, cv2.LINE_AA, _BITS)
    top += mask[..., None] * (np.float32(rng.uniform(0.75, 0.84)) - top)
    spot = tuple(round(float(v * px)) for v in middle + rng.uniform(-0.2, 0.2, 2) * size_mm)
    cv2.circle(top, (spot[0], spot[1]), round(0.15 * min(size_mm) * px), (0.05, 0.05, 0.05), -1, cv2.LINE_AA)


def lay_sheet_beneath(top: Layer, size_mm: tuple[float, float], rng: Generator) -> None:
    """Draw another white sheet, turned a little, sticking out from under the one in question."""
    shift = rng.uniform(0.1, 0.35, 2) * size_mm * rng.choice([-1, 1], 2)
    middle = TABLE_MM / 2 + shift
    box = cv2.boxPoints(
        (
            tuple(middle * TABLE_PX_PER_MM),
            tuple(np.array(size_mm) * TABLE_PX_PER_MM),
            float(rng.uniform(-12, 12)),
        )
    )
    shade, mask = np.zeros(top.shape[:2], np.float32), np.zeros(top.shape[:2], np.float32)
    cv2.fillPoly(shade, [(box + 3).astype(np.int32)], 1.0)
    top *= (1 - 0.4 * cv2.GaussianBlur(shade, (0, 0), 3.0))[..., None]
    cv2.fillPoly(mask, [np.round(box * 2**_BITS).astype(np.int32)], 1.0, cv2.LINE_AA, _BITS)
    top += mask[..., None] * (np.float32(rng.uniform(0.68, 0.82)) - top)


def lay_over(kind: str, corners_mm: NDArray[np.float64], rng: Generator) -> Layer:
    """Return things over the sheet's edge, (rows, columns, 4): colour and opacity, laid out like a table.

    Args:
        kind: "hand" over a corner, "fingers" that hold two down, "coins" or "pen" across sides.
        corners_mm: (4, 2) from the middle.
        rng: Everything else is drawn from it.
    """
    side = round(TABLE_MM * TABLE_PX_PER_MM)
    layer = np.zeros((side, side, 4), np.float32)

    def px(point_mm: NDArray[np.float64]) -> tuple[int, int]:
        x, y = (point_mm + TABLE_MM / 2) * TABLE_PX_PER_MM
        return round(float(x)), round(float(y))

    if kind == "hand":
        corner = corners_mm[int(rng.integers(4))]
        out = corner / np.linalg.norm(corner)
        sideways = np.array([-out[1], out[0]])
        for finger in (-1, 0, 1):
            tip = corner * rng.uniform(0.82, 0.92) + sideways * 17 * finger
            colour = tuple(float(v * rng.uniform(0.8, 1.1)) for v in SKIN)
            cv2.line(
                layer, px(tip), px(tip + 260 * out), (*colour, 1.0), round(18 * TABLE_PX_PER_MM), cv2.LINE_AA
            )
    elif kind == "fingers":
        first = int(rng.integers(4))
        for k in (first, (first + int(rng.integers(1, 4))) % 4):
            corner = corners_mm[k]
            out = corner / np.linalg.norm(corner)
            colour = tuple(float(v * rng.uniform(0.6, 1.3)) for v in SKIN)
            tip = corner * rng.uniform(0.86, 0.97) + rng.uniform(-12, 12, 2)
            end = tip + 260 * (out + rng.uniform(-0.4, 0.4, 2))
            cv2.line(layer, px(tip), px(end), (*colour, 1.0), round(17 * TABLE_PX_PER_MM), cv2.LINE_AA)
    elif kind == "coins":
        for _ in range(int(rng.integers(2, 5))):
            k, share = int(rng.integers(4)), rng.uniform(0.1, 0.9)
            place = corners_mm[k] + share * (corners_mm[(k + 1) % 4] - corners_mm[k])
            tone = float(rng.uniform(0.08, 0.5))
            cv2.circle(
                layer,
                px(place),
                round(11 * TABLE_PX_PER_MM),
                (tone, tone * 0.8, tone * 0.5, 1.0),
                -1,
                cv2.LINE_AA,
            )
    else:
        k = int(rng.integers(4))
        place = corners_mm[k] + rng.uniform(0.3, 0.7) * (corners_mm[(k + 1) % 4] - corners_mm[k])
        lean = rng.uniform(0, math.pi)
        reach = 70 * np.array([math.cos(lean), math.sin(lean)])
        cv2.line(
            layer,
            px(place - reach),
            px(place + reach),
            (0.03, 0.03, 0.03, 1.0),
            round(11 * TABLE_PX_PER_MM),
            cv2.LINE_AA,
        )
    return layer


def paper(size_mm: tuple[float, float], ruling: str, px_per_mm: float, rng: Generator) -> Paper:
    """Return an inked sheet.

    Args:
        size_mm: Width and height.
        ruling: "none", "lines", "squares" of the paper itself; "frame" drawn round the drawing.
        px_per_mm: Scale of the result.
        rng: Everything else is drawn from it.
    """
    columns, rows = (round(side * px_per_mm) for side in size_mm)
    ink, ruled = (np.ones((rows, columns), np.float32) for _ in range(2))
    size = np.array(size_mm)

    def stroke(sheet: Layer, points_mm: object, width_mm: float, tone: float) -> None:
        points = np.round((np.asarray(points_mm) * px_per_mm - 0.5) * 2**_BITS).astype(np.int32)
        cv2.polylines(sheet, [points], False, tone, max(1, round(width_mm * px_per_mm)), cv2.LINE_AA, _BITS)

    if ruling in ("lines", "squares"):
        pitch_mm = rng.uniform(6, 10) if ruling == "lines" else 5.0
        tone, width_mm = float(rng.choice([0.05, 0.15, 0.5, 0.75])), float(rng.uniform(0.25, 0.6))
        first = pitch_mm * rng.uniform(0.5, 3.0)
        for y in np.arange(first, size[1] - 2, pitch_mm):
            stroke(ruled, [(0, y), (size[0], y)], width_mm, tone)
        for x in np.arange(pitch_mm * 0.6, size[0] - 2, pitch_mm) if ruling == "squares" else ():
            stroke(ruled, [(x, 0), (x, size[1])], width_mm, tone)
    if ruling == "frame":
        low, high = np.full(2, rng.uniform(6, 14)), size - rng.uniform(6, 14)
        box = [(low[0], low[1]), (high[0], low[1]), (high[0], high[1]), (low[0], high[1]), (low[0], low[1])]
        stroke(ink, box, float(rng.uniform(0.8, 4)), 0.05)
    margin = 0.12 * size
    for _ in range(int(rng.integers(3, 9))):
        count = int(rng.integers(2, 7))
        stroke(
            ink,
            margin + rng.uniform(0, 1, (count, 2)) * (size - 2 * margin),
            float(rng.choice([0.8, 1.5, 3, 5])),
            0.05,
        )
    spot = np.round((margin + 15 + rng.uniform(0, 1, 2) * (size - 2 * margin - 30)) * px_per_mm).astype(int)
    cv2.circle(
        ink,
        (int(spot[0]), int(spot[1])),
        round(float(rng.uniform(4, 15)) * px_per_mm),
        0.05,
        -1,
        cv2.LINE_AA,
    )
    return Paper(light=np.minimum(ink, ruled), ink=ink)
