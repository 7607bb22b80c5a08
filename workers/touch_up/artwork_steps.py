"""Each touch-up step on polygons of ink."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import translate
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

from workers.geometry.offsets import inset, outset
from workers.geometry.polygon_repair import region_of
from workers.touch_up.marked_areas import (
    Sheet,
    crop_box,
    flip_point,
    marked_area,
    placed_ink,
)
from workers.touch_up.turning import turned
from workers.values import touch_up
from workers.values.region import Artwork, Region

_DUST_MM2 = 1e-9  # what rounding leaves behind when areas are cut along each other


def artwork_sheet(artwork: Artwork) -> Sheet:
    """Return the sides of a drawing, mm."""
    return Sheet(width_mm=artwork.width_mm, height_mm=artwork.height_mm)


def step_on_artwork(artwork: Artwork, step: touch_up.TouchUp, field: str) -> Artwork:
    """Return a drawing after one step.

    Args:
        artwork: The drawing.
        step: What to do.
        field: JSON pointer of the step, for errors.

    Raises:
        ParameterOutOfRangeError: The step cannot be done on this drawing.
        NoDrawingFoundError: A drawing to be set in has no ink.
    """
    return _STEPS[type(step)](artwork, step, field)


def _turn(artwork: Artwork, step: touch_up.Turn, _field: str) -> Artwork:
    sheet = turned(MultiPolygon([artwork_sheet(artwork).area]), step.turn_deg)
    left, bottom, right, top = sheet.bounds
    ink = translate(turned(artwork.ink.polygons, step.turn_deg), -left, -bottom)
    return Artwork(ink=region_of(ink), width_mm=right - left, height_mm=top - bottom)


def _mirror(artwork: Artwork, step: touch_up.Mirror, _field: str) -> Artwork:
    def swapped(points: NDArray[np.float64]) -> NDArray[np.float64]:
        x, y = points.T
        swapped_x = artwork.width_mm - x if step.is_left_right else x
        return np.stack([swapped_x, y if step.is_left_right else artwork.height_mm - y], axis=1)

    return _with_ink(artwork, shapely.transform(artwork.ink.polygons, swapped))


def _crop(artwork: Artwork, step: touch_up.Crop, field: str) -> Artwork:
    left, bottom, right, top = crop_box(step, artwork_sheet(artwork), field)
    kept = artwork.ink.polygons.intersection(shapely.box(left, bottom, right, top))
    return Artwork(
        ink=region_of(translate(kept, -left, -bottom), _DUST_MM2),
        width_mm=right - left,
        height_mm=top - bottom,
    )


def _invert(artwork: Artwork, _step: touch_up.Invert, _field: str) -> Artwork:
    return _with_ink(artwork, _paper(artwork))


def _erase(artwork: Artwork, step: touch_up.Erase, field: str) -> Artwork:
    area = marked_area(step.area, artwork_sheet(artwork), field)
    return _with_ink(artwork, artwork.ink.polygons.difference(area))


def _keep(artwork: Artwork, step: touch_up.Keep, field: str) -> Artwork:
    area = marked_area(step.area, artwork_sheet(artwork), field)
    return _with_ink(artwork, artwork.ink.polygons.intersection(area))


def _remove_specks(artwork: Artwork, step: touch_up.RemoveSpecks, _field: str) -> Artwork:
    kept = [part for part in artwork.ink.polygons.geoms if part.area >= step.below_mm2]
    return _with_ink(artwork, MultiPolygon(kept))


def _flip(artwork: Artwork, step: touch_up.Flip, field: str) -> Artwork:
    point = flip_point(step, artwork_sheet(artwork), field)
    parts = artwork.ink.polygons.geoms
    dropped = [part.covers(point) for part in parts]
    if any(dropped):
        kept = [part for part, is_dropped in zip(parts, dropped, strict=True) if not is_dropped]
        return _with_ink(artwork, MultiPolygon(kept))
    flooded = [part for part in _paper(artwork).geoms if part.covers(point)]
    return _with_ink(artwork, shapely.union_all([artwork.ink.polygons, *flooded]))


def _draw(artwork: Artwork, step: touch_up.Draw, field: str) -> Artwork:
    return _with_more(artwork, marked_area(step.area, artwork_sheet(artwork), field))


def _set_in(artwork: Artwork, step: touch_up.SetIn, field: str) -> Artwork:
    return _with_more(artwork, placed_ink(step, artwork_sheet(artwork), field))


def _thicken(artwork: Artwork, step: touch_up.Thicken, field: str) -> Artwork:
    grown = outset(artwork.ink, step.by_mm).polygons
    return _with_more(artwork, grown.intersection(_within(artwork, step, field)))


def _thin(artwork: Artwork, step: touch_up.Thin, field: str) -> Artwork:
    within = _within(artwork, step, field)
    shrunk = inset(artwork.ink, step.by_mm).polygons.intersection(within)
    outside = artwork.ink.polygons.difference(within)
    return _with_ink(artwork, outside.union(shrunk))


def _within(artwork: Artwork, step: touch_up.Thicken | touch_up.Thin, field: str) -> BaseGeometry:
    sheet = artwork_sheet(artwork)
    return sheet.area if step.within is None else marked_area(step.within, sheet, field)


def _paper(artwork: Artwork) -> MultiPolygon:
    return region_of(artwork_sheet(artwork).area.difference(artwork.ink.polygons), _DUST_MM2).polygons


def _with_more(artwork: Artwork, added: BaseGeometry) -> Artwork:
    return _with_ink(artwork, artwork.ink.polygons.union(added))


def _with_ink(artwork: Artwork, ink: BaseGeometry) -> Artwork:
    region = Region(ink) if isinstance(ink, MultiPolygon) and ink.is_valid else region_of(ink, _DUST_MM2)
    return dataclasses.replace(artwork, ink=region)


_STEPS: dict[type, Callable[[Artwork, Any, str], Artwork]] = {
    touch_up.Turn: _turn,
    touch_up.Mirror: _mirror,
    touch_up.Crop: _crop,
    touch_up.Invert: _invert,
    touch_up.Erase: _erase,
    touch_up.Keep: _keep,
    touch_up.RemoveSpecks: _remove_specks,
    touch_up.Flip: _flip,
    touch_up.Draw: _draw,
    touch_up.SetIn: _set_in,
    touch_up.Thicken: _thicken,
    touch_up.Thin: _thin,
}
