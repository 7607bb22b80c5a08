"""Touch-up in the pipeline: a screen's words to values, other drawings read, steps done."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from schemas import touch_up as wire
from workers.geometry.flattening import DEFAULT_TOLERANCE_MM, flatten
from workers.intake.coverage_file import read_coverage
from workers.intake.media import media_of
from workers.pipeline.outcome import Read
from workers.pipeline.svg_art import read_art
from workers.registry import offers
from workers.touch_up.apply import Touched, apply_to_artwork, apply_to_coverage
from workers.touch_up.turning import cos_sin
from workers.values import touch_up
from workers.values.image import InkCoverage
from workers.values.progress import Reporter, silent
from workers.values.region import Artwork

DrawingOf = Callable[[wire.SetIn, str], Artwork]
_PICTURE_MM_PER_PX = 0.1  # of a picture to be set in: it is sized anyway, so any scale will do
_PICTURE_TOLERANCE_MM = 0.02  # a fifth of its pixel


def touched_coverage(
    coverage: InkCoverage, steps: Sequence[wire.TouchUp], read: Read, report: Reporter
) -> Touched[InkCoverage]:
    """Return a picture after the steps of a request.

    Args:
        coverage: The picture.
        steps: As they were sent.
        read: Returns the bytes behind an href.
        report: Told before each step.

    Raises:
        InputRejectedError: A step cannot be done, or a drawing to be set in cannot be read.
    """
    return apply_to_coverage(coverage, _translated(steps, _drawing_of(read)), report)


def touched_artwork(
    artwork: Artwork, steps: Sequence[wire.TouchUp], read: Read, report: Reporter
) -> Touched[Artwork]:
    """Return polygons after the steps of a request; the arguments are those of ``touched_coverage``."""
    return apply_to_artwork(artwork, _translated(steps, _drawing_of(read)), report)


def partly(report: Reporter, start: float, end: float) -> Reporter:
    """Return a reporter whose 0 to 1 is a stretch of another's."""

    def told(fraction: float, message: str) -> None:
        report(start + (end - start) * fraction, message)

    return told


def _drawing_of(read: Read) -> DrawingOf:
    def drawing_of(step: wire.SetIn, field: str) -> Artwork:
        data = read(step.drawing.href)
        if media_of(data) == "image/svg+xml":
            outlines = read_art(data, field).outlines
        else:
            coverage = read_coverage(data, _PICTURE_MM_PER_PX, field)
            outlines = offers.tracer().trace(coverage, _PICTURE_TOLERANCE_MM, silent).outlines
        if not outlines.loops:
            return flatten(outlines)
        # flat enough for the size it will have
        points = np.concatenate(outlines.loops).reshape(-1, 2)
        cos, sin = cos_sin(step.turn)
        axis = np.array([cos, -sin] if step.width is not None else [sin, cos])
        wanted_mm = step.width if step.width is not None else step.height
        enlargement = (wanted_mm or 0.0) / max(float(np.ptp(points @ axis)), 1e-6)
        return flatten(outlines, DEFAULT_TOLERANCE_MM / max(enlargement, 1.0))

    return drawing_of


def _translated(steps: Sequence[wire.TouchUp], drawing_of: DrawingOf) -> list[touch_up.TouchUp]:
    """Return the steps with y up instead of down.

    Args:
        steps: As they were sent.
        drawing_of: Returns the drawing that a step sets in.
    """
    return [
        _touch_up_step(step, drawing_of, f"/inputs/touch_up/{number}") for number, step in enumerate(steps)
    ]


def _touch_up_step(step: wire.TouchUp, drawing_of: DrawingOf, field: str) -> touch_up.TouchUp:
    match step:
        case wire.Turn():
            return touch_up.Turn(turn_deg=step.angle)
        case wire.Mirror():
            return touch_up.Mirror(is_left_right=step.swap == "left-right")
        case wire.Crop():
            return touch_up.Crop(left_mm=step.x, top_mm=-step.y, width_mm=step.width, height_mm=step.height)
        case wire.Invert():
            return touch_up.Invert()
        case wire.RemoveSpecks():
            return touch_up.RemoveSpecks(below_mm2=step.below)
        case wire.Flip():
            return touch_up.Flip(x_mm=step.x, y_mm=-step.y)
        case wire.SetIn():
            return touch_up.SetIn(
                artwork=drawing_of(step, f"{field}/drawing"),
                x_mm=step.x,
                y_mm=-step.y,
                width_mm=step.width,
                height_mm=step.height,
                turn_deg=step.turn,
            )
    return _marking_step(step)


def _marking_step(
    step: wire.Erase | wire.Draw | wire.Keep | wire.Thicken | wire.Thin,
) -> touch_up.TouchUp:
    """Return a step that speaks of an area."""
    match step:
        case wire.Erase():
            return touch_up.Erase(area=_mark(step))
        case wire.Draw():
            return touch_up.Draw(area=_mark(step))
        case wire.Keep():
            return touch_up.Keep(area=touch_up.Patch(polygon_mm=_points(step.polygon)))
    within = None if step.polygon is None else touch_up.Patch(polygon_mm=_points(step.polygon))
    kind = touch_up.Thicken if isinstance(step, wire.Thicken) else touch_up.Thin
    return kind(by_mm=step.by, within=within)


def _mark(step: wire.Erase | wire.Draw) -> touch_up.Patch | touch_up.Stroke:
    if step.polygon is not None:
        return touch_up.Patch(polygon_mm=_points(step.polygon))
    return touch_up.Stroke(line_mm=_points(step.line or []), width_mm=step.width or 0.0)


def _points(points: Sequence[tuple[float, float]]) -> tuple[touch_up.PointMm, ...]:
    """Return points with y up: the one place where a screen's y is turned over."""
    return tuple((x, -y) for x, y in points)
