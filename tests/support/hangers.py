"""A sign with two hangers that do not lie evenly, a stroke before one of them; its programs and proof."""

from collections.abc import Sequence
from dataclasses import replace

from shapely import box

from tests.support.specimens import BASSWOOD, MACHINE, clearing, cutout, design, incise, keyhole, region
from workers.contracts.dialect import Dialect
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.toolpaths.plan import plan
from workers.values.design import Design, Hanger
from workers.values.finding import Severity
from workers.values.program import Program
from workers.values.proof import Proof
from workers.verification.verify import verify

DEPTH_MM = 9.525


def hanger(x_mm: float, y_mm: float = 50.0, **changes: float) -> Hanger:
    """A slot 14 mm long and 9.525 mm deep for a head of 9.525 mm."""
    plain = Hanger(x_mm=x_mm, y_mm=y_mm, length_mm=14.0, depth_mm=DEPTH_MM, cutter=keyhole())
    return replace(plain, **changes)


HANGERS = (hanger(25), hanger(90))
SIGN = replace(design(region(box(20, 20, 60, 40), box(12, 58, 40, 61)), 110, 80), hangers=HANGERS)


def programs(sign: Design = SIGN, dialect: Dialect = METRIC_LINES) -> list[Program]:
    """Those of a sign in running order, that of the back first."""
    planned = plan(sign, incise(), clearing(), cutout(), None, BASSWOOD, MACHINE)
    return list(write_programs(planned.plan, MACHINE, dialect))


def proof(made: Sequence[Program], sign: Design | None = SIGN) -> Proof:
    """The proof of programs against the sign, or without a design."""
    return verify(
        made, SIGN.board, MACHINE, sign, incise() if sign else None, cutout(), material=BASSWOOD
    ).proof


def errors(made: Sequence[Program], sign: Design | None = SIGN) -> set[str]:
    """The codes of what the proof does not let pass."""
    return {finding.code for finding in proof(made, sign).findings if finding.severity is Severity.ERROR}
