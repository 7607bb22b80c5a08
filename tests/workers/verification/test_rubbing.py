"""Shank, nut and spindle against standing wood: closed forms of walls, pockets and the face.

No outside source: a round part touches a wall that is nearer than its radius, as deep as the bit's depth is
more than its height over the tip.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.specimens import MACHINE, ball, board, drill, mill, vee
from workers.values.cuts import CutoutCut
from workers.values.cutter import Cutter
from workers.values.finding import Finding
from workers.values.program import Program
from workers.verification.verify import verify

HEAD = "G21 G90 G94\nG0 Z5\nS18000 M3\n"
TAIL = "G0 Z5\nM5\nG0 X0 Y0\nM2\n"
SLOT = (
    "G0 X10 Y20",
    "G1 Z-4 F300",
    "G1 X40 F900",
    "G1 Z-8 F300",
    "G1 X10 F900",
    "G1 Z-12 F300",
    "G1 X40 F900",
)


def held(cutter: Cutter, shank_mm: float, stick_out_mm: float = 30.0) -> Cutter:
    """The bit, held otherwise."""
    return replace(cutter, shank_mm=shank_mm, stick_out_mm=stick_out_mm)


def rubs(*programs: tuple[Cutter, tuple[str, ...]], cutout: CutoutCut | None = None) -> dict[str, Finding]:
    """What is found of rubbing when these programs run on a board of 60 x 40 x 25 mm."""
    made = [
        Program(name=f"{number}.ngc", cutter=cutter, text=HEAD + "\n".join(lines) + "\n" + TAIL)
        for number, (cutter, lines) in enumerate(programs, 1)
    ]
    machine = replace(MACHINE, nut_diameter_mm=24.0, nut_length_mm=10.0, spindle_diameter_mm=50.0)
    proof = verify(made, board(60, 40, 25), machine, cutout=cutout).proof
    return {
        finding.code: finding
        for finding in proof.findings
        if finding.code in ("shank-rubs", "holder-touches")
    }


@pytest.mark.parametrize(
    ("shank_mm", "sunk"), [(2.7, None), (3.0, "4.00"), (6.0, "4.00")], ids=["thinner", "as thick", "thicker"]
)
def test_a_deep_wall_beside_the_shank(shank_mm: float, sunk: str | None) -> None:
    """A slot 12 mm deep in three layers with edges of 8 mm: the shank is 4 mm deep between its walls."""
    found = rubs((held(mill(3, 8), shank_mm), SLOT))

    assert set(found) == (set() if sunk is None else {"shank-rubs"})
    if sunk:
        assert found["shank-rubs"].message.startswith(f"1.ngc, line 9: {sunk} mm deep in standing wood")
        assert found["shank-rubs"].at_mm == (10, 20)


def test_within_its_edges_no_shank_rubs() -> None:
    """12 mm deep with edges of 12 mm, be the shank as thick as it will."""
    assert rubs((held(mill(3, 12), 8.0), SLOT)) == {}


def test_wood_ahead_that_the_edges_do_not_reach_is_met_by_any_shank() -> None:
    """12 mm at once with edges of 8 mm: 4 mm of uncut wood before the shank."""
    lines = ("G0 X10 Y20", "G1 Z-12 F300", "G1 X40 F900")
    assert "4.00 mm deep" in rubs((held(mill(3, 8), 2.0), lines))["shank-rubs"].message


@pytest.mark.parametrize(("width_mm", "touches"), [(7.0, False), (5.0, True)])
def test_a_narrow_pocket(width_mm: float, touches: bool) -> None:
    """A pocket 10 mm deep, then its floor 4 mm deeper with a small bit: a shank of 6 mm has room in 7 mm."""
    pocket = ("G0 X15 Y20", "G1 Z-5 F300", "G1 X45 F900", "G1 Z-10 F300", "G1 X15 F900")
    floor = ("G0 X25 Y20", "G1 Z-14 F300", "G1 X35 F900")
    found = rubs((mill(width_mm, 20), pocket), (held(mill(2, 5), 6.0), floor))

    assert set(found) == ({"shank-rubs"} if touches else set())


@pytest.mark.parametrize(
    "cutter", [mill(3, 8), ball(3, 8), drill(3, 8), vee(30, 0.1, 3, 8)], ids=lambda bit: bit.name
)
def test_every_kind_of_bit_has_a_shank(cutter: Cutter) -> None:
    """12 mm straight down with edges of 8 mm: a shank of 6 mm stands on the face all round."""
    found = rubs((held(cutter, 6.0), ("G0 X30 Y20", "G1 Z-12 F300")))

    assert (
        "4.00 mm deep in standing wood is the shank, 6 mm thick, 8 mm over the tip"
        in found["shank-rubs"].message
    )


@pytest.mark.parametrize(
    ("stick_out_mm", "part"), [(15.0, None), (14.02, None), (13.0, "nut"), (3.5, "spindle")]
)
def test_the_nut_reaches_the_face(stick_out_mm: float, part: str | None) -> None:
    """14 mm deep: what is held 13 mm over its tip has its nut 1 mm in the wood, 3.5 mm the spindle 0.5 mm."""
    cutter = held(mill(3, 20), 3.0, stick_out_mm)
    found = rubs((cutter, ("G0 X30 Y20", "G1 Z-14 F300")))

    assert set(found) == (set() if part is None else {"holder-touches"})
    if part:
        assert part in found["holder-touches"].message


@pytest.mark.parametrize(("y_mm", "touches"), [(-9.0, True), (-12.2, False)])
def test_in_the_open_beside_the_board_nothing_rubs(y_mm: float, touches: bool) -> None:
    """A board that is not cut out of a blank ends at its edge: a nut 24 mm wide passes it 12.2 mm away."""
    cutter = held(mill(3, 20), 3.0, 13.0)
    found = rubs((cutter, (f"G0 X30 Y{y_mm}", "G1 Z-14 F300", "G1 X35 F900")))

    assert set(found) == ({"holder-touches"} if touches else set())


def test_a_blank_around_the_board_is_wood_too() -> None:
    """With a cutout ordered there is no open beside the board."""
    cutter = held(mill(3, 20), 3.0, 13.0)
    free = CutoutCut(cutter=mill(3, 30), past_mm=0.3, tabs_count=0, tab_width_mm=6, tab_height_mm=2)
    found = rubs((cutter, ("G0 X30 Y-3.5", "G1 Z-14 F300")), cutout=free)

    assert set(found) == {"holder-touches"}
