"""RS-274 in millimetres, straight moves only."""

from __future__ import annotations

from workers.dialects.rs274_writer import Rs274Dialect
from workers.dialects.word_format import MILLIMETRES

METRIC_LINES = Rs274Dialect(
    name="metric-lines",
    summary="RS-274 in millimetres (G21), straight moves only",
    words=MILLIMETRES,
    with_arcs=False,
)
