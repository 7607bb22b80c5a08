"""The tones of a design, each with the depth limit that it is cut to."""

from __future__ import annotations

from dataclasses import dataclass, replace

from workers.errors import ParameterOutOfRangeError
from workers.values.cuts import InciseCut
from workers.values.design import Design
from workers.values.region import Region


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Tier:
    """One tone with all that are darker, and how it is cut: as grooves no deeper than its own limit."""

    ink: Region
    cut: InciseCut

    @property
    def depth_limit_mm(self) -> float:
        """How deep its floors are."""
        return self.cut.depth_limit_mm


def tiers_of(design: Design, cut: InciseCut) -> tuple[Tier, ...]:
    """Return the tones of a design, the palest first: one where it has ink and nothing else.

    The surface of the sign is, at each place, the deepest of all tiers' grooves.

    Args:
        design: Its ink, and what of that is darker.
        cut: The bit, the limit of the darkest tone and those of the paler ones.

    Raises:
        ParameterOutOfRangeError: There are more or fewer limits than the design has paler tones.
    """
    inks = (design.ink, *design.darker)
    limits_mm = (*_paler_limits_mm(design, cut), cut.depth_limit_mm)
    return tuple(
        Tier(ink=ink, cut=replace(cut, depth_limit_mm=limit_mm, paler_limits_mm=None))
        for ink, limit_mm in zip(inks, limits_mm, strict=True)
    )


def _paler_limits_mm(design: Design, cut: InciseCut) -> tuple[float, ...]:
    """Return the limits of all tones but the darkest: as asked, or in equal steps."""
    count = len(design.darker)
    if cut.paler_limits_mm is None:
        return tuple(cut.depth_limit_mm * number / (count + 1) for number in range(1, count + 1))
    if len(cut.paler_limits_mm) != count:
        raise ParameterOutOfRangeError(
            f"{len(cut.paler_limits_mm)} depth limits of paler tones, and the design has {count} such tones",
            field="/inputs/incise/paler_limits",
            remedy=f"give {count}, the palest first, or leave them out for equal steps"
            if count
            else "leave them out: without art in 3 or 4 tones 'depth_limit' says all",
        )
    return cut.paler_limits_mm
