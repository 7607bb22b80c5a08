"""A reader from the registry takes the same places out of our programs as our own does.

Source: the package gcodeparser (MIT), a general splitter of word-address lines into codes and
numbers. It knows no modes, so the few that our programs use (unit, G0 to G3, absolute distance)
are kept here, in ten lines.
"""

from __future__ import annotations

import numpy as np
import pytest
from gcodeparser import parse_gcode_lines
from numpy.typing import NDArray
from shapely import box

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
from workers.dialects.programs import write_programs
from workers.interpretation.interpreter import read_program
from workers.registry.offers import DIALECTS
from workers.toolpaths.plan import plan
from workers.values.design import Hole
from workers.values.program import Program, Trace

AGREEMENT_MM = 1e-9


def programs(dialect: Dialect) -> tuple[Program, ...]:
    """Grooves, a cleared floor, a hole and a cutout with tabs, of one sign."""
    ink = region(disc(60, 60, 20).difference(disc(60, 60, 14)), box(100, 30, 150, 90))
    sign = design(ink, holes=(Hole(x_mm=20, y_mm=60, diameter_mm=5.0),))
    planned = plan(sign, incise(90.0, 2.0), clearing(), cutout(), drilling(), BASSWOOD, MACHINE)
    return write_programs(planned.plan, MACHINE, dialect)


def places_mm(text: str) -> NDArray[np.float64]:
    """Return where every motion line leads, as the registry's reader has it."""
    mm_per_unit, place_mm, reached_mm = float("nan"), [0.0, 0.0, 0.0], []
    for line in parse_gcode_lines(text):
        letter, code = line.command
        assert (letter, code) not in (("G", 91), ("G", 92))
        if letter == "G" and code in (20, 21):
            mm_per_unit = 25.4 if code == 20 else 1.0
        elif letter == "G" and code in (0, 1, 2, 3):
            for axis, name in enumerate("XYZ"):
                if name in line.params:
                    place_mm[axis] = float(line.params[name]) * mm_per_unit
            reached_mm.append(list(place_mm))
    return np.array(reached_mm)


def line_ends_mm(trace: Trace) -> NDArray[np.float64]:
    """Return where every line of the program leads; the chords of one arc share its line."""
    is_last = np.append(np.diff(trace.lines) != 0, True)
    ends_mm: NDArray[np.float64] = trace.ends_mm[is_last]
    return ends_mm


@pytest.mark.parametrize("dialect", DIALECTS.built_in, ids=lambda dialect: dialect.name)
def test_every_place_of_every_program_is_the_same(dialect: Dialect) -> None:
    """To a nanometre: what our interpreter reads is what the text says."""
    written = programs(dialect)
    assert {program.name.split("-")[1] for program in written} in (
        {"clear", "incise", "drill", "cutout"},
        {"all"},
    )
    for program in written:
        theirs_mm = places_mm(program.text)
        ours_mm = line_ends_mm(read_program(program.text, program.name))
        assert theirs_mm.shape == ours_mm.shape
        assert np.abs(theirs_mm - ours_mm).max() <= AGREEMENT_MM
