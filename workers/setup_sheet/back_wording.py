"""The sentences of the page about the back: how the board is turned over, the slots, and what to mind."""

from __future__ import annotations

from workers.setup_sheet.blank import blank_of
from workers.setup_sheet.sheet import SetupSheet
from workers.setup_sheet.wording import file_of
from workers.values.cutter import KeyholeCutter
from workers.values.hanger_shape import as_they_lie, lip_mm


def steps(sheet: SetupSheet) -> list[str]:
    """Return what is done in turn, from the whole blank to the face."""
    files = " and ".join(file_of(program) for program in sheet.programs if program.from_behind)
    piece = "blank" if sheet.cutout else "board"
    return [
        f"Whole and flat, before anything else is cut: lay the {piece} with its FACE DOWN on a clean bed",
        "Turned over sideways, like a page: its lower edge stays below; left and right change places",
        _zero(sheet),
        "Z zero on the back, with the keyhole bit; clamps clear of the slots and of the bit's way to them",
        f"Run {files} above the work first: the slots are at the places in the drawing, and run up",
        "Run it; then try the screw: its head goes in at the entry and slides up freely",
        "Turn it over the same way, face up; set Z zero on the face; go on with the next program",
    ]


def _zero(sheet: SetupSheet) -> str:
    """Where X and Y are zero, and how that stays true for both sides."""
    length = sheet.figures.length
    blank = blank_of(sheet.design, sheet.cutout)
    if not sheet.cutout:
        return "X0 Y0 is the lower left corner as it lies: the same for both sides at the same stops"
    inside = length(blank.margin_mm)
    over = length(blank.margin_mm + sheet.design.board.width_mm)
    return (
        f"X0 Y0 is {inside} in from the blank's left and lower edges as it lies. If the blank is exactly "
        f"{length(blank.width_mm)} wide that is the same for both sides; else X0 of the face is the blank's "
        f"width less {over} from its left edge"
    )


def facts(sheet: SetupSheet) -> list[tuple[str, str]]:
    """Return the slots' figures in pairs of name and figure, those that are alike said once."""
    hangers = as_they_lie(sheet.design.hangers, sheet.design.board)
    rows = [("Slots", f"{len(hangers)}, each from its entry up")]
    for cutter in dict.fromkeys(hanger.cutter for hanger in hangers):
        own = [hanger for hanger in hangers if hanger.cutter == cutter]
        rows += [("Bit", f"{cutter.name}: {sheet.figures.bit(cutter)}"), ("Screw", _screw(sheet, cutter))]
        rows.append(("Depth", _each([_fine(sheet, hanger.depth_mm) for hanger in own])))
        rows.append(("Length", _each([_fine(sheet, hanger.length_mm) for hanger in own])))
        lips = _each([_fine(sheet, lip_mm(hanger)) for hanger in own])
        rows.append(("Lip", f"{lips} of wood over the screw's head carries the sign"))
    back = sheet.proof.back
    if back is not None and back.least_wood_mm is not None:
        rows.append(("Wood left", f"{_fine(sheet, back.least_wood_mm)} of wood at least, to the carving"))
    return rows


def _fine(sheet: SetupSheet, length_mm: float) -> str:
    """A length to hundredths of a mm, or thousandths of an inch."""
    return f"{sheet.figures.number(length_mm, 2)} {sheet.figures.unit}"


def _each(figures: list[str]) -> str:
    return figures[0] if len(set(figures)) == 1 else ", ".join(figures)


def _screw(sheet: SetupSheet, cutter: KeyholeCutter) -> str:
    return (
        f"head {_fine(sheet, cutter.neck_mm)} to {_fine(sheet, cutter.diameter_mm)} wide and "
        f"thinner than {_fine(sheet, cutter.head_mm)}; shank thinner than "
        f"{_fine(sheet, cutter.neck_mm)}"
    )


def cautions() -> list[tuple[str, str]]:
    """Return what to mind, by a word that is found at a glance.

    Source: common practice.
    """
    return [
        (
            "Never lift",
            "the bit in a slot: its head is under wood. Stopped there, jog back to its entry, then up.",
        ),
        ("Measure", "the bit's head and neck: another size than the table's ruins the lip."),
        (
            "Chips",
            "leave by the slot alone: extraction at it; smoke means stop, at the entry, and slow down.",
        ),
        ("Neck", "of the bit: thin, it breaks when pushed. Never faster than in the program."),
        ("Hanging", "is as strong as the screw, what it is in, and the lip: try it with twice the weight."),
    ]
