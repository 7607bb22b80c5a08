"""Single passes and plunges deeper than a bit bears: closed forms of slots, plunges, ramps and walls.

The usual pass of a mill is one diameter in softwood and half of one in hardwood, at most 4 and 3 mm
(workers/cutting_data/chip_loads.toml); three times that is the most (common practice).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.support.specimens import BASSWOOD, MACHINE, ball, board, drill, mill, vee
from workers.values.cutter import Cutter
from workers.values.finding import Finding
from workers.values.material import Material
from workers.values.program import Program
from workers.verification.verify import verify

HEAD = "G21 G90 G94\nG0 Z5\nS18000 M3\nG0 X10 Y20\n"
TAIL = "G0 Z5\nM5\nG0 X0 Y0\nM2\n"
SOFTWOOD = replace(BASSWOOD, family="softwood")
HARDWOOD = replace(BASSWOOD, family="hardwood")


def found(cutter: Cutter, *lines: str, material: Material | None = SOFTWOOD) -> Finding | None:
    """What is said of passes when a program runs on a board of 60 x 40 x 25 mm."""
    text = HEAD + "\n".join(lines) + "\n" + TAIL
    proof = verify(
        [Program(name="1.ngc", text=text, cutter=cutter)], board(60, 40, 25), MACHINE, material=material
    ).proof
    return next((finding for finding in proof.findings if finding.code == "pass-too-deep"), None)


def slot(*depths_mm: float) -> list[str]:
    """To and fro over 30 mm, once at each depth, down between them at the ends."""
    lines = []
    for number, depth_mm in enumerate(depths_mm):
        lines += [f"G1 Z-{depth_mm} F300", f"G1 X{10 if number % 2 else 40} F900"]
    return lines


@pytest.mark.parametrize(
    ("material", "depths_mm", "cut_mm"),
    [
        (SOFTWOOD, (9.0,), None),
        (SOFTWOOD, (9.2,), 9.2),
        (SOFTWOOD, (6.0, 14.0), None),
        (SOFTWOOD, (4.0, 14.0), 10.0),
        (HARDWOOD, (4.5,), None),
        (HARDWOOD, (4.6,), 4.6),
    ],
)
def test_three_usual_passes_in_one_are_the_most(
    material: Material, depths_mm: tuple[float, ...], cut_mm: float | None
) -> None:
    """A mill of 3 mm: 9 mm in softwood, 4.5 mm in hardwood, counted from the floor of the pass before."""
    finding = found(mill(3.0), *slot(*depths_mm), material=material)

    if cut_mm is None:
        assert finding is None
    else:
        assert finding is not None
        assert f"cuts {cut_mm:.2f} mm deep in one go" in finding.message
        assert finding.severity == "warning"


def test_the_most_is_told_with_the_line_the_place_and_the_usual() -> None:
    """The plunge of the fifth line, and the way across after it."""
    finding = found(mill(3.0), *slot(12.0))

    assert finding is not None
    assert finding.message.startswith("1.ngc, line 5: flat-1/8in cuts 12.00 mm deep")
    assert "3.00 mm are usual in softwood, 9.00 mm the most, and in 1 more motions" in finding.message
    assert finding.at_mm == (10, 20)


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (["G1 Z-12 F300"], True),
        (["G1 Z-4 F300", "G1 Z-8", "G1 Z-12"], False),
        (["G1 X40 Z-12 F900"], True),
        (["G1 X40 Z-4 F900", "G1 X10 Z-8"], False),
        (["G1 X40 Z-6 F900", "G1 X10 Z-12"], True),
        (["G1 Z-9 F300", "G0 Z2", "G1 X10.5 Z-12"], False),
        (["G1 Z-9 F300", "G0 Z2", "G1 X12 Z-12"], True),
    ],
    ids=[
        *("plunge", "plunge in steps", "ramp", "ramp to and fro", "steeper ramp to and fro"),
        *("a little beside a hole", "half beside a hole"),
    ],
)
def test_ways_down(lines: list[str], told: bool) -> None:
    """What counts is what stands before each motion: stepping down in the own hole takes a step at a time.

    Where a ramp turns back, nothing was cut yet: there it takes all of the depth it has come to.
    """
    assert (found(mill(3.0), *lines) is not None) == told


@pytest.mark.parametrize(("aside_mm", "told"), [(0.5, False), (1.0, True)])
def test_a_round_along_a_wall_may_be_as_deep_as_it_likes(aside_mm: float, told: bool) -> None:
    """A mill of 3 mm takes less than a quarter of its width, 0.75 mm, off a wall 12 mm high; or more."""
    way = [*slot(6.0, 12.0), "G0 Z5", f"G0 X9 Y{20 + aside_mm}"]
    beside = ["G0 X10", "G1 Z-4 F300", "G1 Z-8", "G1 Z-12", "G1 X38 F900"]

    assert (found(mill(3.0), *way, *beside) is not None) == told


@pytest.mark.parametrize(
    ("cutter", "deep_mm", "told"),
    [
        (ball(3.0), 9.5, True),
        (ball(3.0), 8.5, False),
        (vee(60), 15.5, True),
        (vee(60), 14.5, False),
        (drill(3.0), 12.0, False),
    ],
    ids=["ball", "ball, usual", "vee", "vee, usual", "drill"],
)
def test_bits_of_other_kinds(cutter: Cutter, deep_mm: float, told: bool) -> None:
    """Round ends as mills; V-bits by their own pass, 5 mm in softwood; drills have their pecks."""
    assert (found(cutter, f"G1 Z-{deep_mm} F300") is not None) == told


def test_nothing_is_said_of_an_unknown_material() -> None:
    """As of chips."""
    assert found(mill(3.0), *slot(12.0), material=None) is None
