"""What programs do to a board, told a second way: points and exact distances, no cells.

Nothing here is shared with the proof but the values that say what was ordered. The text is read by a reader
of forty lines; what a bit leaves over a point is the best of all motions over it; where a design should be is
measured with shapely; and what is loose is what shapely leaves of the blank without all ways through it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.support.second_opinion.motions import (
    clamp_objections,
    holder_objections,
    limit_objections,
    rapid_objections,
)
from tests.support.second_opinion.moves import moves_of
from tests.support.second_opinion.ordered import Ordered
from tests.support.second_opinion.surface import surface_objections
from tests.support.second_opinion.through import order_objections, through_objections
from workers.values.program import Program


def objections(programs: Sequence[Program], ordered: Ordered, seed: int = 0) -> list[str]:
    """Return what is wrong with programs; nothing, if this opinion lets them pass."""
    moves = moves_of(programs)
    chance = np.random.default_rng(seed)
    return [
        *surface_objections(moves, ordered, chance),
        *rapid_objections(moves, chance),
        *limit_objections(moves, ordered),
        *clamp_objections(moves, ordered),
        *holder_objections(moves, ordered),
        *through_objections(moves, ordered),
        *order_objections(moves, ordered),
    ]
