"""A floor opened from one place outwards, so that never more of the bit's edge than a limit is in the wood.

The bit goes down in a helix, wide enough to swing in; from there what it has cleared grows by bites. Each
bite is a front: the line on which the bit's middle is one step outside of all places where it has been.
Where that line meets itself the bit goes round; where it ends at walls, in arms and corners, the bit runs
across, comes back through what is cleared and bites again.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from workers.geometry.offsets import inset, outset
from workers.toolpaths.bite_steps import step_mm, swing_step_mm
from workers.toolpaths.circuit import Circuit
from workers.values.region import Region

Floats = NDArray[np.float64]

_SWING_RADII = 0.6  # of the helix's way: below half of the bit's width nothing is left in its middle
_LEAST_SWING_RADII = 0.15  # a pocket in which the bit cannot swing that far is a slot
_SPARE_DEG = 5.0  # fronts are planned so far below the limit: chords, and bends of the front
_WALL_SHARE = 0.3  # of a step, left along walls for a last round: so little that corners do not bite
_LAG_STEPS = 1.5  # how far the growth may stay behind a level before it bites again there
_SAME_SHARE = 0.15  # of a step: what is no farther out than that is cleared with the next front
_SWING_SHARE = 0.9  # of the helix's radius: fronts are as round where they meet walls
_ON_STEPS = 8.0  # length of the way on to the next round
_ON_POINTS = 17
_EVEN_MM = 0.01  # to which grown areas are evened out: they are only a measure of what is cleared
_MOST_BITES = 4000


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Opening:
    """The ways that open one pocket, (n, 2) each, in order; between them the bit is lifted."""

    circle_mm: (
        Floats | None
    )  # (n, 2) closed: round it the bit goes down in a helix; None: it goes down in air
    ways_mm: list[Floats]  # the first from where the circle closes


class Growth:
    """What one mill has cleared of one pocket, and the ways it has gone."""

    def __init__(self, radius_mm: float, limit_deg: float, widest_mm: float, climb: bool = True) -> None:
        """Begin with nothing cleared.

        Args:
            radius_mm: Of the mill.
            limit_deg: How much of its edge may be in the wood.
            widest_mm: The widest step, whatever the limit.
            climb: Keep what stands on the right of the way, else on the left (trade.md P-08).
        """
        self._limit_deg = limit_deg - _SPARE_DEG
        self._radius_mm, self._widest_mm = radius_mm, widest_mm
        self._swing_mm = _SWING_RADII * radius_mm
        self._climb = climb
        self._arm_mm = min(
            swing_step_mm(self._limit_deg, radius_mm, _SWING_SHARE * self._swing_mm), self._step_mm(math.inf)
        )
        # where there is no room to swing the bit bites ahead, with both sides of its edge
        self._bite_mm = min(step_mm(self._limit_deg / 2, radius_mm), widest_mm)
        self._before: BaseGeometry = MultiPolygon()
        self._cleared: BaseGeometry = MultiPolygon()
        self._grown_mm = math.inf  # from cleared floor there is no bend
        self._wall_mm = _WALL_SHARE * self._step_mm(math.inf)
        self._ways_mm: list[Floats] = []

    def opened(self, pocket: Polygon, air: BaseGeometry) -> list[Opening]:
        """Return the ways over a pocket, part by part; none if it is a slot in which the bit cannot swing.

        Parts hang together by necks that only the last round along the walls goes through.

        Args:
            pocket: Where the bit's middle must come by.
            air: Where it may go down because all is cleared there.
        """
        openings: list[Opening] = []
        for part in inset(Region(MultiPolygon([pocket])), self._wall_mm).polygons.geoms or [pocket]:
            levels = self._levels(part)
            start, circle_mm = air.intersection(part.buffer(self._bite_mm + self._wall_mm)), None
            if start.is_empty:
                start = disc = self._swung(levels[0])
                if disc.is_empty:
                    continue
                ring_mm = shapely.get_coordinates(orient(disc).exterior)
                circle_mm = ring_mm if self._climb else ring_mm[::-1]
            self._ways_mm = [] if circle_mm is None else [circle_mm[:1]]
            self._before, self._cleared = start, self._cleared.union(start)
            for number, level in enumerate(levels, 1):
                self._fill(level, 0.0 if number == len(levels) else _LAG_STEPS * self._step_mm(math.inf))
            openings.append(Opening(circle_mm=circle_mm, ways_mm=self._ways_mm))
        if openings:
            self._last_round(pocket)
        return [opening for opening in openings if opening.ways_mm]

    def _swung(self, level: Region) -> Polygon:
        """Return the disc that a helix clears in a level's widest place; nothing where it is too narrow."""
        circle = shapely.maximum_inscribed_circle(_largest(level.polygons), 0.05)
        swing_mm = min(circle.length, self._swing_mm)
        if swing_mm < _LEAST_SWING_RADII * self._radius_mm:
            return Polygon()
        self._grown_mm = swing_mm
        return Point(circle.coords[0]).buffer(swing_mm, quad_segs=32)

    def _step_mm(self, bend_mm: float) -> float:
        return min(step_mm(self._limit_deg, self._radius_mm, bend_mm), self._widest_mm)

    def _levels(self, part: Polygon) -> list[Region]:
        """Return the areas to fill one after the other, the innermost first: each wide enough to swing in."""
        region = Region(MultiPolygon([part]))
        levels = [region]
        for number in range(1, _MOST_BITES):
            inner = inset(region, number * self._step_mm(math.inf) + self._swing_mm)
            if inner.polygons.is_empty:
                break
            levels.insert(0, outset(inner, self._swing_mm))
        return levels

    def _fill(self, level: Region, behind_mm: float) -> None:
        """Grow over a level: once all round, then into each place where it is farther behind, one by one."""
        area = level.polygons
        step_mm = self._step_mm(self._grown_mm)
        self._bite(area, step_mm, all_round=True)
        self._grown_mm += step_mm
        for _ in range(_MOST_BITES):
            rest = area.difference(self._cleared.buffer(_SAME_SHARE * self._bite_mm))
            far = self._cleared.buffer(behind_mm) if behind_mm else self._cleared
            parts = [part for part in _areas(rest) if not far.covers(part)]
            if not parts:
                return
            here = Point(self._ways_mm[-1][-1] if self._ways_mm else parts[0].representative_point())
            parts.sort(key=here.distance)
            if not any(self._fill_part(area, part) for part in parts):  # the nearest that can be filled
                return

    def _fill_part(self, area: BaseGeometry, part: Polygon) -> bool:
        """Bite into one part of a level until it is filled; return whether anything came of it."""
        within = self._cleared.union(part.buffer(3 * _SAME_SHARE * self._bite_mm).intersection(area))
        bites = 0
        while bites < _MOST_BITES and self._bite(within, min(self._arm_mm, self._step_mm(self._grown_mm))):
            bites += 1
        return bites > 0

    def _bite(self, area: BaseGeometry, step_mm: float, *, all_round: bool = False) -> bool:
        """Clear one step farther within an area, nearest to the bit or all round; return if there was any."""
        before = self._cleared
        for bite_mm, is_swung in ((step_mm, True), (self._bite_mm, False)):
            same_mm = _SAME_SHARE * bite_mm
            grown = before.buffer(bite_mm, quad_segs=16).intersection(area)
            if is_swung:  # round where it meets walls, so that the bit swings on to them and off
                swing_mm = _SWING_SHARE * self._swing_mm
                grown = grown.buffer(-swing_mm, quad_segs=16).buffer(swing_mm, quad_segs=16)
            grown = _joined_to(grown, before)
            if not all_round:
                grown = self._nearest_part(grown, 2 * same_mm)
            if not grown.difference(before.buffer(2 * same_mm)).is_empty:
                self._before, self._cleared = before, before.union(grown).simplify(_EVEN_MM)
                self._run(_fronts(self._cleared, before, same_mm), before.buffer(2 * same_mm))
                return True
        return False

    def _nearest_part(self, grown: BaseGeometry, same_mm: float) -> BaseGeometry:
        """Return the part of a bite that is nearest to the bit, and more than has been cleared already."""
        known = self._cleared.buffer(same_mm)
        parts = [part for part in _areas(grown.difference(self._cleared)) if not known.covers(part)]
        if not parts or not self._ways_mm:
            return grown
        return min(parts, key=Point(self._ways_mm[-1][-1]).distance)

    def _last_round(self, pocket: Polygon) -> None:
        """Run along each wall."""
        self._before = self._cleared
        self._run([Front(ring_mm, True) for ring_mm in _rings(pocket)], self._cleared.buffer(_EVEN_MM))

    def _run(self, fronts: list[Front], air: BaseGeometry) -> None:
        """Run fronts, the nearest first, on straight ways through what is cleared.

        A round is begun beside where the bit comes from, and met little by little.
        """
        shapely.prepare(air)
        while fronts:
            here_mm = self._ways_mm[-1][-1] if self._ways_mm else None
            front = fronts.pop(0 if here_mm is None else _nearest(fronts, here_mm))
            line_mm = front.line_mm if self._climb else front.line_mm[::-1]
            if front.is_round:
                line_mm = self._met(line_mm, line_mm[0] if here_mm is None else here_mm)
            if here_mm is not None and air.covers(LineString([here_mm, line_mm[0]])):
                self._ways_mm[-1] = np.vstack([self._ways_mm[-1], line_mm])
            else:
                down_mm = shapely.get_coordinates(shapely.shortest_line(self._before, Point(line_mm[0])))[0]
                self._ways_mm.append(np.vstack([down_mm, line_mm]))

    def _met(self, ring_mm: Floats, here_mm: Floats) -> Floats:
        """Return a round from what is cleared on to its line, beside a place, and all round it."""
        ring = Circuit(ring_mm)
        on_mm = min(_ON_STEPS * self._bite_mm, ring.length_mm / 3)
        place_mm = ring.nearest_place(here_mm)
        between_mm = place_mm + np.linspace(0.0, on_mm, _ON_POINTS)
        places_mm = ring.places(
            place_mm, place_mm + on_mm, *between_mm
        )  # its corners too: no chord cuts them
        share = (places_mm - place_mm) / on_mm
        along_mm = ring.at(places_mm)
        beside_mm = shapely.get_coordinates(shapely.shortest_line(self._before, shapely.points(along_mm)))[
            ::2
        ]
        weight = (share**2 * (3 - 2 * share))[:, None]
        start_mm = place_mm + on_mm
        round_mm = ring.at(ring.places(start_mm, start_mm + ring.length_mm))
        return np.vstack([(1 - weight) * beside_mm + weight * along_mm, round_mm])


