"""The sentences of the page: set-up, checks, findings, proof and safety."""

from __future__ import annotations

import itertools
import math

from workers.cutting_data.reasons import speed_reasons
from workers.setup_sheet.blank import blank_of
from workers.setup_sheet.figures import Figures
from workers.setup_sheet.look import minutes
from workers.setup_sheet.sheet import ProgramRow, SetupSheet
from workers.values.finding import Finding, Severity
from workers.values.frames import MM_PER_INCH
from workers.values.proof import Deviation

_MOST_ZONES = 4
_MOST_LETTERS = 200  # of a finding or its remedy
_BED_MM = 6.0  # of spoilboard under the deepest cut (common practice)
_FLAT_MM = 0.5  # what a face may bow: between near cuts the bit passes 1 mm over it (a choice)
_ORDER = (Severity.ERROR, Severity.WARNING, Severity.NOTE)


def headlines(sheet: SetupSheet) -> list[tuple[str, str, str]]:
    """Return what is read from a metre away: name, figure, and what is to be said of it."""
    board, figures = sheet.design.board, sheet.figures
    corner = (
        f"corners {figures.length(board.corner_radius_mm)}" if board.corner_radius_mm else "square corners"
    )
    other = Figures(not figures.inches).length(board.thickness_mm)
    return [
        ("Board", figures.size(board.width_mm, board.height_mm), corner + _smaller(sheet)),
        ("Thickness", figures.length(board.thickness_mm), f"{other}: measure it"),
        ("Zero", "lower left, top face", _zero(sheet)),
        ("Time", minutes(sheet.proof.seconds_s), _changes(sheet)),
    ]


def facts(sheet: SetupSheet) -> list[tuple[str, str]]:
    """Return the set-up in pairs of name and figure."""
    blank = blank_of(sheet.design, sheet.cutout)
    size = sheet.figures.size(blank.width_mm, blank.height_mm)
    rows = [
        ("Material", sheet.material.title),
        ("Blank", f"{size} or larger" if sheet.cutout else "the board itself"),
        ("Zero Z", f"top face; {_after_change(sheet)}"),
        ("Machine", sheet.machine.title),
        ("Spindle", _spindle(sheet)),
        ("Bed", _bed(sheet)),
    ]
    if sheet.grain_deg is not None:
        rows.append(("Grain", f"{_direction(sheet.grain_deg)}: floors are cleared in lines along it"))
    elif sheet.material.has_grain:
        rows.append(("Grain", f"{_direction(grain_direction_deg(sheet))}, as in the picture"))
    if len(sheet.tone_limits_mm) > 1:
        *paler, darkest = (sheet.figures.number(limit_mm) for limit_mm in sheet.tone_limits_mm)
        deep = f"{', '.join(paler)} and {darkest} {sheet.figures.unit} deep"
        rows.append(("Tones", f"floors {deep}, the palest first"))
    if sheet.design.hangers:
        rows.append(("Back", f"{_slots(sheet)}, cut first with the face down: see the last page"))
    if sheet.design.past_edge_mm:
        past = sheet.figures.length(sheet.design.past_edge_mm)
        rows.append(("Ground", f"cut over the board's edge and {past} past it: keep clamps off"))
    if sheet.cutout is not None or sheet.opening_tabs_mm:
        rows.append(("Tabs", _tabs(sheet)))
    return rows


def grain_direction_deg(sheet: SetupSheet) -> float:
    """Return how the grain should lie: as floors are cleared, as the order says, else along the board."""
    for said_deg in (sheet.grain_deg, sheet.picture_grain_deg):
        if said_deg is not None:
            return said_deg
    board = sheet.design.board
    return 0.0 if board.width_mm >= board.height_mm else 90.0


def file_of(program: ProgramRow) -> str:
    """Return where a bit's work stands: its program, and of a program with several bits its number."""
    return program.file if program.bit_number is None else f"{program.file}, T{program.bit_number}"


def reason(sheet: SetupSheet, program: ProgramRow) -> str:
    """Return what a program's bit is and why it runs at its speed and feed, said once for each bit."""
    pace = (program.cutter, program.spindle_rpm, program.feed_mm_per_min)
    for number, earlier in enumerate(sheet.programs, 1):
        if earlier is program:
            break
        if pace == (earlier.cutter, earlier.spindle_rpm, earlier.feed_mm_per_min):
            return f"as program {number}: the same bit, speed and feed"
    return f"{sheet.figures.bit(program.cutter)}; {_speed_reason(sheet, program)}"


