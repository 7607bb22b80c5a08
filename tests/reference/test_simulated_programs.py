"""The emitted programs, read back and cut in simulation, carve the closed forms within 0.5 %.

Source: tests/support/closed_forms.py, every row that it has. Volumes, floors and lengths come out of the
text: planned, written in a dialect, interpreted by the standard and swept. What the proof refuses counts
as not made. Shapes lie turned, so that edges run across the rows of cells and not along them.
"""

import math

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import LineString, Polygon, box

from tests.support.closed_forms import (
    FORMS,
    IN_INCHES,
    INCH_FORMS,
    MM_PER_INCH,
    RECTANGLE,
    SQUARE,
    ClosedForm,
)
from tests.support.specimens import BASSWOOD, MACHINE, clearing, design, incise, region
from workers.contracts.dialect import Dialect
from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.interpretation.interpreter import read_program
from workers.toolpaths.plan import plan
from workers.values.design import Design
from workers.values.program import Motion, Program
from workers.verification.verified import Verified
from workers.verification.verify import verify

TURN_DEG = 17.0
WITHIN = 0.005
NO_LIMIT_MM = 30.0
RIDGE_MM = 0.03  # what finishing passes leave standing on a floor at most
FLOOR_CELL_MM = 0.05

LIMITED = [form for form in (*FORMS.values(), *INCH_FORMS.values()) if not math.isnan(form.limit_mm)]
DIALECTS = pytest.mark.parametrize("dialect", [METRIC_LINES, INCH_LINES], ids=lambda dialect: dialect.name)


def sign_of(form: ClosedForm) -> Design:
    """The shape, turned, on a board just large enough."""
    turned = affinity.rotate(form.shape, TURN_DEG)
    left_mm, bottom_mm, right_mm, top_mm = turned.bounds
    placed = affinity.translate(turned, 5 - left_mm, 5 - bottom_mm)
    return design(
        region(placed),
        width_mm=right_mm - left_mm + 10,
        height_mm=top_mm - bottom_mm + 10,
        thickness_mm=40,
        corner_radius_mm=0,
    )


def proven(form: ClosedForm, limit_mm: float, dialect: Dialect, cell_mm: float = 0.1) -> Verified:
    """The proof of the programs of one shape; an end mill takes what it can of floors."""
    sign, cut = sign_of(form), incise(form.angle_deg, limit_mm)
    planned = plan(sign, cut, clearing(), None, None, BASSWOOD, MACHINE)
    verified = verify(
        write_programs(planned.plan, MACHINE, dialect), sign.board, MACHINE, sign, cut, cell_mm=cell_mm
    )
    assert verified.proof.passed, verified.proof.findings
    return verified


def floor_mm2(verified: Verified, limit_mm: float) -> float:
    """The flat area: level lines of the walls a little above the floor, carried on to it.

    Two heights above all ridges serve: walls are straight, so areas grow evenly from one to the next.
    """
    low_mm2, high_mm2 = (
        np.count_nonzero(verified.field.depth_mm >= limit_mm - rungs * (RIDGE_MM + 0.005))
        * verified.field.cell_mm**2
        for rungs in (1, 2)
    )
    return 2 * low_mm2 - high_mm2


@DIALECTS
@pytest.mark.parametrize("form", [*FORMS.values(), *INCH_FORMS.values()], ids=str)
def test_volume_without_a_limit(form: ClosedForm, dialect: Dialect) -> None:
    """The whole shape as a V-groove: the integral of the distance to the outline over k."""
    verified = proven(form, NO_LIMIT_MM, dialect)

    assert verified.proof.carved_volume_mm3 == pytest.approx(form.volume_mm3, rel=WITHIN)


@DIALECTS
@pytest.mark.parametrize("form", LIMITED, ids=str)
def test_volume_and_floor_at_a_limit(form: ClosedForm, dialect: Dialect) -> None:
    """Mill, walls and corners together: volume and flat floor at the limit, and no deeper."""
    verified = proven(form, form.limit_mm, dialect, FLOOR_CELL_MM)

    assert verified.proof.carved_volume_mm3 == pytest.approx(form.limited_mm3, rel=WITHIN)
    assert floor_mm2(verified, form.limit_mm) == pytest.approx(form.floor_mm2, rel=WITHIN, abs=1e-9)
    assert float(verified.field.depth_mm.max()) <= min(form.limit_mm, form.deepest_mm) + 0.0013


