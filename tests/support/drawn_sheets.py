"""Photographs of made-up sheets, computed from known shapes through a known camera."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

PAPER, INK, TABLE = 0.80, 0.04, 0.10  # linear reflectance

Shape = Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.bool_]]


def disc(x_mm: float, y_mm: float, radius_mm: float) -> Shape:
    """Return a round spot of ink."""
    return lambda x, y: np.hypot(x - x_mm, y - y_mm) < radius_mm


def bar(left_mm: float, top_mm: float, right_mm: float, bottom_mm: float) -> Shape:
    """Return an upright bar of ink."""
    return lambda x, y: (x > left_mm) & (x < right_mm) & (y > top_mm) & (y < bottom_mm)


@dataclass(frozen=True)
class DrawnSheet:
    """A sheet seen through a homography that takes its corners to ``corners_px``."""

    width_mm: float
    height_mm: float
    corners_px: NDArray[np.float64]  # (4, 2) TL, TR, BR, BL
    columns: int
    rows: int
    ink: tuple[Shape, ...]
    paper: float = PAPER
    table: float = TABLE
    covers: tuple[tuple[float, float, float], ...] = ()  # discs over the sheet: x, y, radius in mm
    greys: tuple[tuple[Shape, float], ...] = ()  # under the ink: shapes, each with its linear reflectance
    bow: float = 0.0  # of the lens: a point r half long sides from the middle is seen at r (1 + bow r^2)

    def photograph(self, light: Callable[..., NDArray[np.float64]] | None = None) -> NDArray[np.uint8]:
        """Return the photo, (rows, columns, 3): 4 x 4 samples a pixel, light added up, then sRGB."""
        back = np.linalg.inv(square_to(self.corners_px))
        scene = np.zeros((self.rows, self.columns))
        y, x = np.mgrid[0 : self.rows, 0 : self.columns].astype(np.float64)
        for down in (0.125, 0.375, 0.625, 0.875):
            for across in (0.125, 0.375, 0.625, 0.875):
                scene += self._seen(back, *self._through_lens(x + across, y + down)) / 16
        if light is not None:
            scene *= light((x + 0.5) / self.columns, (y + 0.5) / self.rows)
        return as_srgb(scene)

    def _through_lens(
        self, x: NDArray[np.float64], y: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return where a straight lens would show what this one shows here, by a table of its bow."""
        if not self.bow:
            return x, y
        half_side = max(self.columns, self.rows) / 2
        own = np.stack([x - self.columns / 2, y - self.rows / 2]) / half_side
        true = np.linspace(0.0, 1.25, 20_001)
        seen = np.hypot(*own)
        factor = np.interp(seen, true * (1 + self.bow * true**2), true) / np.maximum(seen, 1e-9)
        x, y = own * factor * half_side
        return x + self.columns / 2, y + self.rows / 2

    def _seen(
        self, back: NDArray[np.float64], x: NDArray[np.float64], y: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        depth = back[2, 0] * x + back[2, 1] * y + back[2, 2]
        u = (back[0, 0] * x + back[0, 1] * y + back[0, 2]) / depth * self.width_mm
        v = (back[1, 0] * x + back[1, 1] * y + back[1, 2]) / depth * self.height_mm
        on_sheet = (u > 0) & (u < self.width_mm) & (v > 0) & (v < self.height_mm)
        seen = np.where(on_sheet, self.paper, self.table)
        for shape, grey in self.greys:
            seen = np.where(on_sheet & shape(u, v), grey, seen)
        for shape in self.ink:
            seen = np.where(on_sheet & shape(u, v), INK, seen)
        for x_mm, y_mm, radius_mm in self.covers:
            seen = np.where(np.hypot(u - x_mm, v - y_mm) < radius_mm, 0.3, seen)
        return seen


def square_to(corners: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the homography of the unit square to four corners, by its eight linear equations."""
    square = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], float)
    rows, values = [], []
    for (u, v), (x, y) in zip(square, corners, strict=True):
        rows += [[u, v, 1, 0, 0, 0, -u * x, -v * x], [0, 0, 0, u, v, 1, -u * y, -v * y]]
        values += [x, y]
    return np.append(np.linalg.solve(np.array(rows), np.array(values)), 1.0).reshape(3, 3)


def as_srgb(light: NDArray[np.float64]) -> NDArray[np.uint8]:
    """Return linear light 0..1 as three equal sRGB channels (IEC 61966-2-1)."""
    light = np.clip(light, 0, 1)
    value = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.repeat(np.round(value * 255).astype(np.uint8)[:, :, None], 3, axis=2)


def crossings(line: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Return where a row of coverage passes 127.5, px, linear between pixel middles."""
    values = line.astype(np.float64)
    at = np.nonzero((values[:-1] < 127.5) != (values[1:] < 127.5))[0]
    return at + 0.5 + (127.5 - values[at]) / (values[at + 1] - values[at])
