"""The surface whose sides come closest to the measured sides of a sheet."""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.rectification.lens import straightened
from workers.rectification.perspective import FOCAL_TO_LONG_SIDE
from workers.rectification.robust_curve import CURVE_DEGREE
from workers.rectification.sheet_sides import Side
from workers.rectification.sheet_surface import (
    CURL_ANGLE,
    CURL_BEND,
    CURL_START,
    LENS_BOW,
    LENS_RIM,
    LOG_FOCAL,
    PARAMETERS_COUNT,
    Surface,
    corners_mm,
    flat_parameters,
    projected,
    unlike_rectangle,
)

Array = NDArray[np.float64]

_SAMPLES = 33  # of each side
_CURLED_PX = 0.05  # sides that miss the flat sheet's by more are no longer noise of the measuring
_ODD_PX = 0.1  # misses beyond this count ever less: a coin's rim near a corner is no paper
_NOTHING_ODD_PX = 1e3
_RAGGED_PX = 0.2  # sides that miss a surface by more have stretches that are no paper's edge
_STRAY_PX, _MOST_STRAYS = 0.3, 0.35  # what is none misses by more; more of it, and nothing is sure
_LEAST_LEFT = 8  # samples of each side
_BETTER = 0.7  # a curl must bring the misses down to this share, or the sheet counts as flat
_FOCAL_SPREAD = 0.15  # of its logarithm: phones with other lenses
_BOW_SPREAD, _RIM_SPREAD = 0.08, 0.04  # of lenses whose pictures are not straightened, or too much
_LIFT_SPREAD_MM = 25.0  # of sheets that lie on a table
_LENS_WEIGHT_PX = 0.5
_LEFT_OVER_PX = 0.1
_STARTS = 8
_RIGIDITY_PX = 3000.0  # what a departure by 1 from square, or of one side's scale, counts
_PRIORS = 6  # residuals that are none of the sides'
_STEPS = np.array([0.1] * 8 + [1e-3, 0.2, 1e-3, 1e-3, 1e-4, 1e-4])  # for differences
_LIMITS = np.array([np.inf] * 8 + [0.4, 30.0, 2.0, 0.2, 0.02, 0.02])  # of one step


def fitted_surface(
    sides: list[Side],
    size_mm: tuple[float, float],
    frame_px: tuple[int, int],
    *,
    rigid: bool = False,
    bow: float = 0.0,
) -> Surface:
    """Return the surface whose sides come closest to the measured ones.

    Args:
        sides: Top, right, bottom, left.
        size_mm: Width and height as the sheet lies in the picture.
        frame_px: The picture's columns and rows.
        rigid: The corners must be those of a rectangle of this size for the camera: three sides that
            are seen do not hold the fourth by themselves.
        bow: Of the lens, a guess, as for ``lens.bowed``.
    """
    problem = _Problem(sides, size_mm, frame_px, rigid)
    start = flat_parameters(straightened(np.stack([side.start_px for side in sides]), bow, frame_px))
    start[LENS_BOW] = bow
    best = _fitted(problem, start)
    if problem.error_px(best) > _RAGGED_PX and problem.leave_out_strays(best):
        best = _fitted(problem, best)
    inward = np.stack([side.inward for side in sides])
    return Surface(*size_mm, frame_px, best, problem.left_over(best), inward, problem.error_px(best))


def _fitted(problem: _Problem, start: Array) -> Array:
    """Return the simplest surface that explains the sides."""
    plain = start.copy()
    plain[[CURL_ANGLE, CURL_START, CURL_BEND]] = 0.0
    flat = problem.refined(plain, free=np.arange(8), rounds=12)
    return flat if problem.error_px(flat) <= _CURLED_PX else _bent(problem, flat)


