"""Of several V-bits on offer the one that shows most of a drawing, and of equals the quickest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from workers.resolvability.advice import in_minutes, in_percent, shows_fraction
from workers.resolvability.centre_lines import measured
from workers.resolvability.minutes import vee_minutes
from workers.values.cuts import InciseCut
from workers.values.finding import Finding, Severity
from workers.values.machine import Machine
from workers.values.material import Material
from workers.values.region import Region

_SAME_FRACTION = 1e-3  # bits whose shares differ by less show the same


@dataclass(frozen=True, slots=True, kw_only=True)
class _Candidate:
    cut: InciseCut
    shows_fraction: float
    minutes: float


def best_cut(
    region: Region, cuts: Sequence[InciseCut], material: Material, machine: Machine
) -> tuple[InciseCut, tuple[Finding, ...]]:
    """Return the cut that shows most of the ink as drawn, of equals the quickest; and why, if others were.

    Args:
        region: The ink.
        cuts: One for each bit on offer, in the order's own order, which settles what is still equal.
        material: Gives the depth that shows.
        machine: Gives the speeds.
    """
    if len(cuts) == 1:
        return cuts[0], ()
    strokes = measured(region).strokes
    found = [
        _Candidate(
            cut=cut,
            shows_fraction=shows_fraction(strokes, cut, material),
            minutes=vee_minutes(region, cut, material, machine),
        )
        for cut in cuts
    ]
    most = max(candidate.shows_fraction for candidate in found)
    as_good = [candidate for candidate in found if candidate.shows_fraction >= most - _SAME_FRACTION]
    best = min(as_good, key=lambda candidate: candidate.minutes)
    return best.cut, (_why(best, [candidate for candidate in found if candidate is not best]),)


def _why(best: _Candidate, others: Sequence[_Candidate]) -> Finding:
    told = "; ".join(f"{other.cut.cutter.name} {_figures(other)}" for other in others)
    return Finding(
        code="bit-chosen",
        severity=Severity.NOTE,
        message=f"{best.cut.cutter.name} is taken: it shows {_figures(best)}; {told}",
        remedy="name one bit in 'incise/bit' to choose yourself",
    )


def _figures(candidate: _Candidate) -> str:
    return (
        f"{in_percent(candidate.shows_fraction)} of the ink's length in about {in_minutes(candidate.minutes)}"
    )
