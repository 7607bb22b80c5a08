"""What would make all of a drawing show: its size, or another bit."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.vee import reach_mm
from workers.resolvability.centre_lines import CentreLine, measured
from workers.resolvability.limits import Limits, limits_of
from workers.resolvability.runs import cut_at, judged_runs
from workers.values.cuts import InciseCut
from workers.values.cutter import Cutter, VeeCutter
from workers.values.examination import Verdict
from workers.values.material import Material
from workers.values.region import Region

_POINTED_BELOW_MM = 0.05  # a stroke that ends as narrow as this was drawn to a point
_SCALE_STEP = 1.002  # how exactly the smallest scale is found
_FAINT_OR_SHOWS = (Verdict.FAINT, Verdict.SHOWS)
_SAME_FRACTION = 1e-3  # bits whose shares differ by less are equally good


@dataclass(frozen=True, slots=True, kw_only=True)
class BitShare:
    """How much of the ink's length a bit would make show."""

    bit: str
    shows_fraction: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """The smallest size at which everything shows, and what each bit on hand would show at this size."""

    smallest_scale: float | None  # of the present size; None where no size would help
    smallest_width_mm: float | None  # of the ink, at that scale
    bits: tuple[BitShare, ...]  # best first
    sentences: tuple[str, ...]


def advise(region: Region, cut: InciseCut, material: Material, bits: Sequence[Cutter] = ()) -> Advice:
    """Return what would make all ink show.

    A stroke drawn to a point fades there at any size, so of such an end only the part counts
    that is at least half as wide as the stroke becomes.

    Args:
        region: The ink.
        cut: The bit chosen and the depth limit.
        material: Gives the depth that shows.
        bits: The bits on hand; other kinds than V-bits are passed over.
    """
    strokes = measured(region).strokes
    scale = _smallest_scale(strokes, limits_of(cut, material))
    left, _, right, _ = region.polygons.bounds
    width_mm = None if scale is None else scale * (right - left)
    shares = _shares(strokes, cut, material, bits)
    return Advice(
        smallest_scale=scale,
        smallest_width_mm=width_mm,
        bits=shares,
        sentences=tuple(_sentences(scale, width_mm, shares, cut, material)),
    )


def shows_fraction(strokes: Sequence[CentreLine], cut: InciseCut, material: Material) -> float:
    """Return the share of the strokes' length that is wide enough to show; 1 where there are none."""
    widths_mm, lengths_mm = _pieces(strokes)
    total_mm = float(lengths_mm.sum())
    showing_mm = float(lengths_mm[widths_mm >= limits_of(cut, material).shows_from_mm].sum())
    return showing_mm / total_mm if total_mm else 1.0


def _pieces(strokes: Sequence[CentreLine]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return width and length of all pieces of all strokes; a dot is as long as wide."""
    widths_mm, lengths_mm = [np.empty(0)], [np.empty(0)]
    for line in strokes:
        is_dot = len(line.points_mm) == 1
        width_mm = line.points_mm[:, 2]
        widths_mm.append(width_mm if is_dot else (width_mm[1:] + width_mm[:-1]) / 2)
        lengths_mm.append(width_mm if is_dot else line.lengths_mm)
    return np.concatenate(widths_mm), np.concatenate(lengths_mm)


def _smallest_scale(strokes: Sequence[CentreLine], limits: Limits) -> float | None:
    """Return the smallest scale at which an examination would find every stroke to show."""
    if not strokes or math.isinf(limits.shows_from_mm):
        return None
    lines = [_without_points(line) for line in strokes]
    low = limits.shows_from_mm / max(line.points_mm[:, 2].max() for line in lines)
    high = limits.shows_from_mm / max(min(line.points_mm[:, 2].min() for line in lines), 1e-6)
    while high > low * _SCALE_STEP:
        middle = math.sqrt(low * high)
        low, high = (low, middle) if _all_show(lines, limits, middle) else (middle, high)
    return float(high)


def _all_show(lines: Sequence[CentreLine], limits: Limits, scale: float) -> bool:
    """Tell whether every stroke would show at another scale."""
    shows_from_mm, least_run_mm = limits.shows_from_mm / scale, limits.least_run_mm / scale
    return all(
        line.points_mm[:, 2].min() >= shows_from_mm
        or {run.verdict for run in judged_runs(line, (shows_from_mm,), _FAINT_OR_SHOWS, least_run_mm)}
        == {Verdict.SHOWS}
        for line in lines
    )


def _without_points(line: CentreLine) -> CentreLine:
    """Return a stroke without the points it runs out into."""
    line = cut_at(line, [float(line.points_mm[:, 2].max()) / 2])
    width_mm = line.points_mm[:, 2]
    start = _point_length(width_mm)
    end = len(width_mm) - _point_length(width_mm[::-1])
    if start >= end:
        start, end = int(width_mm.argmax()), int(width_mm.argmax()) + 1
    return CentreLine(line.points_mm[start:end])


def _point_length(width_mm: NDArray[np.float64]) -> int:
    """Return how many of the first widths belong to a point the stroke runs out into."""
    if width_mm[0] >= _POINTED_BELOW_MM:
        return 0
    wide = np.flatnonzero(width_mm >= width_mm.max() / 2)
    falling = np.flatnonzero(np.diff(width_mm) < 0)
    return int(min(wide[0], falling[0] if len(falling) else wide[0]))


def _shares(
    strokes: Sequence[CentreLine], cut: InciseCut, material: Material, bits: Sequence[Cutter]
) -> tuple[BitShare, ...]:
    """Return what each V-bit shows: most first, then the one chosen, then the widest angle."""
    vees = [bit for bit in bits if isinstance(bit, VeeCutter) and bit.name != cut.cutter.name]
    ranked = []
    for bit in [cut.cutter, *vees]:
        limit_mm = min(cut.depth_limit_mm, reach_mm(bit))
        other = dataclasses.replace(cut, cutter=bit, depth_limit_mm=limit_mm)
        share = shows_fraction(strokes, other, material)
        ranked.append(
            (-round(share / _SAME_FRACTION), bit is not cut.cutter, -bit.included_angle_deg, bit.name, share)
        )
    return tuple(BitShare(bit=name, shows_fraction=share) for *_, name, share in sorted(ranked))


def _sentences(
    scale: float | None,
    width_mm: float | None,
    shares: Sequence[BitShare],
    cut: InciseCut,
    material: Material,
) -> list[str]:
    sentences = []
    if scale is None or width_mm is None:
        sentences.append(
            f"No size helps: the depth limit of {cut.depth_limit_mm:.2f} mm is less than the "
            f"{material.shows_depth_mm:.2f} mm that show in {material.title}."
            if math.isinf(limits_of(cut, material).shows_from_mm)
            else "There is no ink."
        )
    elif scale > 1:
        sentences.append(
            f"With {cut.cutter.name} all ink shows from a width of {width_mm:.0f} mm on: "
            f"{scale:.2f} times the present size."
        )
    else:
        sentences.append(f"With {cut.cutter.name} all ink would still show at a width of {width_mm:.0f} mm.")
    chosen = next(share for share in shares if share.bit == cut.cutter.name)
    if shares[0].bit != chosen.bit:
        sentences.append(
            f"At the present size {shares[0].bit} shows most: {shares[0].shows_fraction:.0%} "
            f"of the ink's length, {chosen.bit} {chosen.shows_fraction:.0%}."
        )
    return sentences
