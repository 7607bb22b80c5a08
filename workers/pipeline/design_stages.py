"""Layout and resolvability: from art and words to a design whose strokes show."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

import shapely

from schemas import cuts, requests
from schemas.drawings import Place
from schemas.problems import FieldError, ProblemCode, problem
from workers.cutting_data import tables
from workers.errors import InputRejectedError
from workers.geometry.vee import half_width_mm
from workers.layout.compose import compose
from workers.layout.design_file import draw_design, read_design, write_design
from workers.layout.ground import raised, raised_to_edge
from workers.layout.stock import stock_findings
from workers.pipeline import cut_words, design_words
from workers.pipeline.drawings import Drawings, flat_for
from workers.pipeline.outcome import Files, Read, RefusedWithReports, finding_report, json_file, records_of
from workers.registry import offers
from workers.resolvability.advice import advise
from workers.resolvability.before_after import draw_before_after
from workers.resolvability.bit_choice import best_cut
from workers.resolvability.legibility import legibility_of, notes_on_lettering
from workers.resolvability.limits import limits_of
from workers.resolvability.overlay import draw_overlay
from workers.resolvability.repair import as_drawn, repair
from workers.resolvability.repair_notes import note_on_height
from workers.resolvability.tones import notes_on_tones, tones_after
from workers.resolvability.verdicts_file import verdicts_json
from workers.tracing.art_file import write_region_art
from workers.values.cuts import InciseCut
from workers.values.design import Design
from workers.values.examination import Examination, Verdict
from workers.values.finding import Finding, Severity
from workers.values.ground import ground_beyond, ground_within
from workers.values.outlines import Outlines
from workers.values.placement import PlacedArt
from workers.values.progress import Reporter
from workers.values.region import Artwork, Region
from workers.values.tiers import tiers_of

_BESIDE_EDGE_MM = 1.0  # of ground beyond the board, so that it counts as wide there


def layout(inputs: requests.LayoutInputs, read: Read, report: Reporter) -> Files:
    """Everything placed on the board."""
    offers.material(inputs.board.material, "/inputs/board/material")
    art = []
    drawings = Drawings(read)
    for number, item in enumerate(inputs.art):
        report(0.5 * number / len(inputs.art), "placing the art")
        if item.svg is None:
            raise InputRejectedError(
                "layout takes art as outlines", field=f"/inputs/art/{number}", remedy="give 'svg'"
            )
        title = f"art {number + 1}"
        outlines = drawings.svg(item.svg.href, f"/inputs/art/{number}/svg", called=title)
        place = item.place
        art.append(
            PlacedArt(
                title=title,
                artwork=_flat(outlines, place),
                darker=tuple(
                    _flat(
                        drawings.svg(
                            link.href,
                            f"/inputs/art/{number}/darker/{tone}",
                            called=f"{title}, darker tone {tone + 1}",
                        ),
                        place,
                    )
                    for tone, link in enumerate(item.darker or [])
                ),
                x_mm=place.x if place else None,
                y_mm=place.y if place else None,
                width_mm=place.width if place else None,
                height_mm=place.height if place else None,
                turn_deg=place.turn if place else 0.0,
            )
        )
    report(0.6, "setting the lettering")
    stock = stock_findings(inputs.board.thickness, inputs.board.measured)
    overlaps: list[Finding] = []
    design = compose(
        design_words.board(inputs.board),
        art,
        [design_words.lettering_line(line) for line in inputs.lettering],
        design_words.border_line(inputs.border),
        [design_words.hole(hole) for hole in inputs.holes],
        [design_words.opening(opening) for opening in inputs.openings],
        [
            design_words.hanger(hanger, f"/inputs/hangers/{number}")
            for number, hanger in enumerate(inputs.hangers)
        ],
        remark=overlaps.append,
    )
    if inputs.raised and inputs.raised.margin:
        design = raised(design, inputs.raised.margin)
    elif inputs.raised and inputs.raised.past_edge:
        design = raised_to_edge(design, inputs.raised.past_edge)
    return {
        "design": write_design(design),
        "drawing": draw_design(design),
        "layout_report": json_file({"findings": records_of((*drawings.findings, *stock, *overlaps))}),
    }


def _flat(outlines: Outlines, place: Place | None) -> Artwork:
    """Return a drawing flat enough for the size it will have on the board."""
    return flat_for(
        outlines,
        width_mm=place.width if place else None,
        height_mm=place.height if place else None,
        turn_deg=place.turn if place else 0.0,
    )


def resolvability(inputs: requests.ResolvabilityInputs, read: Read, report: Reporter) -> Files:
    """Verdicts on every stroke and wall, and the repaired drawing."""
    offered = cut_words.incise_cuts(
        cuts.Incise(bit=inputs.bit, depth_limit=inputs.depth_limit, paler_limits=inputs.paler_limits),
        field="/inputs",
    )
    material = offers.material(inputs.material, "/inputs/material")
    design = read_design(read(inputs.design.href), "/inputs/design") if inputs.design else None
    drawings = Drawings(read)
    artwork = _on_board(design, offered) if design else _sized(inputs, drawings)
    machine = tables.machine(inputs.machine, "/inputs/machine")
    cut, reasons = best_cut(artwork.ink, offered, material, machine)
    wishes = cut_words.repair_wishes(inputs.repair)
    done = (
        repair(artwork.ink, cut, material, report, wishes)
        if wishes
        else as_drawn(artwork.ink, cut, material, report)
    )
    region, after = done.region, done.examination
    if design:
        region = ground_within(design, region)
    report(0.82, "looking for what would show more")
    bits = _vee_bits()
    if design:
        design = dataclasses.replace(design, ink=region, darker=tones_after(design, region))
    lettering = legibility_of(design.elements if design else (), after)
    notes = (
        *drawings.findings,
        *reasons,
        *done.notes,
        *note_on_height(after, cut, material, bits),
        *notes_on_lettering(lettering, inputs.viewing_distance),
        *(notes_on_tones(tiers_of(design, cut), material) if design else ()),
    )
    advice = advise(artwork.ink, cut, material, machine, bits)
    report(0.9, "drawing the verdicts")
    frame_mm = (0.0, 0.0, artwork.width_mm, artwork.height_mm)
    files = {
        "art": write_region_art(dataclasses.replace(artwork, ink=region)),
        "verdicts": verdicts_json(
            done, cut=cut, material=material, advice=advice, lettering=lettering, notes=notes
        ),
        "overlay": draw_overlay(region, after, frame_mm, limits_of(cut, material).shows_from_mm),
    }
    if wishes:
        files["before_after"] = draw_before_after(done, frame_mm)
    if design:
        changed = dataclasses.replace(design, bit_name=cut.cutter.name if reasons else "")
        files |= {"design": write_design(changed), "drawing": draw_design(changed)}
    if inputs.unresolved == "refuse":
        _refuse_lost(after, files)
    return files


def _vee_bits() -> list[Any]:
    return [bit for bit in tables.BITS.values() if bit.name.startswith("vee-")]


def _on_board(design: Design, cuts: Sequence[InciseCut]) -> Artwork:
    """A design's ink, and of ground that runs out over the edge as much as counts as wide there."""
    reach_mm = max(half_width_mm(cut.cutter, cut.depth_limit_mm) for cut in cuts)
    board = design.board
    return Artwork(
        ink=ground_beyond(design, reach_mm + _BESIDE_EDGE_MM),
        width_mm=board.width_mm,
        height_mm=board.height_mm,
    )