@pytest.mark.parametrize("row", IN_INCHES)
def test_the_table_in_inches_says_the_same(row: str) -> None:
    """trade.md prints its metric rows in cubic and square inches too; both are one solid."""
    volume_in3, limited_in3, floor_in2 = IN_INCHES[row]
    form = FORMS[row]

    assert form.volume_mm3 / MM_PER_INCH**3 == pytest.approx(volume_in3, rel=1e-6)
    assert form.limited_mm3 / MM_PER_INCH**3 == pytest.approx(limited_in3, rel=1e-6)
    assert form.floor_mm2 / MM_PER_INCH**2 == pytest.approx(floor_in2, rel=1e-6)


def cut_pieces(shape: Polygon, angle_deg: float, limit_mm: float, dialect: Dialect) -> list[np.ndarray]:
    """Every straight piece (2, 3) that the V-bit's program feeds along below the face, each once."""
    sign = design(region(affinity.translate(shape, 10, 10)))
    planned = plan(sign, incise(angle_deg, limit_mm), clearing(), None, None, BASSWOOD, MACHINE)
    program: Program = write_programs(planned.plan, MACHINE, dialect)[-1]
    trace = read_program(program.text, program.name)
    pieces_mm = np.stack([trace.starts_mm, trace.ends_mm], axis=1)
    across = (pieces_mm[:, 0, :2] != pieces_mm[:, 1, :2]).any(axis=1)
    pieces_mm = pieces_mm[across & (trace.motions == Motion.FEED)]
    either_way = {tuple(sorted(map(tuple, np.round(piece, 2).tolist()))): piece for piece in pieces_mm}
    return list(either_way.values())


def lengths_mm(pieces: list[np.ndarray]) -> tuple[float, float]:
    """Together, in plan and in space."""
    steps = np.array([piece[1] - piece[0] for piece in pieces])
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum()), float(np.linalg.norm(steps, axis=1).sum())


@DIALECTS
@pytest.mark.parametrize(
    ("shape", "angle_deg", "plan_mm", "space_mm"),
    [(RECTANGLE, 60, 96.568542, 129.442719), (SQUARE, 90, 113.137085, 138.564065)],
    ids=["V-50", "V-51"],
)
def test_length_of_the_way_without_a_limit(
    shape: Polygon, angle_deg: float, plan_mm: float, space_mm: float, dialect: Dialect
) -> None:
    """Spine and spurs, each counted once, in plan and in space; at a tenth, to be cut in one pass."""
    pieces = cut_pieces(affinity.scale(shape, 0.1, 0.1), angle_deg, 10.0, dialect)

    assert lengths_mm(pieces) == pytest.approx((plan_mm / 10, space_mm / 10), rel=WITHIN)


@DIALECTS
@pytest.mark.parametrize(
    ("shape", "angle_deg", "limit_mm", "spur_mm", "inset_mm"),
    [
        (RECTANGLE, 60, 6.0, (4.898979, 7.745967), 3.464102),
        (SQUARE, 90, 8.0, (11.313708, 13.856406), 8.0),
    ],
    ids=["V-50", "V-51"],
)
def test_length_of_the_way_at_a_limit(
    shape: Polygon,
    angle_deg: float,
    limit_mm: float,
    spur_mm: tuple[float, float],
    inset_mm: float,
    dialect: Dialect,
) -> None:
    """Four spurs out of the corners of the inset outline, and once along all of that outline.

    Its perimeters are 132.287187 and 96 mm.
    """
    pieces = cut_pieces(shape, angle_deg, limit_mm, dialect)
    spurs = [piece for piece in pieces if abs(piece[0, 2] - piece[1, 2]) > 0.01]
    left, bottom, right, top = shape.bounds
    wall = box(
        left + 10 + inset_mm, bottom + 10 + inset_mm, right + 10 - inset_mm, top + 10 - inset_mm
    ).exterior
    along_wall = [
        piece
        for piece in pieces
        if max(piece[:, 2]) < 0.01 - limit_mm and wall.buffer(0.01).covers(_line(piece))
    ]

    assert lengths_mm(spurs) == pytest.approx(tuple(4 * length for length in spur_mm), rel=WITHIN)
    once = shapely.union_all([LineString(piece[:, :2].round(2)) for piece in along_wall])
    assert once.length == pytest.approx(wall.length, rel=WITHIN)


def _line(piece: np.ndarray) -> Polygon:
    return Polygon([*piece[:, :2], piece[0, :2]]).exterior
