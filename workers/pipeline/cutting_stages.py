"""Toolpaths, machine code and bundle: from a design to what is taken to the machine."""

from __future__ import annotations

from schemas import requests
from schemas.processes import PROGRAM_FOLDER
from workers.cutting_data import tables
from workers.dialects.programs import write_programs
from workers.layout.design_file import read_design
from workers.pipeline import bundle, cut_words, program_words
from workers.pipeline.outcome import Files, Read, json_file, records_of
from workers.pipeline.program_list import program_list
from workers.registry import offers
from workers.toolpaths.paths_file import draw_paths, read_paths, write_paths
from workers.toolpaths.plan import plan
from workers.values.finding import Finding, Severity
from workers.values.progress import Reporter


def toolpaths(inputs: requests.ToolpathsInputs, read: Read, report: Reporter) -> Files:
    """A design to cut paths."""
    design = read_design(read(inputs.design.href), "/inputs/design")
    incise = cut_words.incise_cut(inputs.incise, design.bit_name)
    planned = plan(
        design,
        incise,
        cut_words.clear_cut(inputs.clear) if inputs.clear else None,
        cut_words.cutout_cut(inputs.cutout) if inputs.cutout else None,
        cut_words.drill_cut(inputs.drill) if inputs.drill else None,
        offers.material(inputs.material or design.board.material, "/inputs/material"),
        tables.machine(inputs.machine, "/inputs/machine"),
        report,
        cut_words.keep_outs(inputs.keep_out),
        cut_words.patterns(inputs.incise, inputs.clear),
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
        "report": json_file({"findings": records_of(findings)}),
    }


def machine_code(inputs: requests.MachineCodeInputs, read: Read, report: Reporter) -> Files:
    """Cut paths to programs and their list."""
    cutting_plan = read_paths(read(inputs.paths.href), "/inputs/paths")
    machine = tables.machine(inputs.machine, "/inputs/machine")
    dialect = program_words.dialect(inputs.dialect, "/inputs/dialect")
    report(0.1, "writing the programs")
    programs = write_programs(cutting_plan, machine, dialect)
    files = {PROGRAM_FOLDER + program.name: program.text.encode("ascii") for program in programs}
    listed = program_list(programs, cutting_plan).model_dump(mode="json", exclude_none=True)
    return files | {"programs": json_file(listed)}


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
