"""RS-274 in inches, straight moves only."""

from __future__ import annotations

from workers.dialects.rs274_writer import Rs274Dialect
from workers.dialects.word_format import INCHES

INCH_LINES = Rs274Dialect(
    name="inch-lines",
    summary="RS-274 in inches (G20), straight moves only",
    words=INCHES,
    with_arcs=False,
)
