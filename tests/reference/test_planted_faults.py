"""Faults planted one by one in the programs of a sign: the proof finds each, and passes without them.

Source: what can go wrong is by definition wrong; which codes name it is design.md 5 (the list of what a proof
reports and gates). The sign has strokes, a floor, a hole, and is cut free with four tabs.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest
from shapely.geometry import LineString, box

from tests.support.specimens import (
    BASSWOOD,
    MACHINE,
    clearing,
    cutout,
    design,
    disc,
    drilling,
    incise,
    region,
)
from workers.contracts.dialect import Dialect
from workers.dialects.inch_arcs import INCH_ARCS
from workers.dialects.metric_arcs import METRIC_ARCS
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.toolpaths.plan import plan
from workers.values.cuts import CutoutCut
from workers.values.design import Hole
from workers.values.finding import Severity
from workers.values.program import Program
from workers.verification.verify import verify

RING = disc(75, 40, 14).difference(disc(75, 40, 11))
INK = region(box(12, 10, 40, 22), box(12, 28, 36, 38), box(12, 50, 55, 53), RING)
HOLES = tuple(Hole(x_mm=x_mm, y_mm=30, diameter_mm=5) for x_mm in (46, 93))
SIGN = design(INK, 100, 60, 12, corner_radius_mm=8, holes=HOLES)
LINES, ARCS, INCHES = METRIC_LINES, METRIC_ARCS, INCH_ARCS
CLEAR, INCISE, DRILL, CUTOUT = range(4)


def programs(dialect: Dialect = LINES, free: CutoutCut | None = None) -> list[Program]:
    """The programs of the sign, in running order."""
    planned = plan(SIGN, incise(), clearing(), free or cutout(), drilling(), BASSWOOD, MACHINE)
    return list(write_programs(planned.plan, MACHINE, dialect))


def errors(made: Sequence[Program]) -> set[str]:
    """The codes of what the proof does not let pass; the order's cutout has four tabs."""
    proof = verify(made, SIGN.board, MACHINE, SIGN, incise(), cutout()).proof
    found = {finding.code for finding in proof.findings if finding.severity is Severity.ERROR}
    assert proof.passed == (not found)
    return found


def with_text(made: Sequence[Program], place: int, change: Callable[[str], str]) -> list[Program]:
    """The programs with one of them changed."""
    changed = change(made[place].text)
    assert changed != made[place].text
    return [*made[:place], replace(made[place], text=changed), *made[place + 1 :]]


def deeper(text: str, by: float = 0.1, decimals: int = 3) -> str:
    """Every height below the face lower by so much."""

    def lowered(found: re.Match[str]) -> str:
        return f"Z{float(found[1]) - by:.{decimals}f}"

    return re.sub(r"Z(-\d+\.\d+)", lowered, text)


@pytest.mark.parametrize("dialect", [LINES, ARCS, INCHES], ids=lambda dialect: dialect.name)
def test_without_a_fault_the_proof_passes(dialect: Dialect) -> None:
    """In every dialect of this test."""
    assert errors(programs(dialect)) == set()


@pytest.mark.parametrize("dialect", [LINES, ARCS], ids=lambda dialect: dialect.name)
@pytest.mark.parametrize(
    ("place", "code"),
    [(CLEAR, "overcut"), (INCISE, "overcut"), (DRILL, "into-the-bed"), (CUTOUT, "into-the-bed")],
    ids=["floors", "grooves", "holes", "cutout"],
)
def test_a_tenth_of_a_millimetre_deeper(dialect: Dialect, place: int, code: str) -> None:
    """One program at a time."""
    assert code in errors(with_text(programs(dialect), place, deeper))


def test_a_tenth_deeper_in_inches() -> None:
    """0.0039 in."""
    changed = with_text(programs(INCHES), INCISE, lambda text: deeper(text, 0.0039, 4))

    assert "overcut" in errors(changed)


def test_a_single_stretch_deeper() -> None:
    """One straight move of the stroke's middle line, 0.1 mm."""
    made = programs()
    deepest = re.compile(r"(G1 X[^\n]*Z-1\.500)")

    def once(text: str) -> str:
        return deepest.sub(lambda found: found[1].replace("Z-1.500", "Z-1.600"), text, count=1)

    assert errors(with_text(made, INCISE, once)) == {"overcut"}


