"""The bits, materials, machines and fonts of this installation, by name."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import TypeVar

from workers.cutting_data.entries import FontEntry, Source, cutter_of, font_of, machine_of, material_of
from workers.cutting_data.listing import Entry, ListedRow, figures_of
from workers.cutting_data.rows import Row, read_font, read_table
from workers.errors import UnknownNameError
from workers.values.cutter import Cutter
from workers.values.machine import Machine
from workers.values.material import Material

_Value = TypeVar("_Value")

SOURCES: Mapping[str, Source] = MappingProxyType(
    {key: Source(**row) for key, row in read_table("sources.toml")["source"].items()}
)
_ROWS: dict[str, tuple[Row, ...]] = {
    "bits": tuple(read_table("bits.toml")["bit"]),
    "materials": tuple(read_table("materials.toml")["material"]),
    "machines": tuple(read_table("machines.toml")["machine"]),
    "fonts": tuple(read_table("fonts.toml")["font"]),
}

BITS: Mapping[str, Cutter] = MappingProxyType({row["name"]: cutter_of(row) for row in _ROWS["bits"]})
MATERIALS: Mapping[str, Material] = MappingProxyType(
    {row["name"]: material_of(row) for row in _ROWS["materials"]}
)
MACHINES: Mapping[str, Machine] = MappingProxyType(
    {row["name"]: machine_of(row) for row in _ROWS["machines"]}
)
FONTS: Mapping[str, FontEntry] = MappingProxyType({row["name"]: font_of(row) for row in _ROWS["fonts"]})


def bit(name: str, field: str | None = None) -> Cutter:
    """Return the bit of this name.

    Args:
        name: As ``triglyph bits`` lists it.
        field: JSON pointer of the input that named it, for the error.

    Raises:
        UnknownNameError: There is none; close names are offered.
    """
    return named(BITS, name, "bit", field)


def material(name: str, field: str | None = None) -> Material:
    """Return the material of this name; see :func:`bit`.

    Raises:
        UnknownNameError: There is none.
    """
    return named(MATERIALS, name, "material", field)


def machine(name: str, field: str | None = None) -> Machine:
    """Return the machine of this name; see :func:`bit`.

    Raises:
        UnknownNameError: There is none.
    """
    return named(MACHINES, name, "machine", field)


def font_data(name: str, field: str | None = None) -> bytes:
    """Return the font file of this name, TrueType or OpenType; see :func:`bit`.

    Raises:
        UnknownNameError: There is none.
    """
    return _read_font(named(FONTS, name, "font", field).file)


def named(table: Mapping[str, _Value], name: str, kind: str, field: str | None = None) -> _Value:
    """Return what has this name.

    Args:
        table: All there are, by name.
        name: The name wanted.
        kind: What it is the name of: ``bit``, ``dialect``.
        field: JSON pointer of the input that named it, for the error.

    Raises:
        UnknownNameError: There is none; close names are offered.
    """
    if name in table:
        return table[name]
    close = difflib.get_close_matches(name.lower(), table, n=3, cutoff=0.5)
    offer = f"Did you mean {' or '.join(close)}? " if close else ""
    raise UnknownNameError(
        f"there is no {kind} called '{name}'",
        field=field,
        remedy=f"{offer}All {kind}s of this installation: {', '.join(table)}.",
    )


def rows_of(table: str) -> tuple[ListedRow, ...]:
    """Return a table for a listing.

    Args:
        table: ``bits``, ``materials``, ``machines`` or ``fonts``.

    Raises:
        KeyError: There is no such table.
    """
    entries: dict[str, Mapping[str, Entry]] = {
        "bits": BITS,
        "materials": MATERIALS,
        "machines": MACHINES,
        "fonts": FONTS,
    }
    return tuple(
        ListedRow(
            name=row["name"],
            title=row["title"],
            figures=figures_of(entries[table][row["name"]]),
            source=f"{SOURCES[row['source']].title} ({row['mark']})",
        )
        for row in _ROWS[table]
    )


@cache
def _read_font(file: str) -> bytes:
    return read_font(file)
