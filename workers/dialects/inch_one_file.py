"""RS-274 in inches, all bits in one program."""

from __future__ import annotations

from workers.dialects.inch_lines import INCH_LINES
from workers.dialects.several_bits import SeveralBits

INCH_ONE_FILE = SeveralBits(
    name="inch-one-file",
    summary="RS-274 in inches (G20), straight moves only, all bits in one program (T, M6)",
    between=INCH_LINES,
)
