"""RS-274 in millimetres, with arcs."""

from __future__ import annotations

from workers.dialects.rs274_writer import Rs274Dialect
from workers.dialects.word_format import MILLIMETRES

METRIC_ARCS = Rs274Dialect(
    name="metric-arcs",
    summary="RS-274 in millimetres (G21), arcs by their centres where the way is round",
    words=MILLIMETRES,
    with_arcs=True,
)
