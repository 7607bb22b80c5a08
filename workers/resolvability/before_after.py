"""before-after.png: where a repair moved outlines farthest, as drawn and as repaired, side by side."""

from __future__ import annotations

import dataclasses
import io

import shapely
from PIL import Image, ImageDraw, ImageFont
from shapely.geometry import MultiPolygon, box
from shapely.geometry.base import BaseGeometry

from workers.resolvability.moves import Move
from workers.resolvability.overlay import draw_verdicts
from workers.resolvability.overlay_canvas import Canvas
from workers.resolvability.overlay_style import FAINT_TEXT, PAPER, REPAIRED, RULE, TEXT, Colour
from workers.resolvability.repair import Repaired
from workers.resolvability.thin_parts import line_of
from workers.values.examination import Examination, Judged
from workers.values.region import Region

Frame = tuple[float, float, float, float]  # left, bottom, right, top

MOST_PLACES = 3
_QUICK = 2  # a third of the usual level's time, for a file a tenth larger
_WIDE_PX, _HIGH_PX, _GAP_PX, _MARGIN_PX = 660, 400, 24, 28
_HEAD_PX, _WORDS_PX, _FOOT_PX = 92, 58, 56
_LEAST_MM, _MOST_MM, _SHARE = 9.0, 18.0, 0.04  # of the frame's long side, that a place shows
_TAKEN: Colour = (205, 92, 60)
_NEAR_MM = 2.0  # a stroke no farther from a place is meant
_BAR_MM = 2.0


def draw_before_after(done: Repaired, frame_mm: Frame) -> bytes:
    """Return a picture of the places that changed most, at most three, as PNG; it says so if none did.

    Args:
        done: What was repaired.
        frame_mm: Left, bottom, right and top of the drawing; sets how much of it a place shows.
    """
    wide_mm = min(
        max(_SHARE * max(frame_mm[2] - frame_mm[0], frame_mm[3] - frame_mm[1]), _LEAST_MM), _MOST_MM
    )
    places = places_of(done.moves, wide_mm)
    rows_px = len(places) * (_HIGH_PX + _WORDS_PX)
    size = (2 * (_WIDE_PX + _MARGIN_PX) + _GAP_PX, _HEAD_PX + rows_px + (_FOOT_PX if places else 0))
    picture = Image.new("RGB", size, PAPER)
    draw = ImageDraw.Draw(picture)
    _draw_head(draw, done, places, wide_mm)
    right_px = _MARGIN_PX + _WIDE_PX + _GAP_PX
    for row, move in enumerate(places):
        top_px = _HEAD_PX + row * (_HIGH_PX + _WORDS_PX)
        window_mm = _window(move, wide_mm)
        sides = (
            (_MARGIN_PX, done.region_before, done.examination_before),
            (right_px, done.region, done.examination),
        )
        for left_px, region, examination in sides:
            panel = _panel(region, examination, window_mm, done if region is done.region else None)
            picture.paste(panel, (left_px, top_px))
            draw.rectangle((left_px, top_px, left_px + _WIDE_PX, top_px + _HIGH_PX), outline=RULE)
            _words(draw, left_px, top_px + _HIGH_PX + 22, _told(examination, move), 20, TEXT)
        moved = f"{row + 1}: x {move.at_mm[0]:.1f}, y {move.at_mm[1]:.1f} mm, moved {move.moved_mm:.2f} mm"
        _words(draw, right_px + _WIDE_PX, top_px + _HIGH_PX + 22, moved, 20, FAINT_TEXT, "rm")
    if places:
        _draw_foot(draw, size[1] - _FOOT_PX / 2, wide_mm)
    written = io.BytesIO()
    picture.save(written, "PNG", compress_level=_QUICK)
    return written.getvalue()


def places_of(moves: tuple[Move, ...], wide_mm: float) -> list[Move]:
    """Return the farthest moves, none within the picture of one before it."""
    chosen: list[Move] = []
    for move in moves:
        if all(_apart(move, other, wide_mm) for other in chosen):
            chosen.append(move)
        if len(chosen) == MOST_PLACES:
            break
    return chosen


def _apart(move: Move, other: Move, wide_mm: float) -> bool:
    across, along = (abs(one - two) for one, two in zip(move.at_mm, other.at_mm, strict=True))
    return across > wide_mm / 2 or along > wide_mm / 2 * _HIGH_PX / _WIDE_PX


def _window(move: Move, wide_mm: float) -> Frame:
    (x_mm, y_mm), half_mm = move.at_mm, wide_mm / 2
    up_mm = half_mm * _HIGH_PX / _WIDE_PX
    return (x_mm - half_mm, y_mm - up_mm, x_mm + half_mm, y_mm + up_mm)


