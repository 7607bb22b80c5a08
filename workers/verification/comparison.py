"""The carved surface against the designed one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from workers.simulation.bands import in_bands
from workers.values.proof import Deviation
from workers.verification.grid import Grid

_BIN_MM = 0.0005  # the 99.9th percentile is known to half a micrometre
_BINS = 20_000  # to 10 mm
_SIDES = 2  # over, under


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Both sides of the difference, and where each is greatest."""

    overcut: Deviation
    undercut: Deviation
    overcut_at_mm: tuple[float, float] | None
    undercut_at_mm: tuple[float, float] | None
    compared_cells: int


@njit(cache=True, nogil=True)
def _compare_rows(
    carved_mm: NDArray[np.float32],
    designed_mm: NDArray[np.float32],
    first_row: int,
    last_row: int,
    through_mm: float,
    tolerance_mm: float,
    histogram: NDArray[np.int64],
    greatest_mm: NDArray[np.float64],
    places: NDArray[np.int64],
    beyond: NDArray[np.int64],
) -> None:
    """Count the differences of one band; side 0 is cut too deep, side 1 not deep enough."""
    for row in range(first_row, last_row):
        for column in range(carved_mm.shape[1]):
            carved, designed = carved_mm[row, column], designed_mm[row, column]
            if not (carved > 0 or designed > 0) or np.isnan(designed):
                continue
            difference = float(carved) - float(designed)
            side = 0 if difference > 0 else 1
            size = abs(difference)
            if side == 0 and designed >= through_mm:
                size = 0.0
            histogram[side, min(int(size / _BIN_MM), _BINS - 1)] += 1
            histogram[1 - side, 0] += 1
            if size > greatest_mm[side]:
                greatest_mm[side] = size
                places[side, 0], places[side, 1] = row, column
            if size > tolerance_mm:
                beyond[side] += 1


def compare(
    carved_mm: NDArray[np.float32],
    designed_mm: NDArray[np.float32],
    grid: Grid,
    thickness_mm: float,
    tolerance_mm: float,
) -> Comparison:
    """Return how far the carved surface is from the designed one, over cells that were or should be cut.

    Args:
        carved_mm: Depth by simulation.
        designed_mm: Depth by design; not a number where it says nothing.
        grid: Where the cells are.
        thickness_mm: Of the board: where the design goes through, deeper is no overcut.
        tolerance_mm: Beyond which a cell's area counts.
    """
    histograms: dict[int, NDArray[np.int64]] = {}
    greatest: dict[int, NDArray[np.float64]] = {}
    places: dict[int, NDArray[np.int64]] = {}
    beyond: dict[int, NDArray[np.int64]] = {}

    def count(first: int, last: int) -> None:
        histograms[first] = np.zeros((_SIDES, _BINS), np.int64)
        greatest[first] = np.zeros(_SIDES)
        places[first] = np.zeros((_SIDES, 2), np.int64)
        beyond[first] = np.zeros(_SIDES, np.int64)
        _compare_rows(
            carved_mm,
            designed_mm,
            first,
            last,
            float(np.float32(thickness_mm)),  # as the field holds it: 19.05 is not quite 19.05 there
            tolerance_mm,
            histograms[first],
            greatest[first],
            places[first],
            beyond[first],
        )

    in_bands(grid.rows, count)
    histogram = np.sum(list(histograms.values()), axis=0)
    cells = int(histogram[0].sum())
    sides = []
    for side in range(_SIDES):
        worst = max(sorted(greatest), key=lambda band: greatest[band][side])
        row, column = places[worst][side].tolist()
        at_mm = grid.centre_of(row, column) if greatest[worst][side] > 0 else None
        deviation = Deviation(
            max_mm=float(greatest[worst][side]),
            p999_mm=_percentile_mm(histogram[side], 0.999),
            area_mm2=float(sum(band[side] for band in beyond.values())) * grid.cell_mm**2,
        )
        sides.append((deviation, at_mm))
    return Comparison(
        overcut=sides[0][0],
        undercut=sides[1][0],
        overcut_at_mm=sides[0][1],
        undercut_at_mm=sides[1][1],
        compared_cells=cells,
    )


def _percentile_mm(histogram: NDArray[np.int64], share: float) -> float:
    """Upper edge of the bin in which that share of all cells is reached; 0 in the first."""
    total = int(histogram.sum())
    if not total:
        return 0.0
    place = int(np.searchsorted(np.cumsum(histogram), share * total))
    return (place + 1) * _BIN_MM if place else 0.0