@dataclass(frozen=True, slots=True, eq=False)
class Front:
    """One line of a bite, what is cleared on its left."""

    line_mm: Floats  # (n, 2)
    is_round: bool  # it closes


def _fronts(cleared: BaseGeometry, before: BaseGeometry, same_mm: float) -> list[Front]:
    """Return the lines round what is cleared, as far as they lie farther out than what was cleared before."""
    known = before.buffer(same_mm)
    shapely.prepare(known)
    found: list[Front] = []
    for part in _areas(cleared):
        for corners_mm in _rings(part):
            ring_mm = shapely.get_coordinates(shapely.segmentize(LineString(corners_mm), 2 * same_mm))
            is_new = ~np.asarray(shapely.covers(known, shapely.points(ring_mm[:-1])), np.bool_)
            if is_new.all():
                found.append(Front(ring_mm, True))
            elif is_new.any():
                found += [Front(line_mm, False) for line_mm in _runs(ring_mm[:-1], is_new)]
    return found


def _runs(points_mm: Floats, is_new: NDArray[np.bool_]) -> Iterator[Floats]:
    """Yield the stretches of a ring that are new, each with one known point before and behind."""
    first_known = int(np.flatnonzero(~is_new)[0])
    points_mm, is_new = np.roll(points_mm, -first_known, axis=0), np.roll(is_new, -first_known)
    edges = np.diff(np.concatenate([is_new, [False]]).astype(np.int8))
    for start, stop in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        yield points_mm[np.arange(start, stop + 2) % len(points_mm)]


def _nearest(fronts: list[Front], here_mm: Floats) -> int:
    ways_mm = [
        float(np.linalg.norm(front.line_mm - here_mm, axis=1).min())
        if front.is_round
        else float(np.linalg.norm(front.line_mm[0] - here_mm))
        for front in fronts
    ]
    return int(np.argmin(ways_mm))


def _joined_to(shape: BaseGeometry, cleared: BaseGeometry) -> BaseGeometry:
    """Return the parts of a shape that hang together with what is cleared."""
    return MultiPolygon([part for part in _areas(shape) if part.intersects(cleared)])


def _areas(shape: BaseGeometry) -> list[Polygon]:
    """Return the polygons of a shape, whatever it is a collection of."""
    parts = shapely.get_parts(shapely.get_parts(shape)).tolist()
    return [part for part in parts if isinstance(part, Polygon)]


def _largest(area: BaseGeometry) -> Polygon:
    return max(_areas(area), key=lambda part: float(part.area))


def _rings(part: Polygon) -> Iterator[Floats]:
    """Yield the rings of an area, the area on their left."""
    turned = orient(part, 1.0)
    for ring in (turned.exterior, *turned.interiors):
        yield shapely.get_coordinates(ring)
