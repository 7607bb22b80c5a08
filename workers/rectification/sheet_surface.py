"""The sheet's surface as the camera saw it: flat, or rolled up from a straight line onwards.

Paper bends but does not stretch, so a lifted or curled sheet is part of a cylinder: one
direction, one line where it leaves the table, one curvature. With the four corners these
explain the bow of all four sides at once, which no homography can, and they say where
every point in between went.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.rectification.perspective import FOCAL_TO_LONG_SIDE, homography
from workers.rectification.sheet_sides import Side

Array = NDArray[np.float64]

_SAMPLES = 33  # of each side
_FLAT_BOW_PX = 0.6  # sides straighter than this belong to a flat sheet
_FOCAL_SPREAD = 0.15  # of its logarithm: phones with other lenses
_PRIOR_PX = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """Where each point of the sheet is seen.

    ``parameters``: x, y of the four corners if the sheet lay flat (8, pixels), direction of the
    curl (radians), start of the curl (mm from the middle, in that direction), curvature (1/m),
    logarithm of focal length over long side.
    """

    width_mm: float
    height_mm: float
    frame_px: tuple[int, int]  # columns, rows
    parameters: Array
    bows: tuple[Array, Array, Array, Array] | None  # left-over, Legendre, pixels off each side: T, R, B, L
    inward: Array  # (4, 2) unit, into the sheet
    residual_px: float  # root mean square of the sides from the model, before the left-over is added

    def seen_px(self, sheet_mm: Array) -> Array:
        """Return where points of the sheet (mm from its top left corner, y down) are seen, px."""
        size = (self.width_mm, self.height_mm)
        points = _projected(self.parameters, sheet_mm, size, self.frame_px)
        return points if self.bows is None else points + self._left_over(sheet_mm)

    def _left_over(self, sheet_mm: Array) -> Array:
        """Return what the model leaves at the sides, carried into the sheet.

        Source: a Coons patch of the four sides' displacements, which vanish at the corners.
        """
        across, down = sheet_mm[:, 0] / self.width_mm, sheet_mm[:, 1] / self.height_mm
        legval = np.polynomial.legendre.legval
        top, right, bottom, left = self.bows or ()
        along = (2 * across - 1, 2 * down - 1)
        amounts = (
            legval(along[0], top) * (1 - down), legval(along[1], right) * across,
            legval(-along[0], bottom) * down, legval(-along[1], left) * (1 - across),
        )  # fmt: skip
        return np.asarray(sum(a[:, None] * n for a, n in zip(amounts, self.inward, strict=True)), np.float64)

    @property
    def corners_px(self) -> Array:
        """The corners as seen: TL, TR, BR, BL."""
        return self.seen_px(_corners_mm(self.width_mm, self.height_mm))

    @property
    def lift_mm(self) -> float:
        """How far the most lifted point of the sheet stands above the table."""
        height = _bent(
            self.parameters, _corners_mm(self.width_mm, self.height_mm), (self.width_mm, self.height_mm)
        )
        return float(np.abs(height[:, 2]).max())


def _corners_mm(width_mm: float, height_mm: float) -> Array:
    return np.array([(0, 0), (width_mm, 0), (width_mm, height_mm), (0, height_mm)], np.float64)


def _bent(parameters: Array, sheet_mm: Array, size_mm: tuple[float, float]) -> Array:
    """Return where points of the flat sheet are in space once it is curled, x, y, height in mm."""
    angle_rad, start_mm, bend_per_m = parameters[8:11]
    direction = np.array([np.cos(angle_rad), np.sin(angle_rad)])
    along = np.maximum((sheet_mm - np.array(size_mm) / 2) @ direction - start_mm, 0.0)
    bend = bend_per_m / 1000.0
    turned = bend * along
    height = 0.5 * turned * along * (1 - turned**2 / 12)
    drawn_in = -(turned**2) * along / 6 * (1 - turned**2 / 20)
    return np.column_stack([sheet_mm + drawn_in[:, None] * direction, height])


def _projected(
    parameters: Array, sheet_mm: Array, size_mm: tuple[float, float], frame_px: tuple[int, int]
) -> Array:
    matrix = homography(_corners_mm(*size_mm), parameters[:8].reshape(4, 2))
    if parameters[10] == 0.0:
        lifted = np.column_stack([sheet_mm, np.ones(len(sheet_mm))]) @ matrix.T
        return np.asarray(lifted[:, :2] / lifted[:, 2:], np.float64)
    focal_px = np.exp(parameters[11]) * max(frame_px)
    lens = np.array([[focal_px, 0, frame_px[0] / 2], [0, focal_px, frame_px[1] / 2], [0, 0, 1.0]])
    turned = np.linalg.solve(lens, matrix)
    scale = np.sqrt(np.linalg.norm(turned[:, 0]) * np.linalg.norm(turned[:, 1]))
    upward = lens @ (-np.cross(turned[:, 0], turned[:, 1]) / scale)
    bent = _bent(parameters, sheet_mm, size_mm)
    seen = np.column_stack([bent[:, :2], np.ones(len(bent))]) @ matrix.T + bent[:, 2:] * upward
    return np.asarray(seen[:, :2] / seen[:, 2:], np.float64)


def fitted_surface(sides: list[Side], size_mm: tuple[float, float], frame_px: tuple[int, int]) -> Surface:
    """Return the surface whose sides come closest to the measured ones.

    Args:
        sides: Top, right, bottom, left.
        size_mm: Width and height as the sheet lies in the picture.
        frame_px: The picture's columns and rows.
    """
    problem = _Problem(sides, size_mm, frame_px)
    flat = problem.refined(problem.flat_start(), free=np.arange(8))
    best, error = flat, problem.error_px(flat)
    if max(side.bow_px for side in sides) > _FLAT_BOW_PX and error > 0.25:
        for start in problem.curled_starts(flat):
            curled = problem.refined(start, free=np.arange(12))
            if problem.cost(curled) < problem.cost(best):
                best, error = curled, problem.error_px(curled)
    inward = np.stack([side.inward for side in sides])
    bows = problem.left_over(best)
    return Surface(*size_mm, frame_px, best, bows, inward, error)


class _Problem:
    """Least squares of a surface's sides against the measured sides."""

    def __init__(self, sides: list[Side], size_mm: tuple[float, float], frame_px: tuple[int, int]) -> None:
        self.sides, self.size_mm, self.frame_px = sides, size_mm, frame_px
        corners = _corners_mm(*size_mm)
        share = np.linspace(0.0, 1.0, _SAMPLES)[:, None]
        self.rim_mm = np.concatenate(
            [corners[k] + share * (corners[(k + 1) % 4] - corners[k]) for k in range(4)]
        )
        self.known = np.concatenate([_well_seen(side) for side in sides])

    def flat_start(self) -> Array:
        """Return the parameters of the flat sheet between the rough corners."""
        corners = np.stack([side.start_px for side in self.sides])
        return np.concatenate([corners.ravel(), [0.0, 0.0, 0.0, np.log(FOCAL_TO_LONG_SIDE)]])

    def residuals(self, parameters: Array) -> Array:
        """Return how far off the measured sides the model's are, px, and how unlikely its lens is."""
        seen = _projected(parameters, self.rim_mm, self.size_mm, self.frame_px)
        off = np.empty(len(seen))
        for k, side in enumerate(self.sides):
            part = slice(k * _SAMPLES, (k + 1) * _SAMPLES)
            own = seen[part] - side.start_px
            along = np.clip(own @ side.along, -0.02 * side.length_px, 1.02 * side.length_px)
            off[part] = own @ side.inward - side.off_px(along)
        lens = (parameters[11] - np.log(FOCAL_TO_LONG_SIDE)) / _FOCAL_SPREAD
        return np.append(off * self.known, _PRIOR_PX * lens)

    def cost(self, parameters: Array) -> float:
        """Return the sum of squares to be made least."""
        return float((self.residuals(parameters) ** 2).sum())

    def error_px(self, parameters: Array) -> float:
        """Return the root mean square distance of the sides, px."""
        off = self.residuals(parameters)[:-1]
        return float(np.sqrt((off**2).sum() / max(self.known.sum(), 1.0)))

    def refined(self, start: Array, free: NDArray[np.int64], rounds: int = 25) -> Array:
        """Return the parameters after least squares steps from a start.

        Source: Levenberg (1944), Marquardt (1963), with differences for derivatives.
        """
        steps = np.array([0.1] * 8 + [1e-3, 0.2, 1e-3, 1e-3])
        limits = np.array([np.inf] * 8 + [0.5, 40.0, 3.0, 0.2])
        best, off = start.copy(), self.residuals(start)
        damping = 1e-3
        for _ in range(rounds):
            slopes = np.stack([self._slope(best, off, k, steps[k]) for k in free], axis=1)
            square = slopes.T @ slopes
            downhill = slopes.T @ off
            shift = np.linalg.solve(square + damping * np.diag(np.diag(square) + 1e-9), -downhill)
            trial = best.copy()
            trial[free] += np.clip(shift, -limits[free], limits[free])
            trial_off = self.residuals(trial)
            gained = float((off**2).sum() - (trial_off**2).sum())
            if gained > 0:
                best, off, damping = trial, trial_off, max(damping / 5, 1e-9)
                if gained < 1e-6 * float((off**2).sum()) + 1e-9:
                    break
            else:
                damping *= 6
                if damping > 1e6:
                    break
        return best

    def _slope(self, parameters: Array, off: Array, index: int, step: float) -> Array:
        moved = parameters.copy()
        moved[index] += step
        return (self.residuals(moved) - off) / step

    def curled_starts(self, flat: Array, count: int = 3) -> list[Array]:
        """Return the most promising curls, of all directions and lines tried with a small curvature."""
        trials: list[tuple[float, Array]] = []
        off = self.residuals(flat)
        base = np.stack([self._slope(flat, off, k, 0.1) for k in range(8)], axis=1)
        reach = np.hypot(*self.size_mm) / 2
        for angle_rad in np.arange(24) * (2 * np.pi / 24):
            for share in (-0.35, -0.1, 0.15, 0.35):
                trial = flat.copy()
                trial[8:10] = angle_rad, share * reach
                slopes = np.column_stack([base, self._slope(trial, off, 10, 0.05)])
                solution, *_ = np.linalg.lstsq(slopes, -off, rcond=None)
                left = float(((off + slopes @ solution) ** 2).sum())
                trial[:8] += solution[:8]
                trial[10] = np.clip(solution[8], -4.0, 4.0)
                trials.append((left, trial))
        trials.sort(key=lambda pair: pair[0])
        return [trial for _, trial in trials[:count]]

    def left_over(self, parameters: Array) -> tuple[Array, Array, Array, Array] | None:
        """Return the smooth displacement of each side that the model misses, None if it is all noise."""
        off = self.residuals(parameters)[:-1].reshape(4, _SAMPLES)
        known = self.known.reshape(4, _SAMPLES)
        place = np.linspace(-1, 1, _SAMPLES)
        curves = []
        for k in range(4):
            basis = np.polynomial.legendre.legvander(place, 4)
            hollow = basis[:, 2:] - basis[:, [0, 1, 0]]  # these vanish at both corners
            weight = known[k] + 1e-3
            solved = np.linalg.lstsq(hollow * weight[:, None], -off[k] * weight, rcond=None)[0]
            c2, c3, c4 = solved
            curves.append(np.array([-c2 - c4, -c3, c2, c3, c4]))
        amounts = [np.abs(np.polynomial.legendre.legval(place, curve)).max() for curve in curves]
        return None if max(amounts) < 0.2 else (curves[0], curves[1], curves[2], curves[3])


def _well_seen(side: Side) -> Array:
    """Return 1 for each of a side's model samples near which the side was measured, else 0."""
    places = np.linspace(0, side.length_px, _SAMPLES)
    if not len(side.seen):
        return np.zeros(_SAMPLES)
    nearest = np.abs(places[:, None] - side.seen[None, :, 0]).min(axis=1)
    return (nearest < 1.2 * side.length_px / _SAMPLES).astype(np.float64)
