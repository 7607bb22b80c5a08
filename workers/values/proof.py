"""The record that a program makes the design and breaks no limit."""

from __future__ import annotations

from dataclasses import dataclass

from workers.values.finding import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """How far the simulated surface is from the designed one, in depth, on one side."""

    max_mm: float
    p999_mm: float  # 99.9th percentile over the cells that were or should be cut
    area_mm2: float  # where it is beyond the tolerance


@dataclass(frozen=True, slots=True, kw_only=True)
class BitRecord:
    """What one bit does in a program until the next takes its place."""

    number: int | None  # by which the program changes to it (T); None: the only one
    bit: str
    seconds_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramRecord:
    """What one program does, by the interpreter and the motion model."""

    name: str
    sha256: str
    bits: tuple[BitRecord, ...]  # in the order in which they cut; one may come twice
    seconds_s: float
    feed_length_mm: float
    traverse_length_mm: float
    low_mm: tuple[float, float, float]  # least x, y, z reached
    high_mm: tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class BackRecord:
    """What the programs of the back do; ``overcut`` and ``undercut`` are None where no design was known."""

    cut_volume_mm3: float
    least_wood_mm: float | None  # left to the face's carving, where it is least; None: nothing is cut
    overcut_mm: float | None
    undercut_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """All that was checked; ``overcut`` and ``undercut`` are None where no design was known."""

    passed: bool
    findings: tuple[Finding, ...]
    overcut: Deviation | None
    undercut: Deviation | None
    carved_volume_mm3: float
    programs: tuple[ProgramRecord, ...]
    seconds_s: float
    back: BackRecord | None = None  # None: nothing is cut there, nor shall be
