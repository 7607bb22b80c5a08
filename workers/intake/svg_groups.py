"""Groups that are see-through as a whole: what is painted in them is put together first, then faded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from workers.intake.svg_area import Area, Paint
from workers.intake.svg_colours import ADDS
from workers.intake.svg_notes import Notes
from workers.intake.svg_painting import inked


def faded(paints: Sequence[Paint], opacity: float, notes: Notes) -> list[Paint]:
    """Return what a group of some opacity paints on what lies beneath it.

    Light paint that hides ink within the group may be too pale, with the group, to hide ink beneath
    it. Then the group's own ink is put together here; what still hides ink beneath goes before it.

    Args:
        paints: Of the group, in order; their ink is what is dark enough even when faded.
        opacity: Of the group, below 1.
        notes: Told of outlines that cross or overlap, and of paint that hides no more.

    Source: Compositing and Blending 1, chapter 3; SVG 2, 3.5 (group opacity).
    """
    paler = [replace(paint, tone=paint.tone.faded(opacity)) for paint in paints]
    if all(paint.is_ink or paint.tone.hides_ink for paint in paler):
        return paler
    notes.add("svg-pale-paint", f"light paint in a group of {opacity:.0%} opacity")
    hiding = [paint for paint in paler if not paint.is_ink and paint.tone.hides_ink]
    if not any(paint.is_ink for paint in paints):
        return hiding
    ink = Area(inked(paints, None, notes).loops, is_even_odd=True)
    return [*hiding, Paint(ink, ADDS, element=paints[-1].element)] if ink.loops else hiding
