"""What would make all of a drawing show: its size, another bit, another depth limit; and what each costs."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from workers.geometry.vee import flank_slope, reach_mm
from workers.resolvability.centre_lines import CentreLine, measured
from workers.resolvability.limits import Limits, limits_of
from workers.resolvability.minutes import vee_minutes
from workers.resolvability.runs import cut_at, judged_runs
from workers.values.cuts import InciseCut
from workers.values.cutter import Cutter, VeeCutter
from workers.values.examination import Verdict
from workers.values.machine import Machine
from workers.values.material import Material
from workers.values.region import Region

_POINTED_BELOW_MM = 0.05  # a stroke that ends as narrow as this was drawn to a point
_SCALE_STEP = 1.002  # how exactly the smallest scale is found
_TOLD_FROM = 0.005  # of the ink's length: a better bit than that is worth a word
_FAINT_OR_SHOWS = (Verdict.FAINT, Verdict.SHOWS)
_SAME_FRACTION = 1e-3  # bits whose shares differ by less are equally good


@dataclass(frozen=True, slots=True, kw_only=True)
class BitShare:
    """How much of the ink's length a bit would make show, and how long it would run."""

    bit: str
    shows_fraction: float
    minutes: float  # of the V-bit; an end mill that clears floors comes on top


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitShare:
    """What a depth limit would make show, and how long the bit would run."""

    depth_limit_mm: float
    shows_fraction: float
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """The smallest size at which everything shows; what bits on hand and depth limits show at this size."""

    smallest_scale: float | None  # of the present size; None where no size would help
    smallest_width_mm: float | None  # of the ink, at that scale
    smallest_minutes: float | None
    bits: tuple[BitShare, ...]  # best first
    depth_limits: tuple[LimitShare, ...]  # the shallowest first
    sentences: tuple[str, ...]


def advise(
    region: Region, cut: InciseCut, material: Material, machine: Machine, bits: Sequence[Cutter] = ()
) -> Advice:
    """Return what would make all ink show, and what it costs in minutes.

    A stroke drawn to a point fades there at any size, so of such an end only the part counts
    that is at least half as wide as the stroke becomes.

    Args:
        region: The ink as drawn: a repaired drawing shows at its own size anyway.
        cut: The bit chosen and the depth limit.
        material: Gives the depth that shows.
        machine: Gives the speeds.
        bits: The bits on hand; other kinds than V-bits are passed over.
    """
    strokes = measured(region).strokes
    scale = _smallest_scale(strokes, limits_of(cut, material))
    left, _, right, _ = region.polygons.bounds
    width_mm = None if scale is None else scale * (right - left)
    shares = _shares(region, cut, material, machine, bits)
    limits = _limit_shares(region, cut, material, machine)
    minutes = None if scale is None else vee_minutes(region, cut, material, machine, scale)
    return Advice(
        smallest_scale=scale,
        smallest_width_mm=width_mm,
        smallest_minutes=minutes,
        bits=shares,
        depth_limits=limits,
        sentences=tuple(_sentences(scale, width_mm, minutes or 0.0, shares, limits, cut, material)),
    )


def shows_fraction(strokes: Sequence[CentreLine], cut: InciseCut, material: Material) -> float:
    """Return the share of the strokes' length that an examination finds to show; 1 where there are none."""
    limits = limits_of(cut, material)
    total_mm = showing_mm = 0.0
    for line in strokes:
        length_mm = float(line.lengths_mm.sum()) or float(line.points_mm[0, 2])  # a dot is as long as wide
        total_mm += length_mm
        showing_mm += length_mm - _faint_mm(line, limits)
    return showing_mm / total_mm if total_mm else 1.0


def _faint_mm(line: CentreLine, limits: Limits) -> float:
    """Return how much of a stroke would not show."""
    if line.points_mm[:, 2].min() >= limits.shows_from_mm:
        return 0.0
    runs = judged_runs(line, (limits.shows_from_mm,), _FAINT_OR_SHOWS, limits.least_run_mm)
    return sum(run.length_mm for run in runs if run.verdict is Verdict.FAINT)


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
    smaller = dataclasses.replace(limits, shows_from_mm=limits.shows_from_mm / scale)
    least_run_mm = limits.least_run_mm / scale
    return all(
        line.points_mm[:, 2].min() >= smaller.shows_from_mm
        or {run.verdict for run in judged_runs(line, (smaller.shows_from_mm,), _FAINT_OR_SHOWS, least_run_mm)}
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
    region: Region, cut: InciseCut, material: Material, machine: Machine, bits: Sequence[Cutter]
) -> tuple[BitShare, ...]:
    """Return what each V-bit shows: most first, then the one chosen, then the widest angle."""
    strokes = measured(region).strokes
    vees = [bit for bit in bits if isinstance(bit, VeeCutter) and bit.name != cut.cutter.name]
    ranked = []
    for bit in [cut.cutter, *vees]:
        limit_mm = min(cut.depth_limit_mm, reach_mm(bit))
        other = dataclasses.replace(cut, cutter=bit, depth_limit_mm=limit_mm)
        share = BitShare(
            bit=bit.name,
            shows_fraction=shows_fraction(strokes, other, material),
            minutes=vee_minutes(region, other, material, machine),
        )
        rank = (-round(share.shows_fraction / _SAME_FRACTION), bit is not cut.cutter, -bit.included_angle_deg)
        ranked.append((rank, bit.name, share))
    return tuple(share for *_, share in sorted(ranked, key=lambda entry: entry[:2]))


