"""Names lead to values, and unknown names to help."""

import dataclasses

import pytest

from workers.cutting_data.entries import vee_cutter
from workers.cutting_data.tables import (
    BITS,
    FONTS,
    MACHINES,
    MATERIALS,
    bit,
    font_data,
    machine,
    material,
    rows_of,
)
from workers.errors import UnknownNameError
from workers.values.cutter import Cutter, Drill, EndMill, VeeCutter


def test_a_bit_comes_by_its_name() -> None:
    """The 1/8 in end mill is 3.175 mm: 25.4 mm to the inch, exactly."""
    found = bit("flat-1/8in")
    assert isinstance(found, EndMill)
    assert found.diameter_mm == 3.175


def test_a_vee_bit_cuts_as_deep_as_its_cone() -> None:
    """90 degrees, 1/2 in, tip 0.1 mm: (12.7 - 0.1) / 2 = 6.3 mm, by the frustum."""
    found = bit("vee-90")
    assert isinstance(found, VeeCutter)
    assert found.cutting_length_mm == pytest.approx(6.3, abs=1e-6)


def test_a_given_cutting_length_is_kept() -> None:
    """Only where none is given is it the cone's height."""
    cutter = vee_cutter(
        name="v", diameter_mm=12, included_angle_deg=60, tip_mm=0, cutting_length_mm=5, flutes_count=1
    )
    assert cutter.cutting_length_mm == 5


def test_an_unknown_name_offers_close_ones() -> None:
    """The error points at the field and names what there is."""
    with pytest.raises(UnknownNameError, match="no bit called 'vee-99'") as caught:
        bit("vee-99", "/inputs/incise/bit")
    assert caught.value.field == "/inputs/incise/bit"
    assert caught.value.remedy is not None
    assert "vee-90" in caught.value.remedy


@pytest.mark.parametrize("lookup", [bit, material, machine, font_data])
def test_every_table_refuses_what_it_has_not(lookup: object) -> None:
    """Nothing like it: no guess, but the whole list."""
    assert callable(lookup)
    with pytest.raises(UnknownNameError) as caught:
        lookup("???")
    assert caught.value.remedy is not None
    assert caught.value.remedy.startswith("All ")


def test_names_of_the_contract_are_there() -> None:
    """Orders written after the contract name these."""
    assert {"vee-90", "vee-60", "flat-1/8in", "flat-1/4in"} <= set(BITS)
    assert {"basswood", "foamed-pvc"} <= set(MATERIALS)
    assert "bench-600" in MACHINES
    assert "source-serif-bold" in FONTS


def test_tables_cannot_be_changed() -> None:
    """They are shared by all jobs of a worker."""
    with pytest.raises(TypeError):
        BITS["mine"] = bit("vee-90")  # type: ignore[index]
    with pytest.raises(dataclasses.FrozenInstanceError):
        bit("vee-90").diameter_mm = 1  # type: ignore[misc]


@pytest.mark.parametrize("cutter", BITS.values(), ids=lambda cutter: cutter.name)
def test_a_bit_is_held_above_its_edges_in_a_collet_of_the_trade(cutter: Cutter) -> None:
    """Collets of 1/8 and 1/4 in, 6 and 8 mm (trade.md E-05, memory); drills have shanks of their own size."""
    assert cutter.stick_out_mm > cutter.cutting_length_mm
    assert cutter.shank_mm in (3.175, 6, 6.35, 8) or isinstance(cutter, Drill)


def test_listings_tell_how_bits_and_machines_hold() -> None:
    """Whoever puts a bit in has its shank and how far it stands out before him."""
    bits = {row.name: row.figures for row in rows_of("bits")}
    machines = {row.name: row.figures for row in rows_of("machines")}

    assert bits["flat-1/32in"].endswith("3.175 mm shank, stands out 18 mm")
    assert machines["bench-600"].endswith("nut 24 mm wide and 16 mm long")


def test_a_machine_without_a_limit_of_jerk_has_none() -> None:
    """The table's machines state none; what is not stated is not made up."""
    assert {found.jerk_mm_per_s3 for found in MACHINES.values()} == {None}


@pytest.mark.parametrize("table", ["bits", "materials", "machines", "fonts"])
def test_listings_have_a_row_for_each_entry(table: str) -> None:
    """Name, title, figures and the source's title, none empty."""
    rows = rows_of(table)
    assert rows
    assert all(row.name and row.title and row.figures and row.source for row in rows)


def test_a_font_file_is_opentype() -> None:
    """Its first four bytes say so: OpenType specification, sfnt version."""
    for name in FONTS:
        assert font_data(name)[:4] in (b"OTTO", b"\x00\x01\x00\x00")
