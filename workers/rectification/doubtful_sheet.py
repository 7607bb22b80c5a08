"""What is uncertain about a sheet that was found against the odds."""

from __future__ import annotations

from collections.abc import Iterator

from workers.rectification.found_sheet import FoundSheet
from workers.values.finding import Finding, Severity

_SIDES = ("top", "right", "bottom", "left")


def doubts(sheet: FoundSheet) -> Iterator[Finding]:
    """Yield what to look at: a side outside of the picture, a sheet darker than its table."""
    outside = sheet.rough.outside
    if outside is not None:
        lying = "upright" if sheet.surface.height_mm > sheet.surface.width_mm else "lying across"
        yield Finding(
            code="side-outside",
            severity=Severity.WARNING,
            message=f"the sheet's {_SIDES[outside]} side lies outside of the picture; worked out from the "
            f"other three it is right to about {sheet.doubt_mm:.0f} mm, if the photo was not trimmed and "
            f"most of the sheet, {lying}, is in it; what is drawn there is missing",
            remedy="take the photo again with the whole sheet in the picture, and do not trim it",
        )
    dark = [name for name, side in zip(_SIDES, sheet.sides, strict=True) if side.darker]
    if dark:
        yield Finding(
            code="sheet-darker-than-table",
            severity=Severity.WARNING,
            message=f"the sheet is darker than its table along its {' and '.join(dark)} side, where its own "
            "shadow may hide its edge; places on it may be off by 2 mm",
            remedy="lay the sheet on something darker than it is",
        )