def _bent(problem: _Problem, flat: Array) -> Array:
    """Return why the sides are not straight: the lens, a curl, both, or nothing that is known.

    The simpler reason is taken where the other explains the sides but little better.
    """
    bowed = problem.refined(flat, np.array([*range(8), LENS_BOW]), rounds=20)
    tries = [bowed]
    if problem.error_px(bowed) > _CURLED_PX:
        tries.append(problem.refined(bowed, np.array([*range(8), LENS_BOW, LENS_RIM]), rounds=20))
    tries.append(problem.best_curl(flat, np.arange(LENS_BOW)))
    if min(problem.error_px(trial) for trial in tries) > _ODD_PX:
        tries.append(problem.best_curl(tries[-2], np.arange(PARAMETERS_COUNT)))
    best = flat
    for trial in tries:
        if problem.error_px(trial) < _BETTER * problem.error_px(best):
            best = trial
    return best


class _Problem:
    """Least squares of a surface's sides against the measured sides."""

    def __init__(
        self, sides: list[Side], size_mm: tuple[float, float], frame_px: tuple[int, int], rigid: bool
    ) -> None:
        self.rigidity_px = _RIGIDITY_PX if rigid else 0.0
        self.size_mm, self.frame_px = size_mm, frame_px
        self.odd_px = _NOTHING_ODD_PX
        corners = corners_mm(*size_mm)
        share = np.linspace(0.0, 1.0, _SAMPLES)[:, None]
        self.rim_mm = np.concatenate(
            [corners[k] + share * (corners[(k + 1) % 4] - corners[k]) for k in range(4)]
        )
        self.known = np.concatenate([_well_seen(side) for side in sides])
        self.frames = np.stack([[*s.start_px, *s.along, *s.inward, s.length_px] for s in sides])
        self.curves = np.stack([_as_powers(side.coefficients) for side in sides])

    def residuals(self, parameters: Array) -> Array:
        """Return how far off the measured sides the model's are, px, and how unlikely its lens is."""
        return np.asarray(
            _residuals(
                parameters,
                self.rim_mm,
                self.known,
                self.frames,
                self.curves,
                *self.size_mm,
                *self.frame_px,
                self.odd_px,
                self.rigidity_px,
            ),
            np.float64,
        )

    def slopes(self, parameters: Array, off: Array, free: NDArray[np.int64]) -> Array:
        """Return the derivatives of the residuals, (n, parameters that are free)."""
        columns = []
        for k in free:
            moved = parameters.copy()
            moved[k] += _STEPS[k]
            columns.append((self.residuals(moved) - off) / _STEPS[k])
        return np.stack(columns, axis=1)

    def error_px(self, parameters: Array) -> float:
        """Return the root mean square distance of the sides, px."""
        off = self.residuals(parameters)[:-_PRIORS]
        return float(np.sqrt((off**2).sum() / max(self.known.sum(), 1.0)))

    def refined(self, start: Array, free: NDArray[np.int64], rounds: int) -> Array:
        """Return the parameters after least squares steps from a start.

        Source: Levenberg (1944), Marquardt (1963).
        """
        best, off = start.copy(), self.residuals(start)
        cost, damping = float(off @ off), 1e-3
        for _ in range(rounds):
            slopes = self.slopes(best, off, free)
            square, downhill = slopes.T @ slopes, slopes.T @ off
            while damping < 1e7:
                shift = np.linalg.solve(square + damping * np.diag(np.diag(square) + 1e-9), -downhill)
                trial = best.copy()
                trial[free] += np.clip(shift, -_LIMITS[free], _LIMITS[free])
                trial_off = self.residuals(trial)
                trial_cost = float(trial_off @ trial_off)
                if trial_cost < cost:
                    break
                damping *= 6
            else:
                break
            gained = cost - trial_cost
            best, off, cost, damping = trial, trial_off, trial_cost, max(damping / 5, 1e-9)
            if gained < 1e-5 * cost + 1e-9:
                break
        return best

    def leave_out_strays(self, best: Array) -> bool:
        """Forget the stretches of sides that no surface explains; say whether enough is left.

        A pen along an edge bends the side that is measured there. Most sheets are flat, so that is tried too.

        Source: Cauchy's loss for what is odd, as in Huber, Robust Statistics, 1981.
        """
        self.odd_px = _ODD_PX
        lens, everything = np.array([*range(8), LENS_BOW]), np.arange(PARAMETERS_COUNT)
        plain = best.copy()
        plain[[CURL_ANGLE, CURL_START, CURL_BEND]] = 0.0
        tries = [self.refined(plain, lens, rounds=30), self.refined(best, everything, rounds=30)]
        self.odd_px = _NOTHING_ODD_PX
        seen = self.known > 0
        strays = [np.abs(self.residuals(trial)[:-_PRIORS]) > _STRAY_PX for trial in tries]
        fewest = min(strays, key=lambda stray: int((stray & seen).sum()))
        sides = (seen & ~fewest).reshape(4, _SAMPLES).sum(axis=1)
        wanted = (1 - _MOST_STRAYS) * seen.sum()
        if (seen & ~fewest).sum() < wanted or (
            sides[seen.reshape(4, _SAMPLES).any(axis=1)] < _LEAST_LEFT
        ).any():
            return False
        self.known = np.where(fewest, 0.0, self.known)
        return True

    def best_curl(self, flat: Array, free: NDArray[np.int64]) -> Array:
        """Return the best of the curls that the most promising starts lead to."""
        tries = [self.refined(start, free, rounds=10) for start in self._curled_starts(flat)]
        tries.sort(key=self.error_px)
        finals = [self.refined(trial, free, rounds=40) for trial in tries[:2]]
        best = min(finals, key=self.error_px)
        self.odd_px = max(_ODD_PX, 1.5 * self.error_px(best))
        polished = self.refined(best, free, rounds=40)
        self.odd_px = _NOTHING_ODD_PX
        return polished

    def _curled_starts(self, flat: Array) -> list[Array]:
        """Return the most promising curls, of all directions and lines tried with a small curvature."""
        trials: list[tuple[float, Array]] = []
        off = self.residuals(flat)
        corners = np.linalg.qr(self.slopes(flat, off, np.arange(8)))[0]
        reach_mm = math.hypot(*self.size_mm) / 2
        left = off - corners @ (corners.T @ off)
        for angle_rad in np.arange(24) * (2 * np.pi / 24):
            for share in (-0.3, 0.0, 0.3):
                trial = flat.copy()
                trial[CURL_ANGLE], trial[CURL_START] = angle_rad, share * reach_mm
                slope = self.slopes(trial, off, np.array([CURL_BEND]))[:, 0]
                slope -= corners @ (corners.T @ slope)  # what moving the corners cannot do as well
                bend = float(-(slope @ left) / max(float(slope @ slope), 1e-12))
                trial[CURL_BEND] = np.clip(bend, -4.0, 4.0)
                missed = left + slope * trial[CURL_BEND]
                trials.append((float(missed @ missed), trial))
        trials.sort(key=lambda pair: pair[0])
        return [trial for _, trial in trials[:_STARTS]]

    def left_over(self, parameters: Array) -> tuple[Array, Array, Array, Array] | None:
        """Return the smooth displacement of each side that the model misses, None if it is all noise."""
        off = self.residuals(parameters)[:-_PRIORS].reshape(4, _SAMPLES)
        known = self.known.reshape(4, _SAMPLES)
        place = np.linspace(-1, 1, _SAMPLES)
        basis = np.polynomial.legendre.legvander(place, 4)
        hollow = basis[:, 2:] - basis[:, [0, 1, 0]]  # these vanish at both corners
        curves = []
        for k in range(4):
            weight = known[k] + 1e-3
            c2, c3, c4 = np.linalg.lstsq(hollow * weight[:, None], -off[k] * weight, rcond=None)[0]
            curves.append(np.array([-c2 - c4, -c3, c2, c3, c4]))
        amounts = [np.abs(np.polynomial.legendre.legval(place, curve)).max() for curve in curves]
        return None if max(amounts) < _LEFT_OVER_PX else (curves[0], curves[1], curves[2], curves[3])


