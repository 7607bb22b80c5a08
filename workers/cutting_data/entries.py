"""Rows of the tables turned into values."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any

from workers.cutting_data.rows import Row, length_mm, needed_length_mm
from workers.values.cutter import BallNose, Cutter, Drill, EndMill, KeyholeCutter, VeeCutter
from workers.values.machine import Machine
from workers.values.material import Material

_STRAIGHT_KINDS: dict[str, type[EndMill] | type[BallNose] | type[Drill]] = {
    "flat": EndMill,
    "ball": BallNose,
    "drill": Drill,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class FontEntry:
    """A font shipped with this installation."""

    name: str
    title: str
    description: str
    file: str
    sha256: str
    licence: str  # SPDX identifier
    licence_file: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where figures were taken from."""

    title: str
    where: str


def cutter_of(row: Row) -> Cutter:
    """Return the bit of a row of bits.toml."""
    diameter_mm = needed_length_mm(row, "diameter")
    if row["kind"] == "vee":
        return vee_cutter(
            name=row["name"],
            diameter_mm=diameter_mm,
            included_angle_deg=float(row["included_angle_deg"]),
            tip_mm=float(row["tip_mm"]),
            cutting_length_mm=length_mm(row, "cutting_length"),
            flutes_count=row["flutes"],
            shank_mm=length_mm(row, "shank"),
            stick_out_mm=length_mm(row, "stick_out"),
        )
    cutting_length_mm = needed_length_mm(row, "cutting_length")
    holding = {
        name: or_usual(length_mm(row, name.removesuffix("_mm"))) for name in ("shank_mm", "stick_out_mm")
    }
    if row["kind"] == "keyhole":
        return KeyholeCutter(
            name=row["name"],
            diameter_mm=diameter_mm,
            cutting_length_mm=cutting_length_mm,
            flutes_count=row["flutes"],
            head_mm=needed_length_mm(row, "head"),
            neck_mm=needed_length_mm(row, "neck"),
            **holding,
        )
    return _STRAIGHT_KINDS[row["kind"]](
        name=row["name"],
        diameter_mm=diameter_mm,
        cutting_length_mm=cutting_length_mm,
        flutes_count=row["flutes"],
        **holding,
    )


def or_usual(length_mm: float | None) -> float:
    """Return a bit's shank or stick-out as bits take it: not a number stands for the usual one."""
    return math.nan if length_mm is None else length_mm


def vee_cutter(
    *,
    name: str,
    diameter_mm: float,
    included_angle_deg: float,
    tip_mm: float,
    cutting_length_mm: float | None,
    flutes_count: int,
    shank_mm: float | None = None,
    stick_out_mm: float | None = None,
) -> VeeCutter:
    """Return a vee cutter; without a cutting length it cuts as deep as its cone goes.

    Source: trigonometry of the frustum: height = (diameter - tip) / (2 tan(angle / 2)).

    >>> vee_cutter(name="v", diameter_mm=12, included_angle_deg=90, tip_mm=0, cutting_length_mm=None,
    ...            flutes_count=2).cutting_length_mm
    6.0
    """
    cone_mm = (diameter_mm - tip_mm) / (2 * math.tan(math.radians(included_angle_deg) / 2))
    return VeeCutter(
        name=name,
        diameter_mm=diameter_mm,
        cutting_length_mm=round(cone_mm, 6) if cutting_length_mm is None else cutting_length_mm,
        flutes_count=flutes_count,
        shank_mm=or_usual(shank_mm),
        stick_out_mm=or_usual(stick_out_mm),
        included_angle_deg=included_angle_deg,
        tip_mm=tip_mm,
    )


def material_of(row: Row) -> Material:
    """Return the material of a row of materials.toml."""
    red, green, blue = row["colour"]
    return Material(
        name=row["name"],
        title=row["title"],
        family=row["family"],
        shows_depth_mm=row["shows_depth_mm"],
        thinnest_wall_mm=row["thinnest_wall_mm"],
        colour=(red, green, blue),
        has_grain=row["has_grain"],
        cautions=tuple(caution["text"] for caution in row["cautions"]),
    )


def machine_of(row: Row) -> Machine:
    """Return the machine of a row of machines.toml."""
    values: dict[str, Any] = {
        field.name: float(row[field.name]) if "float" in str(field.type) else row[field.name]
        for field in fields(Machine)
        if field.name in row
    }
    return Machine(**values)


def font_of(row: Row) -> FontEntry:
    """Return the font of a row of fonts.toml."""
    return FontEntry(**{field.name: row[field.name] for field in fields(FontEntry)})