def _sized(inputs: requests.ResolvabilityInputs, drawings: Drawings) -> Artwork:
    """Art at the size it will have: scaled as a whole, or so that its ink is ``width`` wide."""
    if inputs.art is None:
        raise InputRejectedError("no art", field="/inputs/art", remedy="give 'art' or 'design'")
    outlines = drawings.svg(inputs.art.href, "/inputs/art")
    artwork = flat_for(outlines, width_mm=inputs.width, scale=inputs.scale or 1.0)
    left, _, right, _ = artwork.ink.polygons.bounds
    factor = inputs.width / (right - left) if inputs.width else (inputs.scale or 1.0)
    if factor == 1.0:
        return artwork
    scaled = shapely.transform(artwork.ink.polygons, lambda points: points * factor)
    return Artwork(
        ink=Region(scaled), width_mm=artwork.width_mm * factor, height_mm=artwork.height_mm * factor
    )


def _refuse_lost(examination: Examination, files: Files) -> None:
    lost = [stroke for stroke in examination.strokes if stroke.verdict is Verdict.LOST]
    if not lost:
        return
    findings = [
        Finding(
            code="stroke-lost",
            severity=Severity.ERROR,
            message=f"a stroke {stroke.length_mm:.1f} mm long near x {stroke.at_mm[0]:.1f}, y "
            f"{stroke.at_mm[1]:.1f} mm is {stroke.width_mm:.2f} mm wide, thinner than the bit's tip",
            remedy="enlarge the art, allow repair, or take a bit with a finer tip",
            at_mm=stroke.at_mm,
        )
        for stroke in lost
    ]
    detail = (
        f"{len(lost)} strokes, {sum(stroke.length_mm for stroke in lost):.0f} mm of them, "
        "are thinner than the bit can cut"
    )
    remedy = (
        "enlarge the art, set 'repair' to true, take a finer bit, "
        "or set 'unresolved' to 'leave-out' to carve the rest"
    )
    raise RefusedWithReports(
        problem(
            ProblemCode.NOT_CUTTABLE,
            detail,
            remedy=remedy,
            stage="resolvability",
            errors=[FieldError(pointer="/inputs/bit", detail=detail, remedy=remedy)],
            findings=[finding_report(found) for found in findings],
        ),
        files,
    )
