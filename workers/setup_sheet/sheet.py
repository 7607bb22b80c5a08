"""What the page beside the machine is made of."""

from __future__ import annotations

from dataclasses import dataclass

from workers.setup_sheet.figures import METRIC, Figures
from workers.values.cuts import CutoutCut
from workers.values.cutter import Cutter
from workers.values.design import Design
from workers.values.finding import Finding
from workers.values.keep_out import KeepOut
from workers.values.machine import Machine
from workers.values.material import Material
from workers.values.proof import Proof


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramRow:
    """What one bit does in a program, in the order in which it runs, as read back from its own text."""

    file: str  # "01-incise-vee-90.ngc"
    cutter: Cutter
    spindle_rpm: float
    feed_mm_per_min: float  # fastest cutting feed
    plunge_mm_per_min: float  # fastest feed straight down
    deepest_mm: float  # below the face
    seconds_s: float
    sha256: str
    from_behind: bool = False  # run with the board turned over
    bit_number: int | None = None  # by which the program changes to it (T); None: it has only this bit


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SetupSheet:
    """Everything that is printed on the page."""

    title: str  # the sign's
    design: Design
    machine: Machine
    material: Material
    programs: tuple[ProgramRow, ...]
    proof: Proof
    cutout: CutoutCut | None = None
    keep_outs: tuple[KeepOut, ...] = ()
    tabs_mm: tuple[tuple[float, float], ...] = ()  # where the bit's middle is lifted over each
    opening_tabs_mm: tuple[tuple[float, float], ...] = ()  # the same in openings
    tone_limits_mm: tuple[float, ...] = ()  # how deep each tone may be cut, the palest first
    grain_deg: float | None = None  # direction in which floors are cleared, if it matters
    picture_grain_deg: float | None = None  # as the order says that the pictures show it
    notes: tuple[Finding, ...] = ()  # from the stages before the proof
    preview_back_png: bytes | None = None
    preview_png: bytes | None = None
    order_digest: str = ""  # SHA-256 of the order, by which the job is looked up
    lengths_known: bool = False  # the programs take each bit's length from the machine (G43)
    figures: Figures = METRIC
    paper: str = "a4"  # or "letter"