@njit(cache=True, nogil=True)
def _residuals(
    parameters: Array,
    rim_mm: Array,
    known: Array,
    frames: Array,
    curves: Array,
    width_mm: float,
    height_mm: float,
    columns: int,
    rows: int,
    odd_px: float,
    rigidity_px: float,
) -> Array:
    """Return the distance of each point of the model's rim from the measured side, and how odd it is else.

    Distances are bent so that their squares grow as Cauchy's loss does, of scale ``odd_px``.
    """
    seen = projected(parameters, rim_mm, width_mm, height_mm, columns, rows)
    off = np.empty(len(rim_mm) + _PRIORS)
    for k in range(len(rim_mm)):
        side = k // _SAMPLES
        x, y = seen[k, 0] - frames[side, 0], seen[k, 1] - frames[side, 1]
        along = (x * frames[side, 2] + y * frames[side, 3]) / frames[side, 6]
        place = 2.0 * min(max(along, -0.02), 1.02) - 1.0
        curve = 0.0
        for power in range(CURVE_DEGREE, -1, -1):
            curve = curve * place + curves[side, power]
        miss = (x * frames[side, 4] + y * frames[side, 5] - curve) * known[k] / odd_px
        off[k] = math.copysign(odd_px * math.sqrt(math.log1p(miss * miss)), miss)
    skew, stretch = unlike_rectangle(parameters, width_mm, height_mm, columns, rows)
    off[-4], off[-3] = rigidity_px * skew, rigidity_px * stretch
    reach_mm = _reach_mm(parameters, width_mm, height_mm)
    lift_mm = parameters[CURL_BEND] / 1000.0 * reach_mm * reach_mm / 2.0
    off[-6] = _LENS_WEIGHT_PX * parameters[LENS_RIM] / _RIM_SPREAD
    off[-5] = _LENS_WEIGHT_PX * lift_mm / _LIFT_SPREAD_MM
    off[-2] = _LENS_WEIGHT_PX * (parameters[LOG_FOCAL] - math.log(FOCAL_TO_LONG_SIDE)) / _FOCAL_SPREAD
    off[-1] = _LENS_WEIGHT_PX * parameters[LENS_BOW] / _BOW_SPREAD
    return off