def _panel(region: Region, examination: Examination, window_mm: Frame, done: Repaired | None) -> Image.Image:
    """One place, its strokes and walls as their verdicts look; what was added or taken in colour."""
    window = box(*window_mm)
    canvas = Canvas(window_mm, _WIDE_PX, 0, PAPER, narrowest_px=1)
    around = window.buffer(1)
    seen = Region(_areas(shapely.intersection(region.polygons, around)))
    draw_verdicts(canvas, seen, _within(examination, window))
    if done is not None:
        for before, after, colour in (
            (done.region_before, done.region, REPAIRED),
            (done.region, done.region_before, _TAKEN),
        ):
            change = shapely.difference(
                shapely.intersection(after.polygons, around), shapely.intersection(before.polygons, around)
            )
            for polygon in _areas(change).geoms:
                canvas.area(polygon, colour, colour, colour)
    return canvas.finished().crop((0, 0, _WIDE_PX, _HIGH_PX))


def _areas(shape: BaseGeometry) -> MultiPolygon:
    return MultiPolygon([part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"])


def _within(examination: Examination, window: BaseGeometry) -> Examination:
    """The runs that pass a window, without the band of repaired ones: what changed is drawn itself."""
    kept = [
        tuple(dataclasses.replace(run, repaired=False) for run in runs if line_of(run).intersects(window))
        for runs in (examination.strokes, examination.walls)
    ]
    return Examination(strokes=kept[0], walls=kept[1])


def _told(examination: Examination, move: Move) -> str:
    """The stroke at a place in words."""
    place = shapely.Point(move.at_mm)
    near: list[tuple[float, Judged]] = [
        (float(line_of(run).distance(place)), run) for run in examination.strokes
    ]
    reach_mm, run = min(near, key=lambda pair: pair[0], default=(_NEAR_MM + 1, None))
    if run is None or reach_mm > _NEAR_MM + run.width_mm / 2:
        return "no stroke here"
    return f"{run.verdict.value}: {run.width_mm:.2f} mm wide"


def counted(moves: tuple[Move, ...], places: list[Move], wide_mm: float) -> str:
    """Say how many places moved, and how many of them can be seen."""
    count, drawn = len(moves), len(places)
    if count == drawn:
        return "1 place" if count == 1 else f"{count} places"
    seen = sum(any(not _apart(move, place, wide_mm) for place in places) for move in moves)
    if seen == count:
        return f"{count} places, seen in {drawn} view{'s' if drawn > 1 else ''}"
    return f"{count} places, the {drawn} that moved farthest drawn"


def _draw_head(draw: ImageDraw.ImageDraw, done: Repaired, places: list[Move], wide_mm: float) -> None:
    if not done.moves:
        _words(draw, _MARGIN_PX, _HEAD_PX / 2, "The repair moved nothing: all is as drawn.", 28, TEXT)
        return
    places_told = counted(done.moves, places, wide_mm)
    title = f"Before and after the repair: {places_told}; none moved more than {done.moved_mm:.2f} mm"
    _words(draw, _MARGIN_PX, 32, title, 28, TEXT)
    for left_px, words in ((_MARGIN_PX, "as drawn"), (_MARGIN_PX + _WIDE_PX + _GAP_PX, "repaired")):
        _words(draw, left_px, 74, words, 22, FAINT_TEXT)


def _draw_foot(draw: ImageDraw.ImageDraw, y_px: float, wide_mm: float) -> None:
    """What the colours mean, and the scale."""
    x_px = float(_MARGIN_PX)
    for colour, words in ((REPAIRED, "ink added"), (_TAKEN, "ink taken away")):
        draw.rectangle((x_px, y_px - 8, x_px + 40, y_px + 8), fill=colour)
        _words(draw, x_px + 52, y_px, words, 20, TEXT)
        x_px += 250
    bar_px = _BAR_MM * _WIDE_PX / wide_mm
    right_px = 2 * _WIDE_PX + _MARGIN_PX + _GAP_PX
    draw.line((right_px - bar_px, y_px, right_px, y_px), fill=TEXT, width=3)
    for end_px in (right_px - bar_px, right_px):
        draw.line((end_px, y_px - 7, end_px, y_px + 7), fill=TEXT, width=3)
    _words(draw, right_px - bar_px - 14, y_px, f"{_BAR_MM:g} mm", 20, TEXT, "rm")


def _words(
    draw: ImageDraw.ImageDraw,
    x_px: float,
    y_px: float,
    text: str,
    size_px: int,
    colour: Colour,
    anchor: str = "lm",
) -> None:
    draw.text((x_px, y_px), text, fill=colour, font=ImageFont.load_default(size_px), anchor=anchor)
