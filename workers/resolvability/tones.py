"""Art in several tones: will each show at its depth, and what a repair of the outline makes of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import shapely
from shapely.geometry import MultiPolygon, Polygon

from workers.geometry.nesting import nested, opened
from workers.geometry.offsets import inset
from workers.geometry.polygon_repair import region_of
from workers.geometry.vee import half_width_mm
from workers.resolvability.moves import FILM_MM, change_between
from workers.values.design import Design
from workers.values.finding import Finding, Severity
from workers.values.material import Material
from workers.values.region import Region
from workers.values.tiers import Tier

_LEAST_LEDGE_MM = 0.5  # of a paler tone beside a darker one; less looks like a worn edge (a choice)
_TOUCHING_MM = 0.02  # outlines of two tones that are one lie no farther apart


def tones_after(design: Design, ink: Region) -> tuple[Region, ...]:
    """Return the darker tones of a design whose ink was repaired: strokes have grown in their own tone.

    Args:
        design: As drawn.
        ink: Its ink after the repair.
    """
    if not design.darker:
        return ()
    grown = ink.polygons.difference(design.ink.polygons)
    reach_mm = change_between(design.ink, ink).moved_mm + FILM_MM
    tones: list[Region] = []
    around = ink
    for tone in design.darker:
        beside = grown.intersection(tone.polygons.buffer(reach_mm))
        around = nested(around, region_of(tone.polygons.union(beside)))
        tones.append(around)
    return tuple(tones)


def notes_on_tones(tiers: Sequence[Tier], material: Material) -> tuple[Finding, ...]:
    """Return which tones would not show beside each other: too little deeper, too narrow, or hardly bare.

    Args:
        tiers: The tones with their depth limits, the palest first; one tone has nothing to be said of it.
        material: Gives the depth that shows.
    """
    notes: list[Finding] = []
    for number, (paler, darker) in enumerate(pairwise(tiers), 1):
        notes += _on_step(number, paler, darker, material)
        notes += _on_ledge(number, paler, darker)
        notes += _on_width(number + 1, paler, darker, material)
    return tuple(notes)


def _on_step(number: int, paler: Tier, darker: Tier, material: Material) -> Iterator[Finding]:
    shows_mm = material.shows_depth_mm
    steps_mm = [darker.depth_limit_mm - paler.depth_limit_mm]
    if number == 1:
        steps_mm.append(paler.depth_limit_mm)
    if min(steps_mm) < shows_mm - 1e-9:
        yield Finding(
            code="tones-too-shallow",
            severity=Severity.WARNING,
            message=f"tone {number} is cut {paler.depth_limit_mm:.2f} mm deep and tone {number + 1} "
            f"{darker.depth_limit_mm:.2f} mm, and steps from {shows_mm:.2f} mm on show in {material.title}",
            remedy="raise the depth limit, or set 'paler_limits' farther apart",
        )


def _on_ledge(number: int, paler: Tier, darker: Tier) -> Iterator[Finding]:
    bare = paler.ink.polygons.difference(darker.ink.polygons)
    if opened(bare, _LEAST_LEDGE_MM).is_empty:
        yield Finding(
            code="tone-does-not-show",
            severity=Severity.WARNING,
            message=f"tone {number} is nowhere {_LEAST_LEDGE_MM:.1f} mm wide beside darker ink, "
            "so no step shows",
            remedy="enlarge the art, or draw it in fewer tones",
        )


def _on_width(number: int, paler: Tier, darker: Tier, material: Material) -> Iterator[Finding]:
    """Yield a warning if parts of the darker tone are too narrow to go deeper than what is around them."""
    least_mm = half_width_mm(darker.cut.cutter, paler.depth_limit_mm + material.shows_depth_mm)
    beside = _beside(paler, darker)
    hidden = [part for part in beside if inset(Region(MultiPolygon([part])), least_mm).polygons.is_empty]
    if hidden:
        largest = max(hidden, key=lambda part: part.area).representative_point()
        yield Finding(
            code="tone-does-not-show",
            severity=Severity.WARNING,
            message=f"{len(hidden)} of {len(beside)} parts of tone {number} on paler ink would not show: "
            f"narrower than {2 * least_mm:.2f} mm, their groove is no step deeper than what is around it",
            remedy="enlarge the art, draw those parts wider, take a slimmer bit or lower 'paler_limits'",
            at_mm=(round(largest.x, 3), round(largest.y, 3)),
        )


def _beside(paler: Tier, darker: Tier) -> list[Polygon]:
    """Return the parts of a tone that the next paler one borders on; others lie on bare wood."""
    bare = opened(paler.ink.polygons.difference(darker.ink.polygons), _TOUCHING_MM)
    parts = darker.ink.polygons.geoms
    return [part for part in parts if shapely.dwithin(bare, part, 2 * _TOUCHING_MM)]
