"""RS-274 in inches, with arcs."""

from __future__ import annotations

from workers.dialects.rs274_writer import Rs274Dialect
from workers.dialects.word_format import INCHES

INCH_ARCS = Rs274Dialect(
    name="inch-arcs",
    summary="RS-274 in inches (G20), arcs by their centres where the way is round",
    words=INCHES,
    with_arcs=True,
)
