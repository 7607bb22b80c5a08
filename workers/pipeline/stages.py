"""The stages, each from validated words to files. What they compute is in the rooms below."""

from __future__ import annotations

import dataclasses
import hashlib
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import shapely
from pydantic import ValidationError

from schemas import cuts, requests
from schemas.links import Link, ProgramEntry, ProgramLink, ProgramList, artifact_href
from schemas.problems import Problem, ProblemCode, problem
from schemas.processes import PROGRAM_FOLDER, RS274
from workers.cutting_data import tables
from workers.dialects.programs import write_programs
from workers.errors import InputRejectedError, ParameterOutOfRangeError
from workers.geometry.flattening import flatten
from workers.intake.coverage_file import read_coverage, write_coverage
from workers.intake.media import media_of
from workers.layout.compose import compose
from workers.layout.design_file import draw_design, read_design, write_design
from workers.layout.ground import raised
from workers.layout.stock import stock_findings
from workers.pipeline import bundle, translation
from workers.pipeline.drawings import Drawings, flat_for
from workers.pipeline.outcome import Read, json_file
from workers.pipeline.photo_album import PhotoAlbum
from workers.pipeline.touching_up import steps_of
from workers.preview.depth_key import draw_depth_key
from workers.preview.depth_map import write_depth_map
from workers.preview.mesh import write_mesh
from workers.preview.oblique import draw_oblique
from workers.preview.relief_image import draw_relief
from workers.rectification.found_picture import draw_found
from workers.rectification.rectify import Wanted, rectify
from workers.registry import offers
from workers.resolvability.advice import advise
from workers.resolvability.legibility import legibility_of, notes_on_lettering
from workers.resolvability.limits import limits_of
from workers.resolvability.overlay import draw_overlay
from workers.resolvability.repair import as_drawn, repair
from workers.resolvability.repair_notes import note_on_height
from workers.resolvability.verdicts_file import verdicts_json
from workers.toolpaths.paths_file import draw_paths, read_paths, write_paths
from workers.toolpaths.plan import plan
from workers.touch_up.apply import apply_to_artwork, apply_to_coverage
from workers.tracing.art_file import write_art, write_region_art
from workers.values.cutting_plan import Operation
from workers.values.examination import Examination, Verdict
from workers.values.finding import Finding, Severity
from workers.values.placement import PlacedArt
from workers.values.program import Program
from workers.values.progress import Reporter, partly, silent
from workers.values.region import Artwork, Region
from workers.verification.proof_file import proof_json
from workers.verification.verify import verify

Files = dict[str, bytes]


class RefusedWithReports(Exception):  # noqa: N818 - not an error of ours: an answer that is not yes
    """The work was done and the answer is no: the files say why."""

    def __init__(self, refusal: Problem, files: Files) -> None:
        super().__init__(refusal.detail)
        self.problem = refusal
        self.files = files


