"""A size that contradicts the photo is told. Sources: ISO 216 (A4), ANSI/ASME Y14.1 (Letter)."""

from pathlib import Path

import pytest

from workers.intake.photo import decode_photo
from workers.rectification.rectify import rectify
from workers.values.finding import Severity
from workers.values.progress import silent
from workers.values.sheet import SheetSize

DRAWINGS = Path(__file__).parents[2] / "support" / "drawings"
A4 = SheetSize(width_mm=210.0, height_mm=297.0)
LETTER = SheetSize(width_mm=215.9, height_mm=279.4)


@pytest.mark.parametrize("name", ["anchor", "teacup"])
def test_a4_told_as_letter_is_doubted(name: str) -> None:
    """One view shows the sheet's proportions; 9 % between the two sizes does not pass in silence."""
    photo = decode_photo((DRAWINGS / f"{name}.s1.jpg").read_bytes(), "/inputs/photos/0")

    as_told = {found.code: found for found in rectify([photo], LETTER, silent).findings}
    as_it_is = {found.code for found in rectify([photo], A4, silent).findings}

    assert as_told["sheet-size-doubtful"].severity is Severity.WARNING
    assert "sheet-size-doubtful" not in as_it_is
