"""Intake and tracing: from photos or an SVG to outlines."""

from __future__ import annotations

from typing import Any

from schemas import requests
from schemas.problems import FieldError, ProblemCode, problem
from workers.geometry.flattening import flatten
from workers.intake.coverage_file import read_coverage, write_coverage
from workers.intake.media import media_of
from workers.pipeline import design_words
from workers.pipeline.drawings import Drawings
from workers.pipeline.outcome import Files, Read, RefusedWithReports, json_file, records_of
from workers.pipeline.photo_album import PhotoAlbum
from workers.pipeline.touching_up import steps_of, touched_up
from workers.rectification.found_picture import draw_found
from workers.rectification.rectify import Wanted, rectify
from workers.registry import offers
from workers.touch_up.apply import apply_to_coverage
from workers.tracing.art_file import write_art
from workers.values.outlines import Outlines
from workers.values.progress import Reporter, partly, silent


def intake(inputs: requests.IntakeInputs, read: Read, report: Reporter) -> Files:
    """Photos to ink coverage."""
    photos = PhotoAlbum(inputs.photos, read, "/inputs/photos")
    wanted = Wanted(merge=inputs.merge, tones_count=inputs.tones)
    done = rectify(photos, design_words.sheet_hint(inputs.sheet), partly(report, 0.0, 0.9), wanted)
    report(0.9, "drawing what was found")
    files = {"found": draw_found(photos[done.chosen], done)}
    drawings = Drawings(read)
    steps = steps_of(inputs.touch_up, drawings)
    touched = apply_to_coverage(done.coverage, steps, partly(report, 0.95, 1.0))
    for number, tier in enumerate(done.tiers, 2):
        darker = apply_to_coverage(tier, steps, silent)
        files[f"image_{number}"] = write_coverage(darker.drawing)
    findings = [*done.findings, *drawings.findings]
    record = dict(done.record) | {"findings": records_of(findings), "touch_up": touched.record}
    files |= {"image": write_coverage(touched.drawing), "report": json_file(record)}
    if inputs.fewer_tones == "refuse":
        _refuse_fewer(inputs.tones, 2 + len(done.tiers), files)
    return files


def _refuse_fewer(asked_count: int, seen_count: int, files: Files) -> None:
    """Raise, with what was found, if fewer tones can be told apart than were asked for."""
    if seen_count >= asked_count:
        return
    detail = f"{asked_count} tones were asked for, and {seen_count} can be told apart, paper included"
    remedy = f"ask for {seen_count}, or fill areas evenly in greys that differ by a fifth, in even light"
    where = FieldError(pointer="/inputs/tones", detail=detail, remedy=remedy)
    refusal = problem(ProblemCode.INPUT_REJECTED, detail, remedy=remedy, stage="intake", errors=[where])
    raise RefusedWithReports(refusal, files)


def tracing(inputs: requests.TracingInputs, read: Read, report: Reporter) -> Files:
    """Ink coverage, or an SVG, to outlines."""
    data = read(inputs.image.href)
    record: dict[str, Any] = {"tolerance_mm": inputs.tolerance}
    drawings = Drawings(read)
    if media_of(data) == "image/svg+xml":
        report(0.1, "reading the drawing")
        outlines = drawings.svg(
            inputs.image.href,
            "/inputs/image",
            tolerance_mm=inputs.tolerance,
            report=partly(report, 0.1, 0.2),
        )
        steps = steps_of(inputs.touch_up, drawings)
        record |= {"source": "svg", "findings": records_of(drawings.findings), "touch_up": ()}
        if steps:
            outlines, told = touched_up(outlines, steps, inputs.tolerance, partly(report, 0.2, 0.9))
            record |= told
    else:
        coverage = read_coverage(data, inputs.millimetres_per_pixel, "/inputs/image")
        steps = steps_of(inputs.touch_up, drawings)
        picture = apply_to_coverage(coverage, steps, partly(report, 0.0, 0.1))
        report(0.1, "following the ink's edge")
        traced = offers.tracer().trace(picture.drawing, inputs.tolerance, report)
        outlines = traced.outlines
        record |= traced.record
        record |= {
            "source": "image",
            "mm_per_px": coverage.mm_per_px,
            "findings": records_of(drawings.findings),
            "touch_up": picture.record,
        }
    return _traced(outlines, record)


def _traced(outlines: Outlines, record: dict[str, Any]) -> Files:
    """Art and its report."""
    ink = flatten(outlines).ink.polygons
    rings = [ring for part in ink.geoms for ring in (part.exterior, *part.interiors)]
    figures = {
        "width_mm": outlines.width_mm,
        "height_mm": outlines.height_mm,
        "parts": len(ink.geoms),
        "holes": len(rings) - len(ink.geoms),
        "ink_mm2": round(ink.area, 3),
        "pieces": sum(len(loop) for loop in outlines.loops),
    }
    return {"art": write_art(outlines), "report": json_file(figures | record)}
