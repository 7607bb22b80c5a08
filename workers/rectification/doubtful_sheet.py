"""What is uncertain about a sheet that was found against the odds."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from workers.rectification.filled_frame import LEAN_DEG
from workers.rectification.found_sheet import UNEVEN_PX, FoundSheet
from workers.rectification.perspective import FOCAL_TO_LONG_SIDE, sheet_shape
from workers.values.finding import Finding, Severity

_OTHER_SHAPE = 0.055  # of the logarithm: Letter and A4 are 0.089 apart; 34 simulated photos strayed by 0.04
_SIDES = ("top", "right", "bottom", "left")


def told_shape(sheet: FoundSheet) -> float:
    """Return width over height by the size that was told."""
    return sheet.surface.width_mm / sheet.surface.height_mm


def seen_shape(sheet: FoundSheet) -> float:
    """Return width over height as one view tells it, taking a phone's usual lens."""
    frame_px = np.array(sheet.surface.frame_px)
    return sheet_shape(sheet.surface.corners_px, frame_px / 2, FOCAL_TO_LONG_SIDE * max(frame_px))[1]


def doubts(sheet: FoundSheet) -> Iterator[Finding]:
    """Yield what to look at: a shape other than told, a side out of the picture, a lighter table."""
    outside = sheet.rough.outside
    seen, told = seen_shape(sheet), told_shape(sheet)
    if not outside and abs(math.log(seen / told)) > _OTHER_SHAPE:
        yield Finding(
            code="sheet-size-doubtful",
            severity=Severity.WARNING,
            message=f"the sheet looks {seen:.2f} times as wide as high, but by the size told {told:.2f} "
            f"times; the drawing may be stretched by {100 * abs(math.log(seen / told)):.0f} %",
            remedy="see that 'sheet' is the paper that was used, A4 or Letter",
        )
    if len(outside) == 2:
        yield _filling(sheet)
    elif outside:
        lying = "upright" if sheet.surface.height_mm > sheet.surface.width_mm else "lying across"
        yield Finding(
            code="side-outside",
            severity=Severity.WARNING,
            message=f"the sheet's {_SIDES[outside[0]]} side lies outside of the picture; worked out from the "
            f"other three it is right to about {sheet.doubt_mm:.0f} mm, if the photo was not trimmed and "
            f"most of the sheet, {lying}, is in it; what is drawn there is missing",
            remedy="take the photo again with the whole sheet in the picture, and do not trim it",
        )
    if sheet.rough.distinct < 1.0:
        yield Finding(
            code="paper-beyond-a-side",
            severity=Severity.WARNING,
            message=f"beyond {round(4 * (1 - sheet.rough.distinct))} of the sheet's sides there is something "
            "as bright as the sheet: another sheet beneath it, or the side is a line on a larger sheet",
            remedy="look at the found picture; lay nothing white under the sheet, keep all its edges in view",
        )
    if sheet.surface.residual_px > UNEVEN_PX:
        worst = max(range(4), key=lambda k: sheet.sides[k].residual_px)
        yield Finding(
            code="sheet-edges-uneven",
            severity=Severity.WARNING,
            message="the sheet's sides do not lie as those of one flat or curled sheet would, the "
            f"{_SIDES[worst]} side least of all: something lies along it, or it is torn; places may be off "
            "by more than a line is wide",
            remedy="clear away what lies along the sheet's edges, and take the photo again",
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


def _filling(sheet: FoundSheet) -> Finding:
    """Return that only two sides of the sheet are in the picture."""
    names = " and ".join(_SIDES[side] for side in sheet.rough.outside)
    return Finding(
        code="two-sides-outside",
        severity=Severity.WARNING,
        message=f"the sheet's {names} sides lie outside of the picture; the two others give the scale, but "
        f"if the phone leaned by {LEAN_DEG:.0f} degrees places are off by {sheet.doubt_mm:.0f} mm, and what "
        "is drawn out there is missing",
        remedy="go a little farther away, so that all four edges of the sheet are in the picture",
    )
