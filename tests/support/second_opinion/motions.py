"""Motions that are wrong by themselves, or for what stands in their way."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import LineString, box

from tests.support.second_opinion.carved import carved_mm, profile_of
from tests.support.second_opinion.moves import Moves, told_of
from tests.support.second_opinion.ordered import ROUNDING_MM, Ordered
from workers.values.cutter import Cutter, Drill, VeeCutter
from workers.values.machine import Machine

TAKEN_MM = 0.03  # off the stock by a traverse


def rapid_objections(moves: Moves, chance: np.random.Generator) -> list[str]:
    """Traverses below the face through what stood before them."""
    below = np.flatnonzero(moves.rapid & (moves.lowest_mm < -TAKEN_MM))
    if len(below) > 80:
        below = np.sort(chance.choice(below, 80, replace=False))
    points, befores, tops, owners = [], [], [], []
    for place in below.tolist():
        radius, flat, slope = profile_of(moves.cutters[moves.bits[place]])
        for share in chance.uniform(0, 1, 4):
            at = moves.starts_mm[place] + share * (moves.ends_mm[place] - moves.starts_mm[place])
            if at[2] >= -TAKEN_MM:
                continue
            wide = min(radius, flat + (-at[2] * slope if math.isfinite(slope) else 0.0))
            for _ in range(6):
                far, turn = wide * math.sqrt(chance.uniform(0, 1)) * 0.97, chance.uniform(0, math.tau)
                points.append(at[:2] + far * np.array([math.cos(turn), math.sin(turn)]))
                tops.append(at[2] + (max(far - flat, 0.0) / slope if math.isfinite(slope) else 0.0))
                befores.append(place)
                owners.append(place)
    if not points:
        return []
    stood = -carved_mm(moves, np.array(points), np.array(befores))
    taken = np.minimum(stood, 0.0) - np.array(tops)
    worst = int(np.argmax(taken))
    if taken[worst] <= TAKEN_MM:
        return []
    return [f"rapid takes {taken[worst]:.3f} mm: {told_of(moves, owners[worst])}"]


def limit_objections(moves: Moves, ordered: Ordered) -> list[str]:
    machine, board, cutout = ordered.machine, ordered.design.board, ordered.cutout
    found = []
    past = cutout.past_mm if cutout else 1.0
    deepest = int(np.argmin(moves.lowest_mm))
    if moves.lowest_mm[deepest] < -(board.thickness_mm + past) - ROUNDING_MM:
        found.append(f"into the bed: {told_of(moves, deepest)}")
    span = np.ptp(np.concatenate([moves.starts_mm, moves.ends_mm]), axis=0)
    if (span > [machine.travel_x_mm, machine.travel_y_mm, machine.travel_z_mm]).any():
        found.append(f"travel {span.round(1).tolist()} mm")
    feeding = ~moves.rapid & (moves.lowest_mm < 0)
    steps = moves.ends_mm - moves.starts_mm
    length = np.maximum(np.linalg.norm(steps, axis=1), 1e-12)
    level = moves.feeds * np.hypot(steps[:, 0], steps[:, 1]) / length
    down = moves.feeds * -steps[:, 2] / length
    for name, bad in (
        ("spindle stands", feeding & (moves.spinning <= 0)),
        ("feed", feeding & (level > machine.max_feed_mm_per_min * 1.006)),
        ("plunge", feeding & (length > 0.002) & (down > machine.max_plunge_mm_per_min * 1.02)),
        (
            "speed",
            feeding
            & (
                (moves.spinning > machine.max_spindle_rpm + 1)
                | (moves.spinning < machine.min_spindle_rpm - 1)
            ),
        ),
    ):
        if bad.any():
            found.append(f"{name}: {np.count_nonzero(bad)} motions, {told_of(moves, int(np.argmax(bad)))}")
    for number, cutter in enumerate(moves.cutters):
        own = moves.bits == number
        lowest = float(moves.lowest_mm[own].min())
        if isinstance(cutter, Drill | VeeCutter) and -lowest > cutter.cutting_length_mm + ROUNDING_MM:
            found.append(f"{cutter.name} goes {-lowest:.3f} mm deep, past its edges")
    return found


def _parts(cutter: Cutter, machine: Machine) -> tuple[tuple[str, float, float], ...]:
    """Return what is over a bit's edges: its name, its radius, its height over the tip."""
    nut = cutter.stick_out_mm
    return (
        ("shank", cutter.shank_mm / 2, cutter.cutting_length_mm),
        ("nut", machine.nut_diameter_mm / 2, nut),
        ("spindle", machine.spindle_diameter_mm / 2, nut + machine.nut_length_mm),
    )


