"""Each touch-up step on polygons of ink."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

from workers.geometry.offsets import inset, outset
from workers.geometry.polygon_loops import Loops, loops_of
from workers.geometry.polygon_repair import region_of
from workers.touch_up.marked_areas import Sheet, crop_box, flip_point, marked_area, placed
from workers.touch_up.moved_drawing import moved
from workers.touch_up.turning import turned, turning_matrix
from workers.values import touch_up
from workers.values.curved_artwork import CurvedArtwork
from workers.values.region import Artwork, Region

_DUST_MM2 = 1e-9  # what rounding leaves behind when areas are cut along each other


def artwork_sheet(artwork: Artwork) -> Sheet:
    """Return the sides of a drawing, mm."""
    return Sheet(width_mm=artwork.width_mm, height_mm=artwork.height_mm)


def step_on_artwork(drawing: CurvedArtwork, step: touch_up.TouchUp, field: str) -> CurvedArtwork:
    """Return a drawing after one step.

    Args:
        drawing: The drawing; its curves turn with it, those of what is added are added.
        step: What to do.
        field: JSON pointer of the step, for errors.

    Raises:
        ParameterOutOfRangeError: The step cannot be done on this drawing.
        NoDrawingFoundError: A drawing to be set in has no ink.
    """
    return _STEPS[type(step)](drawing, step, field)


def _turn(drawing: CurvedArtwork, step: touch_up.Turn, _field: str) -> CurvedArtwork:
    artwork = drawing.artwork
    sheet = turned(MultiPolygon([artwork_sheet(artwork).area]), step.turn_deg)
    left, bottom, right, top = sheet.bounds
    corner = np.array([left, bottom])
    matrix = turning_matrix(step.turn_deg)
    return moved(drawing, lambda points: points @ matrix - corner, (right - left, top - bottom))


def _mirror(drawing: CurvedArtwork, step: touch_up.Mirror, _field: str) -> CurvedArtwork:
    width_mm, height_mm = drawing.artwork.width_mm, drawing.artwork.height_mm

    def swapped(points: NDArray[np.float64]) -> NDArray[np.float64]:
        x, y = points.T
        swapped_x = width_mm - x if step.is_left_right else x
        return np.stack([swapped_x, y if step.is_left_right else height_mm - y], axis=1)

    return moved(drawing, swapped)


def _crop(drawing: CurvedArtwork, step: touch_up.Crop, field: str) -> CurvedArtwork:
    left, bottom, right, top = crop_box(step, artwork_sheet(drawing.artwork), field)
    kept = _cut_to(drawing, MultiPolygon([shapely.box(left, bottom, right, top)]))
    corner = np.array([left, bottom])
    return moved(kept, lambda points: points - corner, (right - left, top - bottom))


def _invert(drawing: CurvedArtwork, _step: touch_up.Invert, _field: str) -> CurvedArtwork:
    sheet = MultiPolygon([artwork_sheet(drawing.artwork).area])
    return _with_ink(drawing, _paper(drawing.artwork), loops_of(sheet))


def _erase(drawing: CurvedArtwork, step: touch_up.Erase, field: str) -> CurvedArtwork:
    area = marked_area(step.area, artwork_sheet(drawing.artwork), field)
    return _with_ink(drawing, drawing.artwork.ink.polygons.difference(area), _sides_of(step.area, area))


def _keep(drawing: CurvedArtwork, step: touch_up.Keep, field: str) -> CurvedArtwork:
    return _cut_to(drawing, marked_area(step.area, artwork_sheet(drawing.artwork), field))


def _cut_to(drawing: CurvedArtwork, area: MultiPolygon) -> CurvedArtwork:
    return _with_ink(drawing, drawing.artwork.ink.polygons.intersection(area), loops_of(area))


def _remove_specks(drawing: CurvedArtwork, step: touch_up.RemoveSpecks, _field: str) -> CurvedArtwork:
    kept = [part for part in drawing.artwork.ink.polygons.geoms if part.area >= step.below_mm2]
    return _with_ink(drawing, MultiPolygon(kept))


def _flip(drawing: CurvedArtwork, step: touch_up.Flip, field: str) -> CurvedArtwork:
    artwork = drawing.artwork
    sheet = artwork_sheet(artwork)
    point = flip_point(step, sheet, field)
    parts = artwork.ink.polygons.geoms
    dropped = [part.covers(point) for part in parts]
    if any(dropped):
        kept = [part for part, is_dropped in zip(parts, dropped, strict=True) if not is_dropped]
        return _with_ink(drawing, MultiPolygon(kept))
    flooded = [part for part in _paper(artwork).geoms if part.covers(point)]
    ink = shapely.union_all([artwork.ink.polygons, *flooded])
    return _with_ink(drawing, ink, loops_of(MultiPolygon([sheet.area])))


def _draw(drawing: CurvedArtwork, step: touch_up.Draw, field: str) -> CurvedArtwork:
    area = marked_area(step.area, artwork_sheet(drawing.artwork), field)
    return _with_ink(drawing, drawing.artwork.ink.polygons.union(area), _sides_of(step.area, area))


def _set_in(drawing: CurvedArtwork, step: touch_up.SetIn, field: str) -> CurvedArtwork:
    added, whole = placed(step, artwork_sheet(drawing.artwork), field)
    joined = _with_ink(drawing, drawing.artwork.ink.polygons.union(added))
    return dataclasses.replace(
        joined,
        pieces=np.concatenate([joined.pieces, whole.pieces]),
        steps=np.concatenate([joined.steps, whole.steps]),
    )


def _thicken(drawing: CurvedArtwork, step: touch_up.Thicken, field: str) -> CurvedArtwork:
    within = _within(drawing, step, field)
    grown = outset(drawing.artwork.ink, step.by_mm).polygons.intersection(within)
    return _with_ink(drawing, drawing.artwork.ink.polygons.union(grown), loops_of(within))


def _thin(drawing: CurvedArtwork, step: touch_up.Thin, field: str) -> CurvedArtwork:
    ink = drawing.artwork.ink
    within = _within(drawing, step, field)
    shrunk = inset(ink, step.by_mm).polygons.intersection(within)
    outside = ink.polygons.difference(within)
    return _with_ink(drawing, outside.union(shrunk), loops_of(within))


def _within(drawing: CurvedArtwork, step: touch_up.Thicken | touch_up.Thin, field: str) -> MultiPolygon:
    sheet = artwork_sheet(drawing.artwork)
    return MultiPolygon([sheet.area]) if step.within is None else marked_area(step.within, sheet, field)


def _paper(artwork: Artwork) -> MultiPolygon:
    return region_of(artwork_sheet(artwork).area.difference(artwork.ink.polygons), _DUST_MM2).polygons


def _sides_of(mark: touch_up.Patch | touch_up.Stroke, area: MultiPolygon) -> Loops:
    """Return the sides of a polygon; those of a marker's line are chords of its round ends and no lines."""
    return loops_of(area) if isinstance(mark, touch_up.Patch) else ()


def _with_ink(drawing: CurvedArtwork, ink: BaseGeometry, added: Loops = ()) -> CurvedArtwork:
    """Return a drawing with other ink, whose sides may lie on added straight pieces, too."""
    region = Region(ink) if isinstance(ink, MultiPolygon) and ink.is_valid else region_of(ink, _DUST_MM2)
    pieces = np.concatenate([np.zeros((0, 4, 2)), *added])
    return CurvedArtwork(
        artwork=dataclasses.replace(drawing.artwork, ink=region),
        pieces=np.concatenate([drawing.pieces, pieces]),
        steps=np.concatenate([drawing.steps, np.ones(len(pieces), np.int64)]),
    )


_STEPS: dict[type, Callable[[CurvedArtwork, Any, str], CurvedArtwork]] = {
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
