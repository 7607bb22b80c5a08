"""What a sign is: from the words on the wire to values."""

from __future__ import annotations

from schemas import boards, drawings
from workers.pipeline import bit_words
from workers.values.design import Board, Hanger, Hole, Opening, OpeningShape
from workers.values.hanger_shape import usual_depth_mm
from workers.values.placement import BorderLine, LetteringLine
from workers.values.sheet import KnownLength, SheetHint, SheetSize

# ISO 216 and ANSI/ASME Y14.1 / North American loose paper sizes, mm, upright.
_PAPER_MM = {
    "a3": (297.0, 420.0),
    "a4": (210.0, 297.0),
    "a5": (148.0, 210.0),
    "letter": (215.9, 279.4),
    "legal": (215.9, 355.6),
    "tabloid": (279.4, 431.8),
}


def sheet_hint(sheet: drawings.Sheet) -> SheetHint:
    """Return what is known of the drawing's size; None for ``none``."""
    if isinstance(sheet, drawings.SheetSize):
        return SheetSize(width_mm=sheet.width, height_mm=sheet.height)
    if isinstance(sheet, drawings.KnownLength):
        start, end = sheet.between
        return KnownLength(length_mm=sheet.length, start_px=start, end_px=end)
    if sheet == "none":
        return None
    width_mm, height_mm = _PAPER_MM[sheet]
    return SheetSize(width_mm=width_mm, height_mm=height_mm)


def board(wire: boards.Board) -> Board:
    """Return the board."""
    return Board(
        width_mm=wire.width,
        height_mm=wire.height,
        thickness_mm=wire.cut_thickness,
        material=wire.material,
        corner_radius_mm=wire.corner_radius,
    )


def lettering_line(wire: boards.Lettering) -> LetteringLine:
    """Return one piece of lettering."""
    return LetteringLine(
        text=wire.text,
        font=wire.font,
        cap_height_mm=wire.cap_height,
        x_mm=wire.x,
        y_mm=wire.y,
        align=wire.align,
        line_spacing_fraction=wire.line_spacing,
        letter_spacing_mm=wire.letter_spacing,
        turn_deg=wire.turn,
    )


def border_line(wire: boards.Border | None) -> BorderLine | None:
    """Return the border, if there is one."""
    return None if wire is None else BorderLine(inset_mm=wire.inset, width_mm=wire.width)


def hole(wire: boards.Hole) -> Hole:
    """Return one hole."""
    return Hole(x_mm=wire.x, y_mm=wire.y, diameter_mm=wire.diameter)


def opening(wire: boards.Opening) -> Opening:
    """Return one opening."""
    match wire:
        case boards.RectangleOpening():
            length_mm, width_mm = wire.width, wire.height
        case boards.SlotOpening():
            length_mm, width_mm = wire.length, wire.width
        case boards.KeyholeOpening():
            length_mm, width_mm = wire.length, wire.neck
    return Opening(
        shape=OpeningShape(wire.shape),
        x_mm=wire.x,
        y_mm=wire.y,
        length_mm=length_mm,
        width_mm=width_mm,
        head_mm=wire.head if isinstance(wire, boards.KeyholeOpening) else 0.0,
        corner_radius_mm=wire.corner_radius if isinstance(wire, boards.RectangleOpening) else 0.0,
        turn_deg=wire.turn,
    )


def hanger(wire: boards.Hanger, field: str) -> Hanger:
    """Return one slot in the back, as deep as usual if the order does not say.

    Args:
        wire: What the request says of it.
        field: JSON pointer of it.

    Raises:
        UnknownNameError: No bit of the table has this name.
        ParameterOutOfRangeError: The bit has no T shape.
    """
    cutter = bit_words.keyhole_cutter(wire.bit, f"{field}/bit")
    return Hanger(
        x_mm=wire.x,
        y_mm=wire.y,
        length_mm=wire.length,
        depth_mm=usual_depth_mm(cutter) if wire.depth is None else wire.depth,
        cutter=cutter,
    )


def colour(said: str | None) -> tuple[int, int, int] | None:
    """Return an sRGB colour of its six hexadecimal digits.

    >>> colour("#1f4e79")
    (31, 78, 121)
    """
    if said is None:
        return None
    red, green, blue = bytes.fromhex(said.removeprefix("#"))
    return red, green, blue
