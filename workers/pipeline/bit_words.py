"""Bits: from the words on the wire to their values, and back."""

from __future__ import annotations

from schemas import bits
from workers.cutting_data import tables
from workers.cutting_data.entries import or_usual
from workers.cutting_data.entries import vee_cutter as vee_bit
from workers.errors import ParameterOutOfRangeError
from workers.values.cutter import BallNose, Cutter, Drill, EndMill, KeyholeCutter, VeeCutter

_ROUND_KINDS: dict[str, type[EndMill | BallNose | Drill]] = {
    "flat": EndMill,
    "ball": BallNose,
    "drill": Drill,
}


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
    if isinstance(bit, bits.KeyholeBit):
        return KeyholeCutter(
            name=f"keyhole-{bit.diameter:g}mm",
            diameter_mm=bit.diameter,
            cutting_length_mm=bit.cutting_length,
            flutes_count=bit.flutes,
            shank_mm=or_usual(bit.shank),
            stick_out_mm=or_usual(bit.stick_out),
            head_mm=bit.head_height,
            neck_mm=bit.neck,
        )
    return _ROUND_KINDS[bit.kind](
        name=f"{bit.kind}-{bit.diameter:g}mm",
        diameter_mm=bit.diameter,
        cutting_length_mm=bit.cutting_length,
        flutes_count=bit.flutes,
        shank_mm=or_usual(bit.shank),
        stick_out_mm=or_usual(bit.stick_out),
    )


def wire_bit(value: Cutter) -> bits.Bit:
    """Return the words for a bit: its name if the table has just this one, else in full."""
    return value.name if tables.BITS.get(value.name) == value else in_full(value)


def in_full(value: Cutter) -> bits.VeeBit | bits.RoundBit | bits.KeyholeBit:
    """Return the words that describe a bit."""
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
    if isinstance(value, KeyholeCutter):
        return bits.KeyholeBit(
            kind="keyhole",
            diameter=value.diameter_mm,
            head_height=value.head_mm,
            neck=value.neck_mm,
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
        raise _wrong_kind(f"'{found.name}' is no V-bit, and grooves need one", "V-bit", "vee", field)
    return found


def keyhole_cutter(bit: bits.Bit, field: str) -> KeyholeCutter:
    """Return a keyhole bit.

    Raises:
        ParameterOutOfRangeError: It is another kind of bit.
    """
    found = cutter(bit, field)
    if not isinstance(found, KeyholeCutter):
        why = f"'{found.name}' has no T shape, and slots that hold a screw's head need one"
        raise _wrong_kind(why, "keyhole bit", "keyhole", field)
    return found


def _wrong_kind(why: str, called: str, kind: str, field: str) -> ParameterOutOfRangeError:
    remedy = f"choose a {called} (`triglyph bits` lists them) or describe one with kind '{kind}'"
    return ParameterOutOfRangeError(why, field=field, remedy=remedy)