def _speed_reason(sheet: SetupSheet, program: ProgramRow) -> str:
    why = speed_reasons(
        program.cutter, sheet.material, sheet.machine, program.spindle_rpm, program.feed_mm_per_min
    )
    figures = sheet.figures
    decimals = 3 if not figures.inches else 4
    chip, low, high = (
        f"{length_mm / (MM_PER_INCH if figures.inches else 1):.{decimals}f}"
        for length_mm in (why.chip_mm, *why.usual_chip_mm)
    )
    said = (
        f"each tooth takes {chip} {figures.unit}; light routers in {sheet.material.family}: {low} to {high}"
    )
    if why.drilling:
        return f"{said}; a drill turns slowly, or the hole burns"
    if why.feed_held:
        slowed = ", so the spindle turns slower to keep the chip" if why.slowed_from_rpm else ""
        return f"{said}; feed held to the machine's {figures.feed(program.feed_mm_per_min)}{slowed}"
    return said


def checks(sheet: SetupSheet) -> list[str]:
    """Return what to tick off before the spindle starts."""
    height = f"under {sheet.figures.length(sheet.machine.clearance_mm)} high"
    clamps = _zones(sheet) or (
        f"Blank held firmly; clamps {height}, outside the dashed line; no screw inside"
        if sheet.cutout
        else f"Board held firmly; clamps {height} and clear of every cut"
    )
    dial = "" if sheet.machine.spindle_commanded else ": its dial is set by hand"
    return [
        clamps,
        f"Thickness measured with calipers; flat within {sheet.figures.length(_FLAT_MM)}",
        "Machine isolated to change a bit; collet clean and tight",
        f"X, Y and Z zero set; {_after_change(sheet)}",
        f"Spindle at the speed in the table{dial}",
        "First program run above the work: size, place, direction",
        "Extraction on; glasses, hearing protection and mask on",
        "Stop button and extinguisher in reach; somebody stays",
    ]


def _after_change(sheet: SetupSheet) -> str:
    """What becomes of Z when the bit is changed: set twice, a bit would plunge too deep or cut air."""
    if sheet.lengths_known:
        return "each bit's length in the machine's table (G43): Z is not set again"
    return "Z again after each change of bit"


def _zones(sheet: SetupSheet) -> str:
    """Where the order said that clamps stand; empty if it did not."""
    if not sheet.keep_outs:
        return ""
    number = sheet.figures.number
    height = sheet.figures.length(max(zone.height_mm for zone in sheet.keep_outs))
    shown = [
        f"X {number(zone.left_mm)} to {number(zone.right_mm)}, "
        f"Y {number(zone.bottom_mm)} to {number(zone.top_mm)}"
        for zone in sheet.keep_outs[:_MOST_ZONES]
    ]
    more = len(sheet.keep_outs) - len(shown)
    return (
        f"Held firmly; clamps only in the hatched zones and none higher than {height} over the face: "
        + "; ".join(shown)
        + (f"; and {more} more, as drawn" if more else "")
    )


def finding_lines(sheet: SetupSheet, most: int) -> list[tuple[Severity, str]]:
    """Return what was found, the gravest first, each with its remedy, in the page's unit."""
    found = sorted((*sheet.proof.findings, *sheet.notes), key=lambda finding: _ORDER.index(finding.severity))
    lines = [(finding.severity, sheet.figures.retold(_told(finding))) for finding in found[:most]]
    if len(found) > most:
        lines.append((Severity.NOTE, f"and {len(found) - most} more: see proof.json and verdicts.json."))
    return lines or [(Severity.NOTE, "Nothing to remark.")]


def _told(finding: Finding) -> str:
    """A finding in a sentence; for a waived one the order's reason stands where the remedy would."""
    after = f"WAIVED by the order: {finding.waived}" if finding.waived else _sentence(finding.remedy)
    return f"{_shortened(finding.message)}. {_shortened(after)}".rstrip(". ") + "."


def _sentence(words: str) -> str:
    """The same with a capital at its start."""
    return words[:1].upper() + words[1:]


def _shortened(words: str) -> str:
    """What is too long for a page beside a machine ends in dots; in full it stands in the reports."""
    if len(words) <= _MOST_LETTERS:
        return words
    return words[: _MOST_LETTERS - 1].rstrip() + "\u2026"


def proof_rows(sheet: SetupSheet) -> list[tuple[str, str]]:
    """Return the figures of the proof in pairs."""
    proof = sheet.proof
    rows = [*_deviation("Too deep", proof.overcut), *_deviation("Too shallow", proof.undercut)]
    if not rows:
        rows = [("Surface", "not compared: no design was given")]
    rows.append(("Removed", f"{sheet.figures.volume(proof.carved_volume_mm3)} in all, holes and cutout too"))
    return [(name, sheet.figures.retold(said)) for name, said in rows]