def lifts(text: str) -> list[int]:
    """The lines that lift the bit out of the board before a way over wood that stays, or home."""
    lines = text.splitlines()
    here, found = {"X": 0.0, "Y": 0.0, "Z": 0.0}, []
    for row, line in enumerate(lines):
        lifted = line.startswith("G0 Z") and here["Z"] < 0
        words = {letter: float(number) for letter, number in re.findall(r"([XYZ])(-?\d+\.\d+)", line)}
        here |= words if line.startswith("G") else {}
        onward = dict(re.findall(r"([XY])(-?\d+\.\d+)", lines[row + 1])) if lifted else {}
        way = LineString([(here["X"], here["Y"]), [float(onward.get(axis, -9)) for axis in "XY"]])
        if lifted and not INK.polygons.covers(way):
            found.append(row)
    return found


@pytest.mark.parametrize(
    "place", [CLEAR, INCISE, DRILL, CUTOUT], ids=["floors", "grooves", "holes", "cutout"]
)
def test_any_lift_removed(place: int) -> None:
    """The bit is dragged to the next cut, or home, at depth."""
    made = programs()
    found = lifts(made[place].text)
    assert found
    for row in found:

        def without(text: str, row: int = row) -> str:
            lines = text.splitlines()
            return "\n".join([*lines[:row], *lines[row + 1 :]]) + "\n"

        assert errors(with_text(made, place, without)) & {"rapid-through-stock", "overcut"}, row


def test_tabs_removed() -> None:
    """The cutout of an order without tabs."""
    assert errors([*programs()[:CUTOUT], programs(free=cutout(tabs_count=0))[CUTOUT]]) == {"tabs-too-weak"}


def test_one_tab_of_four_removed() -> None:
    """Three hold where four were ordered."""
    assert errors([*programs()[:CUTOUT], programs(free=cutout(tabs_count=3))[CUTOUT]]) == {"tabs-too-weak"}


@pytest.mark.parametrize(("pass_mm", "told"), [(None, False), (5.0, False), (7.0, True), (13.0, True)])
def test_a_cutout_in_too_few_passes(pass_mm: float | None, told: bool) -> None:
    """A mill of 3.175 mm goes 1.59 mm deep at a time in hardwood, 4.76 mm at the most; 12.3 mm are cut."""
    made = programs(free=replace(cutout(), pass_depth_mm=pass_mm))
    proof = verify(made, SIGN.board, MACHINE, SIGN, incise(), cutout(), material=BASSWOOD).proof

    deep = [finding for finding in proof.findings if finding.code == "pass-too-deep"]
    assert [finding.message.split(",")[0] for finding in deep] == [made[CUTOUT].name] * told
    assert proof.passed


@pytest.mark.parametrize("place", [CLEAR, INCISE, DRILL], ids=["floors", "grooves", "holes"])
def test_order_swapped(place: int) -> None:
    """The board is cut free, and then something is cut into it."""
    made = programs()
    freed_first = [*made[:place], made[CUTOUT], *made[place:CUTOUT]]

    assert "freed-before-carving" in errors(freed_first)


@pytest.mark.parametrize(
    "place", [CLEAR, INCISE, DRILL, CUTOUT], ids=["floors", "grooves", "holes", "cutout"]
)
def test_a_program_left_out(place: int) -> None:
    """Something is missing on the board."""
    made = programs()

    assert errors([*made[:place], *made[place + 1 :]]) & {"undercut", "not-cut-free", "nothing-cut"}


def test_an_arc_turned_the_other_way() -> None:
    """G3 for G2, once, at a corner of the board: round the other side of the circle."""
    once = with_text(
        programs(ARCS), CUTOUT, lambda text: re.sub(r"^G2 ", "G3 ", text, count=1, flags=re.MULTILINE)
    )

    assert "overcut" in errors(once)


def test_an_arc_about_another_centre() -> None:
    """I off by 0.01 mm breaks the arc rule of 0.002 mm (NISTIR 6556, 3.5.3)."""

    def off(text: str) -> str:
        return re.sub(r"I(-?\d+\.\d+)", lambda found: f"I{float(found[1]) + 0.01:.3f}", text, count=1)

    assert errors(with_text(programs(ARCS), CUTOUT, off)) == {"arc-out-of-tolerance"}
