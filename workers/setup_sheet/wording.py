"""The sentences of the page: set-up, checks, findings, proof and safety."""

from __future__ import annotations

import itertools
import math

from workers.setup_sheet.board_drawing import blank_of
from workers.setup_sheet.look import both_units, minutes
from workers.setup_sheet.sheet import SetupSheet
from workers.values.finding import Finding, Severity
from workers.values.proof import Deviation

MOST_FINDINGS = 6
_MOST_ZONES = 4
_BED_MM = 6.0  # of spoilboard under the deepest cut (common practice)
_ORDER = (Severity.ERROR, Severity.WARNING, Severity.NOTE)


def facts(sheet: SetupSheet) -> list[tuple[str, str]]:
    """Return the set-up in pairs of name and figure."""
    board, blank = sheet.design.board, blank_of(sheet.design, sheet.cutout)
    corner = f", corners {board.corner_radius_mm:g} mm" if board.corner_radius_mm else ""
    rows = [
        ("Board", f"{board.width_mm:g} x {board.height_mm:g} mm{corner}{_smaller(sheet)}"),
        ("Thickness", f"{both_units(board.thickness_mm)}: measure it"),
        ("Material", sheet.material.title),
        (
            "Blank",
            f"{blank.width_mm:g} x {blank.height_mm:g} mm or larger" if sheet.cutout else "the board itself",
        ),
        ("Zero X Y", _zero(sheet)),
        ("Zero Z", "top face; set again after each change of bit"),
        ("Machine", sheet.machine.title),
        ("Spindle", _spindle(sheet)),
        ("Bed", _bed(sheet)),
    ]
    if sheet.grain_deg is not None:
        rows.append(("Grain", f"{_direction(sheet.grain_deg)}: floors are cleared in lines along it"))
    if sheet.cutout is not None:
        rows.append(("Tabs", _tabs(sheet)))
    rows.append(("Time", _time(sheet)))
    return rows


def checks(sheet: SetupSheet) -> list[str]:
    """Return what to tick off before the spindle starts."""
    height = f"lower than {sheet.machine.clearance_mm:g} mm over the face"
    clamps = _zones(sheet) or (
        f"Blank held firmly; clamps {height} and outside the dashed line; no screw inside it"
        if sheet.cutout
        else f"Board held firmly; clamps {height} and clear of every cut"
    )
    return [
        clamps,
        "Thickness measured with calipers",
        "Machine isolated while a bit is changed; collet clean and tight, bit undamaged",
        "X, Y and Z zero set; Z set again after each change of bit",
        "Spindle at the speed in the table"
        + ("" if sheet.machine.spindle_commanded else ": it is set by hand, programs only say it"),
        "First program run above the work: size, place and direction as drawn",
        "Extraction running; glasses, hearing protection and mask on; no gloves, no loose sleeves",
        "Stop button and extinguisher within reach; somebody stays with the machine",
    ]


def _zones(sheet: SetupSheet) -> str:
    """Where the order said that clamps stand; empty if it did not."""
    if not sheet.keep_outs:
        return ""
    height_mm = max(zone.height_mm for zone in sheet.keep_outs)
    shown = [
        f"X {zone.left_mm:g} to {zone.right_mm:g}, Y {zone.bottom_mm:g} to {zone.top_mm:g}"
        for zone in sheet.keep_outs[:_MOST_ZONES]
    ]
    more = len(sheet.keep_outs) - len(shown)
    return (
        f"Held firmly; clamps only in the hatched zones and none higher than {height_mm:g} mm over the face: "
        + "; ".join(shown)
        + (f"; and {more} more, as drawn" if more else "")
    )


def finding_lines(sheet: SetupSheet) -> list[tuple[Severity, str]]:
    """Return what was found, the gravest first, each with its remedy."""
    found = sorted((*sheet.proof.findings, *sheet.notes), key=lambda finding: _ORDER.index(finding.severity))
    lines = [(finding.severity, _told(finding)) for finding in found[:MOST_FINDINGS]]
    if len(found) > MOST_FINDINGS:
        lines.append(
            (Severity.NOTE, f"and {len(found) - MOST_FINDINGS} more: see proof.json and verdicts.json.")
        )
    return lines or [(Severity.NOTE, "Nothing to remark.")]