def safety_lines(sheet: SetupSheet) -> list[tuple[str, str]]:
    """Return what to mind, by a word that is found at a glance, and where it comes from.

    Source: sources.toml and the materials' own cautions; workshop rules are common practice.
    """
    about = [("Material", caution) for caution in sheet.material.cautions]
    return [
        ("Stay", "Never leave a running machine; know its stop button; hands 150 mm (6 in) from the bit."),
        ("Eyes", "Safety glasses, marked to ANSI/ISEA Z87.1 or your country's own standard."),
        ("Ears", "Routers are loud: hearing protection from 85 dBA on (NIOSH, OSHA 1910.95)."),
        *about,
        ("Holding", "Hold-down must resist the cutter, not only gravity; no screw where a bit may pass."),
        (
            "Bits",
            "Isolate the machine to change one; never above its rated speed: what breaks is flung (OSHA).",
        ),
        (
            "Fire",
            "A dull or standing bit burns: extinguisher near, look for embers in the dust before you leave.",
        ),
        ("Clothes", "No gloves, loose sleeves or jewellery; hair tied back."),
        ("Feeds", "Feeds and speeds here are a starting point: listen, look at the chips, slow down."),
    ]


DISCLAIMER = (
    "Local law, the rules of your workshop and the machine's manual come first: this sheet replaces neither "
    "them nor the judgement of a trained and, where required, licensed person."
)


def _zero(sheet: SetupSheet) -> str:
    margin_mm = blank_of(sheet.design, sheet.cutout).margin_mm
    if not margin_mm:
        return "of the board"
    return f"of the finished board, {sheet.figures.length(margin_mm)} inside both edges of the blank"


def _spindle(sheet: SetupSheet) -> str:
    low, high = sheet.machine.min_spindle_rpm, sheet.machine.max_spindle_rpm
    how = "set by the program" if sheet.machine.spindle_commanded else "set its dial by hand"
    return f"{how}; {low:.0f} to {high:.0f} rpm"


def _bed(sheet: SetupSheet) -> str:
    deepest_mm = max((program.deepest_mm for program in sheet.programs), default=0.0)
    past_mm = deepest_mm - sheet.design.board.thickness_mm
    if past_mm <= 0:
        return f"not touched: the deepest cut is {_fine(sheet, deepest_mm)}"
    bed = sheet.figures.length(math.ceil(past_mm + _BED_MM))
    return f"cut {_fine(sheet, past_mm)} deep: a spoilboard of {bed} or more underneath"


def _fine(sheet: SetupSheet, length_mm: float) -> str:
    """A depth to hundredths, as programs have it."""
    return f"{length_mm:.2f} mm" if not sheet.figures.inches else sheet.figures.length(length_mm)


def _direction(turn_deg: float) -> str:
    """Return a direction in words, by the axes."""
    along = {0.0: "along X", 90.0: "along Y"}
    return along.get(turn_deg % 180, f"{turn_deg % 180:g} degrees from X, anticlockwise")


def _slots(sheet: SetupSheet) -> str:
    count = len(sheet.design.hangers)
    return "a slot to hang it by" if count == 1 else f"{count} slots to hang it by"


def _smaller(sheet: SetupSheet) -> str:
    """What a cut on or inside the line makes of the board."""
    eaten_mm = sheet.cutout.eaten_mm if sheet.cutout else 0.0
    if eaten_mm <= 0:
        return ""
    width_mm, height_mm = (
        side_mm - 2 * eaten_mm for side_mm in (sheet.design.board.width_mm, sheet.design.board.height_mm)
    )
    eaten = f"{eaten_mm:g} mm" if not sheet.figures.inches else sheet.figures.length(eaten_mm)
    return f"; the bit takes {eaten} all round: {sheet.figures.size(width_mm, height_mm)} are left"


def _tabs(sheet: SetupSheet) -> str:
    cut = sheet.cutout
    count = len(sheet.tabs_mm) or (cut.tabs_on(sheet.design.outline.exterior.length) if cut else 0)
    inside = len(sheet.opening_tabs_mm)
    if cut is None and inside:
        return f"{inside} in openings; green in the drawing; saw and plane them off"
    if cut is None or not count:
        return "none: hold the board by tape or vacuum, or it comes loose"
    length = sheet.figures.length
    size = f"{length(cut.tab_width_mm)} wide, {length(cut.tab_height_mm)} high"
    sloped = ", sloped" if cut.tabs_sloped else ""
    more = f"; {inside} more in openings" if inside else ""
    return f"{count}, {size}{sloped}{more}; green in the drawing; saw and plane them off"


def _changes(sheet: SetupSheet) -> str:
    bits = [program.cutter.name for program in sheet.programs]
    changes = sum(one != other for one, other in itertools.pairwise(bits))
    word = "change" if changes == 1 else "changes"
    return f"of running, and {changes} {word} of bit"


def _deviation(name: str, deviation: Deviation | None) -> list[tuple[str, str]]:
    if deviation is None:
        return []
    said = f"at most {deviation.max_mm:.3f} mm; 99.9 % within {deviation.p999_mm:.3f} mm"
    beyond = f"{deviation.area_mm2:.2f} mm\u00b2 beyond tolerance"
    return [(name, f"{said}; {beyond}" if deviation.area_mm2 > 0 else said)]
