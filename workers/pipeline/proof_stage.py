"""Verification: programs, ours or anybody's, to a proof and pictures of what they make."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from pydantic import ValidationError

from schemas import requests
from schemas.links import Link, ProgramLink, ProgramList
from schemas.problems import ProblemCode, problem
from schemas.processes import PREVIEW_VIEWS, PROGRAM_FOLDER
from workers.cutting_data import tables
from workers.errors import ParameterOutOfRangeError
from workers.layout.design_file import read_design
from workers.pipeline import cut_words, design_words, program_words
from workers.pipeline.outcome import Files, Read, RefusedWithReports, finding_report
from workers.preview.appearance import Appearance
from workers.preview.depth_key import draw_depth_key
from workers.preview.depth_map import write_depth_map
from workers.preview.mesh import write_mesh
from workers.preview.relief_image import draw_relief
from workers.preview.views import VIEWS
from workers.registry import offers
from workers.values.material import Material
from workers.values.progress import Reporter
from workers.verification.proof_file import proof_json
from workers.verification.verify import verify


def verification(inputs: requests.VerificationInputs, read: Read, report: Reporter) -> Files:
    """Programs to a proof, with pictures of what they make."""
    links = _program_links(inputs.programs, read)
    programs = [
        program_words.program(
            link,
            link.name or f"program {number + 1}",
            read(link.href).decode("latin-1"),
            f"/inputs/programs/{number}",
        )
        for number, link in enumerate(links)
    ]
    board = design_words.board(inputs.board)
    material = offers.material(board.material, "/inputs/board/material")
    design = read_design(read(inputs.design.href), "/inputs/design") if inputs.design else None
    verified = verify(
        programs,
        board,
        tables.machine(inputs.machine, "/inputs/machine"),
        design,
        cut_words.incise_cut(inputs.incise, design.bit_name if design else "") if inputs.incise else None,
        cut_words.cutout_cut(inputs.cutout) if inputs.cutout else None,
        inputs.cell,
        report,
        cut_words.keep_outs(inputs.keep_out),
        {waiver.gate: waiver.reason for waiver in inputs.waivers},
        cut_words.drill_cut(inputs.drill) if inputs.drill else None,
        material,
    )
    report(0.8, "drawing the preview")
    look = _appearance(inputs, material)
    with ThreadPoolExecutor(1) as beside:  # on the second core; what draws lets other threads run
        preview = beside.submit(draw_relief, verified.field, board, look)
        depth_map = write_depth_map(verified.field, board)
        depth_key = draw_depth_key(verified.field, board)
        relief = write_mesh(verified.field, board, material, look.paint)
    files = {
        "proof": proof_json(
            verified, _repeatable(inputs, links), depth_map.mm_per_px, depth_map.mm_per_level
        ),
        "preview": preview.result(),
        "depth_map": depth_map.data,
        "depth_key": depth_key,
        "relief": relief,
    }
    if verified.field_behind:
        bare = dataclasses.replace(look, paint=None, grain_deg=-look.grain_deg)
        files["preview_back"] = draw_relief(verified.field_behind, board, bare)
    for view in inputs.preview.views:
        files[PREVIEW_VIEWS[view]] = VIEWS[view](verified.field, board, look)
    if not verified.proof.passed:
        errors = [found for found in verified.proof.findings if found.stops]
        raise RefusedWithReports(
            problem(
                ProblemCode.PROOF_FAILED,
                "the programs do not make the design, or break a limit: "
                + "; ".join(found.message for found in errors[:3]),
                remedy=errors[0].remedy if errors else "see the findings of the proof",
                stage="verification",
                findings=[finding_report(found) for found in errors],
            ),
            files,
        )
    return files


def _appearance(inputs: requests.VerificationInputs, material: Material) -> Appearance:
    """Return how the board looks; its grain runs along the longer side unless the order says otherwise."""
    grain_deg = inputs.preview.grain
    if grain_deg is None:
        grain_deg = 0.0 if inputs.board.width >= inputs.board.height else 90.0
    return Appearance(material=material, paint=design_words.colour(inputs.preview.paint), grain_deg=grain_deg)


def _repeatable(inputs: requests.VerificationInputs, links: Sequence[ProgramLink]) -> dict[str, Any]:
    """Return what was asked, its links as the names that the files have beside the proof in a bundle."""
    asked = inputs.model_dump(mode="json", exclude_none=True)
    asked["programs"] = [
        {"href": PROGRAM_FOLDER + (link.name or f"{number}.ngc")}
        | link.model_dump(mode="json", exclude_none=True, include={"bit", "bits", "name", "side"})
        for number, link in enumerate(links, 1)
    ]
    if inputs.design:
        asked["design"] = {"href": "design.json"}
    return asked


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
            "or give a list of {href, bit}, or {href, bits}, one for each program",
        ) from error