def intake(inputs: requests.IntakeInputs, read: Read, report: Reporter) -> Files:
    """Photos to ink coverage."""
    photos = PhotoAlbum(inputs.photos, read, "/inputs/photos")
    wanted = Wanted(merge=inputs.merge, tones_count=inputs.tones)
    done = rectify(photos, translation.sheet_hint(inputs.sheet), partly(report, 0.0, 0.9), wanted)
    report(0.9, "drawing what was found")
    files = {"found": draw_found(photos[done.chosen], done)}
    drawings = Drawings(read)
    steps = steps_of(inputs.touch_up, drawings)
    touched = apply_to_coverage(done.coverage, steps, partly(report, 0.95, 1.0))
    for number, tier in enumerate(done.tiers, 2):
        darker = apply_to_coverage(tier, steps, silent)
        files[f"image_{number}"] = write_coverage(darker.drawing)
    findings = [*done.findings, *drawings.findings]
    record = dict(done.record) | {"findings": _reports(findings), "touch_up": touched.record}
    return files | {"image": write_coverage(touched.drawing), "report": json_file(record)}


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
        record |= {"source": "svg", "findings": _reports(drawings.findings), "touch_up": ()}
        if steps:
            touched = apply_to_artwork(flatten(outlines), steps, partly(report, 0.2, 0.9))
            return _traced(
                touched.drawing, write_region_art(touched.drawing), record | {"touch_up": touched.record}
            )
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
            "findings": _reports(drawings.findings),
            "touch_up": picture.record,
        }
    record["pieces"] = sum(len(loop) for loop in outlines.loops)
    return _traced(flatten(outlines), write_art(outlines), record)


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
                artwork=flat_for(
                    outlines,
                    width_mm=place.width if place else None,
                    height_mm=place.height if place else None,
                    turn_deg=place.turn if place else 0.0,
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
    design = compose(
        translation.board(inputs.board),
        art,
        [translation.lettering_line(line) for line in inputs.lettering],
        translation.border_line(inputs.border),
        [translation.hole(hole) for hole in inputs.holes],
        [translation.opening(opening) for opening in inputs.openings],
    )
    if inputs.raised:
        design = raised(design, inputs.raised.margin)
    return {
        "design": write_design(design),
        "drawing": draw_design(design),
        "layout_report": json_file({"findings": _reports((*drawings.findings, *stock))}),
    }


def resolvability(inputs: requests.ResolvabilityInputs, read: Read, report: Reporter) -> Files:
    """Verdicts on every stroke and wall, and the repaired drawing."""
    cut = translation.incise_cut(cuts.Incise(bit=inputs.bit, depth_limit=inputs.depth_limit), field="/inputs")
    material = offers.material(inputs.material, "/inputs/material")
    design = read_design(read(inputs.design.href), "/inputs/design") if inputs.design else None
    drawings = Drawings(read)
    artwork = (
        Artwork(ink=design.ink, width_mm=design.board.width_mm, height_mm=design.board.height_mm)
        if design
        else _sized(inputs, drawings)
    )
    wishes = translation.repair_wishes(inputs.repair)
    done = (
        repair(artwork.ink, cut, material, report, wishes)
        if wishes
        else as_drawn(artwork.ink, cut, material, report)
    )
    region, after = done.region, done.examination
    report(0.82, "looking for what would show more")
    bits, machine = _vee_bits(), tables.machine(inputs.machine, "/inputs/machine")
    lettering = legibility_of(design.elements if design else (), after)
    notes = (
        *drawings.findings,
        *done.notes,
        *note_on_height(after, cut, material, bits),
        *notes_on_lettering(lettering, inputs.viewing_distance),
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
    if design:
        changed = dataclasses.replace(design, ink=region)
        files |= {"design": write_design(changed), "drawing": draw_design(changed)}
    if inputs.unresolved == "refuse":
        _refuse_lost(after, files)
    return files


def toolpaths(inputs: requests.ToolpathsInputs, read: Read, report: Reporter) -> Files:
    """A design to cut paths."""
    design = read_design(read(inputs.design.href), "/inputs/design")
    incise = translation.incise_cut(inputs.incise)
    planned = plan(
        design,
        incise,
        translation.clear_cut(inputs.clear) if inputs.clear else None,
        translation.cutout_cut(inputs.cutout) if inputs.cutout else None,
        translation.drill_cut(inputs.drill) if inputs.drill else None,
        offers.material(inputs.material or design.board.material, "/inputs/material"),
        tables.machine(inputs.machine, "/inputs/machine"),
        report,
        translation.keep_outs(inputs.keep_out),
        translation.patterns(inputs.incise, inputs.clear),
    )
    findings = list(planned.findings)
    if incise.depth_limit_mm < inputs.incise.depth_limit:
        findings.append(
            Finding(
                code="depth-limit-lowered",
                severity=Severity.WARNING,
                message=f"'{incise.cutter.name}' reaches {incise.depth_limit_mm:.2f} mm, so they end there "
                f"and not at the {inputs.incise.depth_limit:g} mm allowed",
                remedy="take a wider or longer bit for deeper grooves",
            )
        )
    return {
        "paths": write_paths(planned.plan),
        "drawing": draw_paths(planned.plan),
        "report": json_file({"findings": _reports(findings)}),
    }


def machine_code(inputs: requests.MachineCodeInputs, read: Read, report: Reporter) -> Files:
    """Cut paths to programs and their list."""
    cutting_plan = read_paths(read(inputs.paths.href), "/inputs/paths")
    machine = tables.machine(inputs.machine, "/inputs/machine")
    dialect = translation.dialect(inputs.dialect, "/inputs/dialect")
    report(0.1, "writing the programs")
    programs = write_programs(cutting_plan, machine, dialect)
    files = {PROGRAM_FOLDER + program.name: program.text.encode("ascii") for program in programs}
    entries = [
        _entry(program, operation, files[PROGRAM_FOLDER + program.name])
        for program, operation in zip(programs, cutting_plan.operations, strict=True)
    ]
    listed = ProgramList(programs=entries).model_dump(mode="json", exclude_none=True)
    return files | {"programs": json_file(listed)}


def verification(inputs: requests.VerificationInputs, read: Read, report: Reporter) -> Files:
    """Programs to a proof, with pictures of what they make."""
    links = _program_links(inputs.programs, read)
    programs = [
        Program(
            name=link.name or f"program {number + 1}",
            cutter=translation.cutter(link.bit, f"/inputs/programs/{number}/bit"),
            text=read(link.href).decode("latin-1"),
        )
        for number, link in enumerate(links)
    ]
    board = translation.board(inputs.board)
    material = offers.material(board.material, "/inputs/board/material")
    design = read_design(read(inputs.design.href), "/inputs/design") if inputs.design else None
    verified = verify(
        programs,
        board,
        tables.machine(inputs.machine, "/inputs/machine"),
        design,
        translation.incise_cut(inputs.incise) if inputs.incise else None,
        translation.cutout_cut(inputs.cutout) if inputs.cutout else None,
        inputs.cell,
        report,
        translation.keep_outs(inputs.keep_out),
        {waiver.gate: waiver.reason for waiver in inputs.waivers},
        translation.drill_cut(inputs.drill) if inputs.drill else None,
    )
    report(0.8, "drawing the preview")
    paint = translation.colour(inputs.preview.paint)
    with ThreadPoolExecutor(1) as beside:  # on the second core; what draws lets other threads run
        preview = beside.submit(draw_relief, verified.field, board, material, paint)
        depth_map = write_depth_map(verified.field, board)
        depth_key = draw_depth_key(verified.field, board)
        relief = write_mesh(verified.field, board, material, paint)
    files = {
        "proof": proof_json(
            verified, _repeatable(inputs, links), depth_map.mm_per_px, depth_map.mm_per_level
        ),
        "preview": preview.result(),
        "depth_map": depth_map.data,
        "depth_key": depth_key,
        "relief": relief,
    }
    if inputs.preview.oblique:
        files["preview_oblique"] = draw_oblique(verified.field, board, material, paint)
    if not verified.proof.passed:
        errors = [found for found in verified.proof.findings if found.stops]
        raise RefusedWithReports(
            problem(
                ProblemCode.PROOF_FAILED,
                "the programs do not make the design, or break a limit: "
                + "; ".join(found.message for found in errors[:3]),
                remedy=errors[0].remedy if errors else "see the findings of the proof",
                stage="verification",
                findings=[translation.finding_report(found) for found in errors],
            ),
            files,
        )
    return files


def _repeatable(inputs: requests.VerificationInputs, links: Sequence[ProgramLink]) -> dict[str, Any]:
    """Return what was asked, its links as the names that the files have beside the proof in a bundle."""
    asked = inputs.model_dump(mode="json", exclude_none=True)
    asked["programs"] = [
        {
            "href": PROGRAM_FOLDER + (link.name or f"{number}.ngc"),
            "bit": link.model_dump(mode="json", exclude_none=True)["bit"],
        }
        | ({"name": link.name} if link.name else {})
        for number, link in enumerate(links, 1)
    ]
    if inputs.design:
        asked["design"] = {"href": "design.json"}
    return asked


def pack(inputs: requests.BundleInputs, read: Read, report: Reporter) -> Files:
    """Everything in one archive, and the page beside the machine."""
    order = requests.SignOrder.model_validate(inputs.order)
    files = {}
    for number, (name, link) in enumerate(sorted(inputs.files.items())):
        report(0.5 * number / len(inputs.files), "collecting the files")
        files[name] = read(link.href)
    files["order.json"] = json_file(inputs.order)
    report(0.6, "drawing the set-up sheet")
    files["setup-sheet.pdf"] = bundle.setup_sheet(order, files)
    return {
        "order": files["order.json"],
        "setup_sheet": files["setup-sheet.pdf"],
        "bundle": bundle.archive(files),
    }


def echo(inputs: requests.EchoInputs, _read: Read, report: Reporter) -> Files:
    """The message itself, after the pause."""
    end_s = time.monotonic() + inputs.pause
    while (left_s := end_s - time.monotonic()) > 0:
        report(1 - left_s / inputs.pause, "pausing")
        time.sleep(min(left_s, 0.1))
    return {"message": inputs.message.encode()}


STAGES: dict[str, Callable[[Any, Read, Reporter], Files]] = {
    "intake": intake,
    "tracing": tracing,
    "layout": layout,
    "resolvability": resolvability,
    "toolpaths": toolpaths,
    "machine-code": machine_code,
    "verification": verification,
    "bundle": pack,
    "echo": echo,
}


def _reports(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    return [found.as_record() for found in findings]


def _traced(artwork: Artwork, art: bytes, record: dict[str, Any]) -> Files:
    """Art and its report; ``pieces`` are the sides of polygons unless the record tells of curves."""
    ink = artwork.ink.polygons
    rings = [ring for part in ink.geoms for ring in (part.exterior, *part.interiors)]
    figures = {
        "width_mm": artwork.width_mm,
        "height_mm": artwork.height_mm,
        "parts": len(ink.geoms),
        "holes": len(rings) - len(ink.geoms),
        "ink_mm2": round(ink.area, 3),
        "pieces": sum(len(ring.coords) - 1 for ring in rings),
    }
    return {"art": art, "report": json_file(figures | record)}


def _vee_bits() -> list[Any]:
    return [bit for bit in tables.BITS.values() if bit.name.startswith("vee-")]


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
    raise RefusedWithReports(
        problem(
            ProblemCode.NOT_CUTTABLE,
            f"{len(lost)} strokes, {sum(stroke.length_mm for stroke in lost):.0f} mm of them, "
            "are thinner than the bit can cut",
            remedy="enlarge the art, set 'repair' to true, take a finer bit, "
            "or set 'unresolved' to 'leave-out' to carve the rest",
            stage="resolvability",
            findings=[translation.finding_report(found) for found in findings],
        ),
        files,
    )


def _program_links(programs: list[ProgramLink] | Link, read: Read) -> list[ProgramLink]:
    if isinstance(programs, list):
        return programs
    try:
        return list(ProgramList.model_validate_json(read(programs.href)).programs)
    except ValidationError as error:
        raise ParameterOutOfRangeError(
            "'programs' links to a file that is no list of programs",
            field="/inputs/programs",
            remedy="link to the programs.json that machine-code made, "
            "or give a list of {href, bit}, one for each program",
        ) from error


def _entry(program: Program, operation: Operation, data: bytes) -> ProgramEntry:
    lowest_mm = min(float(path.points_mm[:, 2].min()) for path in operation.paths)
    feeds = [float(path.feeds_mm_per_min[1:].max()) for path in operation.paths if len(path.points_mm) > 1]
    plunges = [float(path.feeds_mm_per_min[0]) for path in operation.paths]
    return ProgramEntry(
        href=artifact_href("sha256:" + hashlib.sha256(data).hexdigest()),
        type=RS274,
        name=program.name,
        bit=translation.wire_bit(program.cutter),
        operation=operation.kind.value,
        spindle_rpm=operation.spindle_rpm,
        feed_mm_per_min=max(feeds, default=max(plunges)),
        plunge_mm_per_min=max(plunges),
        depth_mm=round(-lowest_mm, 4),
    )
