"""Touch-up in the pipeline: a screen's words to values, the drawings to be set in read."""

from __future__ import annotations

from collections.abc import Sequence

from schemas import touch_up as wire
from workers.geometry.flattening import DEFAULT_TOLERANCE_MM, flatten_keeping_curves
from workers.pipeline.drawings import Drawings, flat_within_mm
from workers.touch_up.apply import apply_to_artwork
from workers.tracing.redrawn import redrawn
from workers.values import touch_up
from workers.values.curved_artwork import CurvedArtwork
from workers.values.outlines import Outlines
from workers.values.progress import Reporter

_USUAL_SIDE_MM = 200.0  # of a sheet; a smaller drawing may be enlarged yet, so its tolerances are smaller


def steps_of(steps: Sequence[wire.TouchUp], drawings: Drawings) -> list[touch_up.TouchUp]:
    """Return the steps of a request with y up instead of down, the drawings that they set in read.

    Args:
        steps: As they were sent.
        drawings: Reads the drawings to be set in, and keeps what was found in each.

    Raises:
        InputRejectedError: A drawing to be set in cannot be read.
    """
    return [_touch_up_step(step, drawings, f"/inputs/touch_up/{number}") for number, step in enumerate(steps)]


def touched_up(
    outlines: Outlines, steps: Sequence[touch_up.TouchUp], tolerance_mm: float, report: Reporter
) -> tuple[Outlines, dict[str, object]]:
    """Return outlines after touch-up steps, and for the report what each did and what became of the curves.

    Args:
        outlines: The drawing.
        steps: What to do, in order.
        tolerance_mm: How far curves may leave an edge that the steps have moved or drawn.
        report: Told before each step.

    Raises:
        ParameterOutOfRangeError: A step cannot be done on this drawing, or none of its ink is left.
        NoDrawingFoundError: A drawing to be set in has no ink.
    """
    fine = min(1.0, max(outlines.width_mm, outlines.height_mm) / _USUAL_SIDE_MM)
    drawing = flatten_keeping_curves(outlines, DEFAULT_TOLERANCE_MM * fine)
    touched = apply_to_artwork(drawing, steps, report)
    done = redrawn(touched.drawing, tolerance_mm * fine)
    return done.outlines, {
        "touch_up": touched.record,
        "pieces_as_drawn": done.pieces_as_drawn,
        "pieces_fitted": done.pieces_fitted,
        "fitted_within_mm": round(tolerance_mm * fine, 6),
        "loops_straight": done.loops_straight,
    }


def _drawing_of(step: wire.SetIn, drawings: Drawings, field: str) -> CurvedArtwork:
    """Return the drawing that a step sets in, flat enough for the size it will have."""
    number = int(field.rpartition("/")[2]) + 1
    outlines = drawings.of_any_kind(
        step.drawing.href, f"{field}/drawing", called=f"the drawing of touch-up step {number}"
    )
    return flatten_keeping_curves(outlines, flat_within_mm(outlines, step.width, step.height, step.turn))


def _touch_up_step(step: wire.TouchUp, drawings: Drawings, field: str) -> touch_up.TouchUp:
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
                drawing=_drawing_of(step, drawings, field),
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
