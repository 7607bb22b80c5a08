"""The tones of a board: what of its ink is darker, each tone within the one before."""

from __future__ import annotations

from collections.abc import Sequence

from workers.geometry.nesting import NARROWEST_MM, nested
from workers.layout.areas import joined, thinned
from workers.layout.fitting import Placed
from workers.values.region import Region


def darker_tones(ink: Region, placed: Sequence[Placed]) -> tuple[Region, ...]:
    """Return the ink without the palest tone, and so on to the darkest alone; none where all is one tone.

    What has no tones of its own, as lettering and the border, is as dark as can be. Tones are read one by
    one, and where outlines of two were drawn as one they differ by hairs: there they become the same.

    Args:
        ink: Of all that is placed, joined.
        placed: Everything on the board; what has tones has the same number of them.
    """
    tones: list[Region] = []
    around = ink
    narrow_mm = NARROWEST_MM * max(1.0, *(entry.enlarged for entry in placed))
    for number in range(max(len(entry.darker) for entry in placed)):
        areas = [entry.darker[number] if entry.darker else entry.area for entry in placed]
        around = nested(around, Region(thinned(joined(areas))), narrow_mm)
        tones.append(around)
    return tuple(tones)
