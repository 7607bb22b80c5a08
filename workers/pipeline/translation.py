"""From the words on the wire to the values of the computing, and back."""

from __future__ import annotations

import dataclasses
import math

from schemas import bits, boards, cuts, drawings, requests
from schemas.dialects import DialectForm
from schemas.links import ProgramLink
from schemas.problems import FindingReport
from workers.contracts.dialect import Dialect
from workers.contracts.strategy import Strategy
from workers.cutting_data import tables
from workers.cutting_data.entries import or_usual
from workers.cutting_data.entries import vee_cutter as vee_bit
from workers.dialects.rs274_writer import Rs274Dialect
from workers.dialects.several_bits import SeveralBits
from workers.dialects.word_format import INCHES, MILLIMETRES
from workers.errors import ParameterOutOfRangeError
from workers.geometry.vee import reach_mm
from workers.registry import offers
from workers.resolvability.wishes import RepairWishes, Walls
from workers.values.cuts import ClearCut, CutoutCut, CutoutSide, DrillCut, InciseCut
from workers.values.cutter import BallNose, Cutter, Drill, EndMill, VeeCutter
from workers.values.cutting_plan import OperationKind
from workers.values.design import Board, Hole, Opening, OpeningShape
from workers.values.finding import Finding
from workers.values.keep_out import KeepOut
from workers.values.placement import BorderLine, LetteringLine
from workers.values.program import Program
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
_ROUND_KINDS: dict[str, type[EndMill | BallNose | Drill]] = {
    "flat": EndMill,
    "ball": BallNose,
    "drill": Drill,
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


def cutter(bit: bits.Bit, field: str) -> Cutter:
    """Return the bit itself, from the table or from its description.

    Raises:
        UnknownNameError: No bit of the table has this name.
        ParameterOutOfRangeError: A tip as wide as the bit.
    """
    if isinstance(bit, str):
        return tables.bit(bit, field)
    if isinstance(bit, bits.VeeBit):
        if bit.tip >= bit.diameter:
            raise ParameterOutOfRangeError(
                f"a tip of {bit.tip:g} mm on a bit of {bit.diameter:g} mm leaves no cone",
                field=f"{field}/tip",
                remedy="give the flat at the tip, usually 0 to 0.25 mm",
            )
        return vee_bit(
            name=f"vee-{bit.included_angle:g}deg-{bit.diameter:g}mm",
            diameter_mm=bit.diameter,
            included_angle_deg=bit.included_angle,
            tip_mm=bit.tip,
            cutting_length_mm=bit.cutting_length,
            flutes_count=bit.flutes,
            shank_mm=bit.shank,
            stick_out_mm=bit.stick_out,
        )
    return _ROUND_KINDS[bit.kind](
        name=f"{bit.kind}-{bit.diameter:g}mm",
        diameter_mm=bit.diameter,
        cutting_length_mm=bit.cutting_length,
        flutes_count=bit.flutes,
        shank_mm=or_usual(bit.shank),
        stick_out_mm=or_usual(bit.stick_out),
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


def wire_bit(value: Cutter) -> bits.Bit:
    """Return the words for a bit: its name if the table has just this one, else in full."""
    if tables.BITS.get(value.name) == value:
        return value.name
    if isinstance(value, VeeCutter):
        return bits.VeeBit(
            kind="vee",
            included_angle=value.included_angle_deg,
            tip=value.tip_mm,
            diameter=value.diameter_mm,
            cutting_length=value.cutting_length_mm,
            flutes=value.flutes_count,
            shank=value.shank_mm,
            stick_out=value.stick_out_mm,
        )
    kind = next(kind for kind, made in _ROUND_KINDS.items() if isinstance(value, made))
    return bits.RoundBit.model_validate(
        {
            "kind": kind,
            "diameter": value.diameter_mm,
            "cutting_length": value.cutting_length_mm,
            "flutes": value.flutes_count,
            "shank": value.shank_mm,
            "stick_out": value.stick_out_mm,
        }
    )


def vee_cutter(bit: bits.Bit, field: str) -> VeeCutter:
    """Return a V-bit.

    Raises:
        ParameterOutOfRangeError: It is another kind of bit.
    """
    found = cutter(bit, field)
    if not isinstance(found, VeeCutter):
        raise ParameterOutOfRangeError(
            f"'{found.name}' is no V-bit, and grooves need one",
            field=field,
            remedy="choose a V-bit (`triglyph bits` lists them) or describe one with kind 'vee'",
        )
    return found


def incise_cut(incise: cuts.Incise, field: str = "/inputs/incise") -> InciseCut:
    """Return how grooves are cut, the limit lowered to what the bit can reach."""
    found = vee_cutter(incise.bit, f"{field}/bit")
    return InciseCut(cutter=found, depth_limit_mm=min(incise.depth_limit, reach_mm(found)))


def repair_wishes(repair: bool | requests.Repair) -> RepairWishes | None:
    """Return how a drawing is repaired; None where it is cut as it is."""
    if isinstance(repair, bool):
        return RepairWishes() if repair else None
    at_most_mm = math.inf if repair.at_most is None else repair.at_most
    return RepairWishes(walls=Walls(repair.walls), at_most_mm=at_most_mm)


def clear_cut(clear: cuts.Clear, field: str = "/inputs/clear") -> ClearCut:
    """Return how floors are milled.

    Raises:
        ParameterOutOfRangeError: A bit is no end mill, or no thinner than the one before it.
    """
    mills: list[EndMill] = []
    places = [f"{field}/bit", *(f"{field}/finer/{number}" for number in range(len(clear.finer)))]
    for bit, place in zip([clear.bit, *clear.finer], places, strict=True):
        found = cutter(bit, place)
        if not isinstance(found, EndMill):
            raise ParameterOutOfRangeError(
                f"floors are cleared with an end mill, and '{found.name}' is none",
                field=place,
                remedy="choose a flat end mill, or leave 'clear' out",
            )
        if mills and found.diameter_mm >= mills[-1].diameter_mm:
            raise ParameterOutOfRangeError(
                f"'{found.name}' is {found.diameter_mm:.3f} mm, no thinner than '{mills[-1].name}' before it",
                field=place,
                remedy="name the bits from the thickest to the thinnest",
            )
        mills.append(found)
    return ClearCut(
        mills=tuple(mills),
        grain_deg=None if clear.pattern == "rings" else clear.grain,
        climb=clear.direction == "climb",
        pass_depth_mm=clear.pass_depth,
        engagement_deg=clear.engagement,
    )


def cutout_cut(cutout: cuts.Cutout, field: str = "/inputs/cutout") -> CutoutCut:
    """Return how the board is cut free.

    Raises:
        ParameterOutOfRangeError: The bit is a V-bit or a drill.
    """
    found = cutter(cutout.bit, f"{field}/bit")
    if not isinstance(found, EndMill):
        raise ParameterOutOfRangeError(
            f"'{found.name}' cannot cut a board out: its sides are not straight or do not cut",
            field=f"{field}/bit",
            remedy="choose a flat end mill",
        )
    return CutoutCut(
        cutter=found,
        past_mm=cutout.past,
        tabs_count=cutout.tabs.count,
        tab_width_mm=cutout.tabs.width,
        tab_height_mm=cutout.tabs.height,
        tabs_sloped=cutout.tabs.shape == "sloped",
        side=CutoutSide(cutout.side),
        climb=cutout.direction == "climb",
        pass_depth_mm=cutout.pass_depth,
        last_layer_mm=cutout.last_layer,
        wall_allowance_mm=cutout.wall_allowance,
    )


def dialect(said: str | DialectForm, field: str) -> Dialect:
    """Return how programs are written: the dialect of that name, or one as the controller wants it.

    Raises:
        UnknownNameError: There is no dialect of that name.
    """
    if isinstance(said, str):
        return offers.dialect(said, field)
    words = MILLIMETRES if said.unit == "mm" else INCHES
    if said.decimals is not None:
        words = dataclasses.replace(words, coordinate_decimals_count=said.decimals)
    one_bit = Rs274Dialect(
        name="as-ordered",
        summary="RS-274 as the order describes it",
        words=words,
        with_arcs=said.arcs,
        with_comments=said.comments,
        dwell_s=_dwell_s(said.dwell),
        spindle_on_one_line=said.spindle == "one-line",
        in_percent_frame=said.percent,
        with_line_numbers=said.line_numbers,
        end_word=said.end,
    )
    if not said.one_file:
        return one_bit
    return SeveralBits(
        name=one_bit.name,
        summary=one_bit.summary,
        between=one_bit,
        pause_word=said.pause or "",
        with_length_offset=said.length_offset,
    )


def _dwell_s(said: bool | float) -> float | None:
    """None: as long as the machine needs."""
    if isinstance(said, bool):
        return None if said else 0.0
    return said


def program(link: ProgramLink, name: str, text: str, field: str) -> Program:
    """Return a program with its bit, or with its bits by their numbers.

    Args:
        link: What the request says of it.
        name: How messages call it.
        text: What the file says.
        field: JSON pointer of the link.
    """
    if link.bit is not None:
        return Program(name=name, text=text, cutter=cutter(link.bit, f"{field}/bit"))
    bits = {number: cutter(bit, f"{field}/bits/{number}") for number, bit in (link.bits or {}).items()}
    return Program(name=name, text=text, bits=bits)


def keep_outs(zones: list[cuts.KeepOut]) -> tuple[KeepOut, ...]:
    """Return where clamps stand."""
    return tuple(
        KeepOut(
            left_mm=zone.left,
            bottom_mm=zone.bottom,
            right_mm=zone.right,
            top_mm=zone.top,
            height_mm=zone.height,
        )
        for zone in zones
    )


def drill_cut(drill: cuts.Drilling, field: str = "/inputs/drill") -> DrillCut:
    """Return how holes are drilled."""
    return DrillCut(cutter=cutter(drill.bit, f"{field}/bit"), peck_mm=drill.peck, dwell_s=drill.dwell)


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


def finding_report(finding: Finding) -> FindingReport:
    """Return a finding as it goes over the wire."""
    return FindingReport.model_validate(finding.as_record())


def patterns(incise: cuts.Incise, clear: cuts.Clear | None) -> dict[OperationKind, Strategy]:
    """Return the strategies that the order names, by kind of operation.

    Raises:
        UnknownNameError: There is none of that name and kind.
    """
    chosen = {
        OperationKind.INCISE: offers.strategy(incise.pattern, OperationKind.INCISE, "/inputs/incise/pattern")
    }
    if clear:
        chosen[OperationKind.CLEAR] = offers.strategy(
            clear.pattern, OperationKind.CLEAR, "/inputs/clear/pattern"
        )
    return chosen