def _told(finding: Finding) -> str:
    """A finding in a sentence; for a waived one the order's reason stands where the remedy would."""
    after = f"WAIVED by the order: {finding.waived}" if finding.waived else finding.remedy
    return f"{finding.message}. {after}".rstrip(". ") + "."


def proof_rows(sheet: SetupSheet) -> list[tuple[str, str]]:
    """Return the figures of the proof in pairs."""
    proof = sheet.proof
    rows = [*_deviation("Too deep", proof.overcut), *_deviation("Too shallow", proof.undercut)]
    if not rows:
        rows = [("Surface", "not compared: no design was given")]
    rows.append(("Removed", f"{proof.carved_volume_mm3 / 1000:.1f} cm\u00b3 inside the board"))
    return rows


def safety_lines(sheet: SetupSheet) -> list[str]:
    """Return the material's own cautions, and what holds for every router."""
    return [
        *sheet.material.cautions,
        "Routers are loud: wear hearing protection from 85 dBA on.",
        "Hands stay at least 150 mm from a turning bit; never run a bit above its rated speed.",
        "Feeds and speeds on this sheet are a starting point: listen, look at the chips, and slow down.",
        "A dull or standing bit burns wood: look for embers in the dust bag before you leave.",
    ]


DISCLAIMER = (
    "This sheet does not replace the machine's manual, the rules of your workshop and country, "
    "or the judgement of a trained and, where required, licensed person."
)


def _zero(sheet: SetupSheet) -> str:
    margin_mm = blank_of(sheet.design, sheet.cutout).margin_mm
    if not margin_mm:
        return "lower left corner of the board"
    return f"lower left corner of the finished board, {margin_mm:g} mm in from both edges of the blank"


def _spindle(sheet: SetupSheet) -> str:
    low, high = sheet.machine.min_spindle_rpm, sheet.machine.max_spindle_rpm
    how = "set by the program" if sheet.machine.spindle_commanded else "set its dial by hand"
    return f"{how}; {low:.0f} to {high:.0f} rpm"


def _bed(sheet: SetupSheet) -> str:
    deepest_mm = max((program.deepest_mm for program in sheet.programs), default=0.0)
    past_mm = deepest_mm - sheet.design.board.thickness_mm
    if past_mm <= 0:
        return f"not touched: the deepest cut is {deepest_mm:.2f} mm"
    return f"cut {past_mm:.2f} mm deep: a spoilboard of {math.ceil(past_mm + _BED_MM)} mm or more underneath"


def _direction(turn_deg: float) -> str:
    """Return a direction in words, by the axes."""
    along = {0.0: "along X", 90.0: "along Y"}
    return along.get(turn_deg % 180, f"{turn_deg % 180:g} degrees from X, anticlockwise")


def _smaller(sheet: SetupSheet) -> str:
    """What a cut on or inside the line makes of the board."""
    eaten_mm = sheet.cutout.eaten_mm if sheet.cutout else 0.0
    if eaten_mm <= 0:
        return ""
    width_mm, height_mm = (
        side_mm - 2 * eaten_mm for side_mm in (sheet.design.board.width_mm, sheet.design.board.height_mm)
    )
    return f"; the bit takes {eaten_mm:g} mm all round: {width_mm:g} x {height_mm:g} mm are left"


def _tabs(sheet: SetupSheet) -> str:
    cut = sheet.cutout
    count = cut.tabs_on(sheet.design.outline.exterior.length) if cut else 0
    if cut is None or not count:
        return "none: hold the board by tape or vacuum, or it comes loose"
    size = f"{cut.tab_width_mm:g} mm wide, {cut.tab_height_mm:g} mm high"
    return f"{count}, {size}{', sloped' if cut.tabs_sloped else ''}; saw and plane them off"


def _time(sheet: SetupSheet) -> str:
    bits = [program.bit for program in sheet.programs]
    changes = sum(one != other for one, other in itertools.pairwise(bits))
    word = "change" if changes == 1 else "changes"
    return f"{minutes(sheet.proof.seconds_s)} of running, and {changes} {word} of bit"


def _deviation(name: str, deviation: Deviation | None) -> list[tuple[str, str]]:
    if deviation is None:
        return []
    said = f"at most {deviation.max_mm:.3f} mm; 99.9 % within {deviation.p999_mm:.3f} mm"
    beyond = f"{deviation.area_mm2:.2f} mm\u00b2 beyond tolerance"
    return [(name, f"{said}; {beyond}" if deviation.area_mm2 > 0 else said)]