@njit(cache=True, nogil=True)
def _reach_mm(parameters: Array, width_mm: float, height_mm: float) -> float:
    """Return how far the sheet goes on behind the line where its curl starts."""
    across, down = math.cos(parameters[CURL_ANGLE]), math.sin(parameters[CURL_ANGLE])
    reach_mm = (abs(across) * width_mm + abs(down) * height_mm) / 2.0 - parameters[CURL_START]
    return float(max(reach_mm, 0.0))


def _as_powers(coefficients: Array) -> Array:
    """Return a Legendre series as CURVE_DEGREE + 1 coefficients of the powers (numpy leaves out zeros)."""
    powers = np.polynomial.legendre.leg2poly(coefficients)
    return np.pad(np.asarray(powers, np.float64), (0, CURVE_DEGREE + 1 - len(powers)))


def _well_seen(side: Side) -> Array:
    """Return 1 for each of a side's model samples near which the side was measured, else 0.

    Next to a covered stretch the measure is bent towards what covers it, so a sample's
    neighbours must be seen as well.
    """
    places = np.linspace(0, side.length_px, _SAMPLES)
    if not len(side.seen):
        return np.zeros(_SAMPLES)
    nearest = np.abs(places[:, None] - side.seen[None, :, 0]).min(axis=1)
    seen = np.pad(nearest < 1.2 * side.length_px / _SAMPLES, 1, mode="edge")
    return np.asarray(seen[:-2] & seen[1:-1] & seen[2:], np.float64)
