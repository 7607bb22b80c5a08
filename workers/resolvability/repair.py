"""Strokes too thin to show, thickened just as far as they need; walls kept, opened or fused by choice."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
import shapely

from workers.resolvability.centre_lines import measured
from workers.resolvability.examine import examine, judged
from workers.resolvability.limits import limits_of, showing_width_mm
from workers.resolvability.moves import FILM_MM, Change, Move, change_between
from workers.resolvability.repair_notes import notes_on, notes_on_walls, notes_unrepaired
from workers.resolvability.runs import Changed, Points
from workers.resolvability.settling import settled
from workers.resolvability.wishes import PLAIN_REPAIR, RepairWishes
from workers.values.cuts import InciseCut
from workers.values.examination import Examination
from workers.values.finding import Finding
from workers.values.material import Material
from workers.values.progress import Reporter, silent
from workers.values.region import Region

_BESIDE_MM = 0.02  # how near to its outline a stroke must have changed to count as repaired


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Repaired:
    """The repaired area, what it was and is like, and where and how far outlines moved."""

    region_before: Region
    region: Region
    examination_before: Examination
    examination: Examination
    notes: tuple[Finding, ...]
    moves: tuple[Move, ...]

    @property
    def moved_mm(self) -> float:
        """How far any outline moved."""
        return max((move.moved_mm for move in self.moves), default=0.0)


def repair(
    region: Region,
    cut: InciseCut,
    material: Material,
    report: Reporter = silent,
    wishes: RepairWishes = PLAIN_REPAIR,
) -> Repaired:
    """Thicken strokes that would be lost or faint, treat thin walls as wished, and change nothing else.

    A thin stroke is joined with discs of the least width that shows along its centre line, so it
    blends into the wide part by itself, and it ends where it ended. Gaps keep what they have, or
    the thinnest wall that stands: beside one, a stroke grows on its other side. Only where a
    stroke would still not show does a gap give way, to a quarter of that wall and no further.
    Parts stay apart, holes stay open, corners stay as they are; fusing alone may join and fill.

    The steps are taken until none of them changes anything, so repairing again changes nothing.

    Args:
        region: The ink.
        cut: The bit and the depth limit.
        material: Gives the depth that shows and the thinnest wall that stands.
        report: Told how far it is.
        wishes: What becomes of thin walls, and how far an outline may move.
    """
    limits = limits_of(cut, material)
    report(0.05, "measuring the strokes")
    before = judged(measured(region), limits)
    wanted = dataclasses.replace(limits, shows_from_mm=showing_width_mm(cut, material))
    result = settled(region, wanted, wishes, report)
    change = change_between(region, result)
    after = before if result is region else judged(measured(result), limits, _beside(change))
    return Repaired(
        region_before=region,
        region=result,
        examination_before=before,
        examination=after,
        notes=(
            *notes_on(before, after, cut, material, change.moved_mm, wishes.at_most_mm),
            *notes_on_walls(region, result, wishes.walls, change.moves),
        ),
        moves=change.moves,
    )


def as_drawn(region: Region, cut: InciseCut, material: Material, report: Reporter = silent) -> Repaired:
    """Return the examination of an area that is cut as it is."""
    examination = examine(region, cut, material, report)
    return Repaired(
        region_before=region,
        region=region,
        examination_before=examination,
        examination=examination,
        notes=notes_unrepaired(examination, cut, material),
        moves=(),
    )


def _beside(change: Change) -> Changed:
    """Return the test whether the outline beside a point of a centre line has moved."""
    parts = [
        part
        for area in (change.added, change.taken)
        for part in shapely.get_parts(area.buffer(-FILM_MM, join_style="mitre"))
    ]
    tree = shapely.STRtree(parts)

    def is_changed(points_mm: Points) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        places = shapely.points(points_mm[:, :2])
        near = tree.query(places, predicate="dwithin", distance=points_mm[:, 2] / 2 + _BESIDE_MM)[0]
        changed = np.zeros(len(points_mm), np.bool_)
        changed[near] = True
        return changed

    return is_changed
