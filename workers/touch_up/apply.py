"""A list of touch-up steps done in order, with a record of what each one did."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from workers.errors import ParameterOutOfRangeError
from workers.touch_up.artwork_steps import artwork_sheet, step_on_artwork
from workers.touch_up.changed_curves import Curves, curves_of, told
from workers.touch_up.connected import ink_px2, parts_count
from workers.touch_up.coverage_steps import coverage_sheet, step_on_coverage
from workers.touch_up.marked_areas import Sheet
from workers.values.curved_artwork import CurvedArtwork
from workers.values.image import InkCoverage
from workers.values.progress import Reporter
from workers.values.touch_up import TouchUp

Drawing = TypeVar("Drawing", InkCoverage, CurvedArtwork)


@dataclass(frozen=True, slots=True, eq=False)
class Touched(Generic[Drawing]):
    """A drawing after its steps, and one JSON object a step: what it did to ink, parts and sheet."""

    drawing: Drawing
    record: tuple[dict[str, object], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Figures:
    ink_mm2: float
    parts_count: int
    sheet: Sheet
    curves: Curves | None = None


def apply_to_coverage(
    coverage: InkCoverage, steps: Sequence[TouchUp], report: Reporter, field: str = "/inputs/touch_up"
) -> Touched[InkCoverage]:
    """Return a picture after touch-up steps.

    Args:
        coverage: The picture.
        steps: What to do, in order.
        report: Told before each step.
        field: JSON pointer of the list, for errors.

    Raises:
        ParameterOutOfRangeError: A step cannot be done on this drawing, or none of its ink is left.
        NoDrawingFoundError: A drawing to be set in has no ink.
        ImageTooLargeError: Turned, the picture would be too large.
    """
    return _applied(coverage, steps, report, field, step_on_coverage, _coverage_figures)


def apply_to_artwork(
    drawing: CurvedArtwork, steps: Sequence[TouchUp], report: Reporter, field: str = "/inputs/touch_up"
) -> Touched[CurvedArtwork]:
    """Return polygons with curves after touch-up steps; see :func:`apply_to_coverage`.

    The record tells of each step, too, what became of the pieces of the outline.

    Raises:
        ParameterOutOfRangeError: A step cannot be done on this drawing, or none of its ink is left.
        NoDrawingFoundError: A drawing to be set in has no ink.
    """
    return _applied(drawing, steps, report, field, step_on_artwork, _artwork_figures)


def _applied(
    drawing: Drawing,
    steps: Sequence[TouchUp],
    report: Reporter,
    field: str,
    do: Callable[[Drawing, TouchUp, str], Drawing],
    figures_of: Callable[[Drawing], _Figures],
) -> Touched[Drawing]:
    if not steps:
        return Touched(drawing, ())
    record = []
    before = figures_of(drawing)
    emptied_by: int | None = None
    for number, step in enumerate(steps):
        report(number / len(steps), f"touching up: {step.do.replace('_', ' ')}")
        drawing = do(drawing, step, f"{field}/{number}")
        after = figures_of(drawing)
        if before.parts_count and not after.parts_count:
            emptied_by = number
        record.append(_entry(step, before, after))
        before = after
    if emptied_by is not None and not before.parts_count:
        raise ParameterOutOfRangeError(
            f"after step {emptied_by + 1}, '{steps[emptied_by].do}', there is no ink left",
            field=f"{field}/{emptied_by}",
            remedy="leave this step out, or let it reach less far",
        )
    return Touched(drawing, tuple(record))


def _entry(step: TouchUp, before: _Figures, after: _Figures) -> dict[str, object]:
    return {
        "do": step.do,
        "ink_mm2_before": round(before.ink_mm2, 3),
        "ink_mm2_after": round(after.ink_mm2, 3),
        "ink_mm2_changed": round(after.ink_mm2 - before.ink_mm2, 3),
        "parts_before": before.parts_count,
        "parts_after": after.parts_count,
        "width_mm": round(after.sheet.width_mm, 4),
        "height_mm": round(after.sheet.height_mm, 4),
    } | told(before.curves, after.curves)


def _coverage_figures(coverage: InkCoverage) -> _Figures:
    return _Figures(
        ink_mm2=ink_px2(coverage.pixels) * coverage.mm_per_px**2,
        parts_count=parts_count(coverage.pixels),
        sheet=coverage_sheet(coverage),
    )


def _artwork_figures(drawing: CurvedArtwork) -> _Figures:
    ink = drawing.artwork.ink.polygons
    return _Figures(
        ink_mm2=ink.area,
        parts_count=len(ink.geoms),
        sheet=artwork_sheet(drawing.artwork),
        curves=curves_of(drawing),
    )