def _limit_shares(
    region: Region, cut: InciseCut, material: Material, machine: Machine
) -> tuple[LimitShare, ...]:
    """Return what depth limits show: the least that shows anything, the one asked, and one without floors."""
    widest_mm = max((line.points_mm[:, 2].max() for line in measured(region).strokes), default=0.0)
    deepest_mm = (float(widest_mm) - cut.cutter.tip_mm) / (2 * flank_slope(cut.cutter))
    wanted = {material.shows_depth_mm, cut.depth_limit_mm, max(deepest_mm, material.shows_depth_mm)}
    others = [
        dataclasses.replace(cut, depth_limit_mm=limit_mm)
        for limit_mm in sorted(min(limit_mm, reach_mm(cut.cutter)) for limit_mm in wanted)
    ]
    return tuple(
        LimitShare(
            depth_limit_mm=other.depth_limit_mm,
            shows_fraction=shows_fraction(measured(region).strokes, other, material),
            minutes=vee_minutes(region, other, material, machine),
        )
        for other in dict.fromkeys(others)
    )


def _sentences(
    scale: float | None,
    width_mm: float | None,
    minutes: float,
    shares: Sequence[BitShare],
    limits: Sequence[LimitShare],
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
            f"As drawn, all ink shows with {cut.cutter.name} from a width of {width_mm:.0f} mm on: "
            f"{scale:.2f} times the present size, cut in about {in_minutes(minutes)}."
        )
    else:
        sentences.append(
            f"As drawn, all ink would still show with {cut.cutter.name} at a width of {width_mm:.0f} mm."
        )
    chosen = next(share for share in shares if share.bit == cut.cutter.name)
    if shares[0].shows_fraction - chosen.shows_fraction >= _TOLD_FROM:
        sentences.append(
            f"At the present size {shares[0].bit} shows most: {in_percent(shares[0].shows_fraction)} "
            f"of the ink's length in about {in_minutes(shares[0].minutes)}, "
            f"{chosen.bit} {in_percent(chosen.shows_fraction)} in {in_minutes(chosen.minutes)}."
        )
    sentences += _on_limits(limits, cut, chosen.shows_fraction)
    return sentences


def _on_limits(limits: Sequence[LimitShare], cut: InciseCut, shown: float) -> list[str]:
    """Return a sentence on the depth limit: the least that shows most, and from where no floors are left."""
    most = max(limit.shows_fraction for limit in limits)
    least = next(limit for limit in limits if limit.shows_fraction >= most - _SAME_FRACTION)
    deepest = limits[-1]
    if most > shown + _SAME_FRACTION:
        gain = f"would show {in_percent(most)} of the ink's length, in about {in_minutes(least.minutes)}"
        return [f"A depth limit of {least.depth_limit_mm:.2f} mm {gain}."]
    if not most or least.depth_limit_mm >= cut.depth_limit_mm:
        return []
    if deepest.depth_limit_mm > cut.depth_limit_mm:
        more = f"floors are left to clear up to {deepest.depth_limit_mm:.2f} mm"
    else:
        more = "deeper only looks bolder"
    return [f"Any depth limit from {least.depth_limit_mm:.2f} mm on shows as much; {more}."]


def in_percent(fraction: float) -> str:
    """Return a share in words; what is not all is never called 100 %.

    >>> in_percent(1.0), in_percent(0.9987), in_percent(0.504)
    ('100 %', '99 %', '50 %')
    """
    return "100 %" if fraction >= 1 else f"{min(99, round(100 * fraction))} %"


def in_minutes(minutes: float) -> str:
    """Return minutes as one says them of an estimate.

    >>> in_minutes(0.4), in_minutes(1.2), in_minutes(17.8)
    ('half a minute', '1 minute', '18 minutes')
    """
    if minutes < 0.75:
        return "half a minute"
    whole = round(minutes)
    return "1 minute" if whole == 1 else f"{whole} minutes"