def clamp_objections(moves: Moves, ordered: Ordered) -> list[str]:
    found = []
    for number, zone in enumerate(ordered.keep_outs, 1):
        block = box(zone.left_mm, zone.bottom_mm, zone.right_mm, zone.top_mm)
        for place in range(len(moves.starts_mm)):
            cutter = moves.cutters[moves.bits[place]]
            start, end = moves.starts_mm[place], moves.ends_mm[place]
            lowest = min(start[2], end[2])
            if lowest + 0.01 >= zone.height_mm:
                continue
            radius, flat, slope = profile_of(cutter)
            way = LineString([start[:2], end[:2]])
            away = block.distance(way)
            if away > ordered.machine.spindle_diameter_mm / 2:
                continue
            count = max(2, int(np.linalg.norm(end - start) / 0.25))
            shares = np.linspace(0, 1, count)[:, None]
            places = start + shares * (end - start)
            distances = shapely.distance(block, shapely.points(places[:, :2]))
            under = zone.height_mm - places[:, 2]
            wide = (
                np.minimum(radius, flat + under * slope) if math.isfinite(slope) else np.full(count, radius)
            )
            if ((under > 0.01) & (distances < wide - 0.02)).any():
                found.append(f"clamp {number} hit by {cutter.name}: {told_of(moves, place)}")
                break
            hit = next(
                (
                    name
                    for name, size, height in _parts(cutter, ordered.machine)
                    if ((under - height > 0.01) & (distances < size - 0.02)).any()
                ),
                None,
            )
            if hit:
                found.append(f"clamp {number} hit by the {hit} of {cutter.name}: {told_of(moves, place)}")
                break
    return found


def holder_objections(moves: Moves, ordered: Ordered) -> list[str]:
    """Shank, nut or spindle below the face in what still stands."""
    found = []
    blank = ordered.cutout is not None
    for number, cutter in enumerate(moves.cutters):
        for name, size, height in _parts(cutter, ordered.machine):
            sunk = np.flatnonzero((moves.bits == number) & (moves.lowest_mm + height < -0.15))
            if not len(sunk):
                continue
            sunk = sunk[:: max(1, len(sunk) // 60)]
            turns = np.linspace(0, math.tau, 24, endpoint=False)
            rim = np.stack([np.cos(turns), np.sin(turns)], axis=1) * (size - 0.12)
            lower = np.where(
                (moves.starts_mm[sunk, 2] < moves.ends_mm[sunk, 2])[:, None],
                moves.starts_mm[sunk],
                moves.ends_mm[sunk],
            )
            points = (lower[:, None, :2] + rim[None]).reshape(-1, 2)
            stood = -carved_mm(moves, points, np.repeat(sunk + 1, len(turns)))
            over = stood - np.repeat(lower[:, 2] + height, len(turns))
            if not blank:
                over[~shapely.covers(ordered.design.outline, shapely.points(points))] = 0.0
            if over.max() > 0.12:
                worst = int(np.argmax(over))
                found.append(
                    f"{name} of {cutter.name} {over[worst]:.3f} mm in standing wood: "
                    f"{told_of(moves, int(sunk[worst // len(turns)]))}"
                )
    return found
