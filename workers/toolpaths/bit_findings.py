"""Bits that cannot do what they are asked, or are asked nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from workers.errors import NotCuttableError
from workers.values.cuts import ClearCut
from workers.values.cutter import Cutter
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.finding import Finding, Severity

_WHY_UNUSED = {
    OperationKind.CLEAR: "no floor is left that it reaches and no coarser bit has cut",
    OperationKind.INCISE: "no ink is wide enough for its tip",
    OperationKind.DRILL: "the board has no holes",
}


def refuse_short_mills(clear: ClearCut, floor_mm: float) -> None:
    """Raise if floors are deeper than a mill's cutting edge is long.

    Raises:
        NotCuttableError: Both figures are in the message.
    """
    for mill in clear.mills:
        if mill.cutting_length_mm < floor_mm - 1e-9:
            finding = Finding(
                code="bit-too-short",
                severity=Severity.ERROR,
                message=(
                    f"{mill.name} cuts {mill.cutting_length_mm:.2f} mm deep, "
                    f"and floors are {floor_mm:.2f} mm deep"
                ),
                remedy="clear with a bit that has a longer cutting edge, or lower the depth limit",
            )
            raise NotCuttableError.for_findings(finding, field="/inputs/clear/bit")


def unused_findings(
    work: Iterable[tuple[OperationKind, Cutter | None, Sequence[CutPath]]],
) -> list[Finding]:
    """Return a note for each bit that has nothing to cut."""
    return [
        Finding(
            code="bit-unused",
            severity=Severity.NOTE,
            message=f"{bit.name} has nothing to {kind.value}: {_WHY_UNUSED[kind]}",
            remedy="leave it out; it need not be put in",
        )
        for kind, bit, paths in work
        if bit is not None and not paths and kind in _WHY_UNUSED
    ]
