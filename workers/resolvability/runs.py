"""Centre lines cut into runs of one verdict."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from workers.resolvability.centre_lines import CentreLine
from workers.values.examination import Judged, Verdict

Points = NDArray[np.float64]  # (n, 3) x, y, width
Changed = Callable[[Points], NDArray[np.bool_]]  # tells where a repair has moved the outline


def unchanged(points_mm: Points) -> NDArray[np.bool_]:
    """Say of every point that no repair has touched the outline beside it."""
    return np.zeros(len(points_mm), np.bool_)


def judged_runs(
    line: CentreLine,
    limits_mm: Sequence[float],
    verdicts: Sequence[Verdict],
    least_run_mm: float,
    is_changed: Changed = unchanged,
) -> list[Judged]:
    """Return a centre line as runs, each with its verdict and either changed or not.

    Args:
        line: The stroke or gap.
        limits_mm: Rising widths at which the verdict changes.
        verdicts: One more than limits: the verdict below the first, between them, above the last.
        least_run_mm: A shorter run takes the verdict of the longer of its neighbours: nobody
            sees it as a stroke of its own. Its width still counts for ``narrowest_mm``.
        is_changed: Where a repair has moved the outline.
    """
    if len(line.points_mm) == 1:
        return [_dot(line, limits_mm, verdicts, is_changed)]
    line = cut_at(line, limits_mm)
    middles_mm = (line.points_mm[:-1] + line.points_mm[1:]) / 2
    levels = np.searchsorted(limits_mm, middles_mm[:, 2], side="right")
    changed = is_changed(middles_mm).astype(np.int64)
    return [
        _judged(line, piece, verdicts[level], repaired=bool(repaired))
        for level, run in _stretches(levels, line.lengths_mm, slice(0, len(levels)), least_run_mm)
        for repaired, piece in _stretches(changed, line.lengths_mm, run, least_run_mm)
    ]


def _stretches(
    kinds: NDArray[np.int64], lengths_mm: NDArray[np.float64], within: slice, least_mm: float
) -> Iterator[tuple[int, slice]]:
    """Yield kind and place of the stretches of one kind, short ones counted to a neighbour."""
    starts = np.flatnonzero(np.diff(kinds[within], prepend=-1))
    runs = _merged(
        kinds[within][starts].tolist(),
        np.add.reduceat(lengths_mm[within], starts).tolist(),
        (starts + within.start).tolist(),
        least_mm,
    )
    ends = [start for _, start in runs[1:]] + [within.stop]
    for (kind, start), end in zip(runs, ends, strict=True):
        yield kind, slice(start, end)


def _dot(
    line: CentreLine, limits_mm: Sequence[float], verdicts: Sequence[Verdict], is_changed: Changed
) -> Judged:
    x_mm, y_mm, width_mm = (float(value) for value in line.points_mm[0])
    return Judged(
        verdict=verdicts[int(np.searchsorted(limits_mm, width_mm, side="right"))],
        width_mm=width_mm,
        narrowest_mm=width_mm,
        length_mm=width_mm,
        at_mm=(x_mm, y_mm),
        line_mm=line.points_mm[:, :2],
        repaired=bool(is_changed(line.points_mm)[0]),
    )


def cut_at(line: CentreLine, limits_mm: Sequence[float]) -> CentreLine:
    """Return the line with a point wherever its width passes a limit."""
    points_mm = line.points_mm
    for limit_mm in limits_mm:
        above = points_mm[:, 2] >= limit_mm
        across = np.flatnonzero(above[1:] != above[:-1])
        start_mm, end_mm = points_mm[across], points_mm[across + 1]
        share = (limit_mm - start_mm[:, 2]) / (end_mm[:, 2] - start_mm[:, 2])
        points_mm = np.insert(points_mm, across + 1, start_mm + share[:, None] * (end_mm - start_mm), axis=0)
    return CentreLine(points_mm)


def _merged(
    kinds: list[int], lengths_mm: list[float], starts: list[int], least_mm: float
) -> list[tuple[int, int]]:
    """Return (kind, start) of the runs that are left once short ones have joined a neighbour."""
    while len(kinds) > 1:
        shortest = min(range(len(kinds)), key=lengths_mm.__getitem__)
        if lengths_mm[shortest] >= least_mm:
            break
        beside = [number for number in (shortest - 1, shortest + 1) if 0 <= number < len(kinds)]
        kinds[shortest] = kinds[max(beside, key=lengths_mm.__getitem__)]
        for number in (shortest + 1, shortest):  # join what is now alike
            if 0 < number < len(kinds) and kinds[number] == kinds[number - 1]:
                lengths_mm[number - 1] += lengths_mm[number]
                del kinds[number], lengths_mm[number], starts[number]
    return list(zip(kinds, starts, strict=True))


def _judged(line: CentreLine, pieces: slice, verdict: Verdict, *, repaired: bool) -> Judged:
    points_mm = line.points_mm[pieces.start : pieces.stop + 1]
    lengths_mm = line.lengths_mm[pieces]
    along_mm = np.concatenate([[0.0], np.cumsum(lengths_mm)])
    x_mm, y_mm = (float(np.interp(along_mm[-1] / 2, along_mm, points_mm[:, axis])) for axis in (0, 1))
    return Judged(
        verdict=verdict,
        width_mm=_median(np.add(points_mm[1:, 2], points_mm[:-1, 2]) / 2, lengths_mm),
        narrowest_mm=float(points_mm[:, 2].min()),
        length_mm=float(lengths_mm.sum()),
        at_mm=(x_mm, y_mm),
        line_mm=points_mm[:, :2],
        repaired=repaired,
    )


def _median(values: NDArray[np.float64], weights: NDArray[np.float64]) -> float:
    """Return the value that half the weight lies below."""
    order = np.argsort(values, kind="stable")
    below = np.cumsum(weights[order])
    return float(values[order][int(np.searchsorted(below, below[-1] / 2))])
