"""RS-274 in millimetres, all bits in one program."""

from __future__ import annotations

from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.several_bits import SeveralBits

METRIC_ONE_FILE = SeveralBits(
    name="metric-one-file",
    summary="RS-274 in millimetres (G21), straight moves only, all bits in one program (T, M6)",
    between=METRIC_LINES,
)
