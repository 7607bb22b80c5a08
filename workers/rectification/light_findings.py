"""What is worth telling about the light on a sheet, its paper and its ink, each with what to do about it."""

from __future__ import annotations

from collections.abc import Iterator

from workers.rectification.coloured_ink import COLOUR_WORDS
from workers.rectification.creases import Crease
from workers.rectification.light_faults import largest_area, place_in_words
from workers.rectification.notes import note
from workers.rectification.pale_lines import GREY, PaleLine
from workers.rectification.photo_quality import PhotoQuality
from workers.rectification.reading import Reading
from workers.rectification.ruled_lines import Ruling
from workers.values.finding import Finding, Severity

_DARK = 0.45
_GRAIN_MM = 0.02
_DRY_LEVEL = 0.35
_DEEP_SHADOW_FRACTION = 0.12
_MOST_PLACES = 3
_DEEP_CREASE = 0.3  # of full ink's darkness: ink that crosses one may be hurt


def of_brightness(quality: PhotoQuality, reading: Reading) -> Iterator[Finding]:
    """Yield what is too dark or too bright in a photo.

    Args:
        quality: Its figures.
        reading: What was read from it.
    """
    if quality.exposure < _DARK:
        yield note(
            "too-dark",
            f"the paper itself is only {100 * quality.exposure:.0f} % as bright as the photo can hold",
            "take the photo in more light, or tap on the paper so that the phone brightens the picture",
            Severity.WARNING,
        )
    grain_mm = reading.grain_mm(quality.edge_width_mm)
    if grain_mm > _GRAIN_MM:
        yield note(
            "grainy",
            f"the photo is grainy, as in little light: its grain moves the ink's edges by {grain_mm:.2f} mm, "
            "so fine lines come out uneven",
            "take the photo in more light, by a window or under a lamp",
            Severity.WARNING,
        )
    area = largest_area(reading.faults.glare)
    if area is not None:
        rows, columns = reading.clean.coverage.shape
        _, down, across = area
        yield Finding(
            code="glare",
            severity=Severity.WARNING,
            message=f"glare {place_in_words(down, across)} of the sheet: "
            f"{_share(reading.faults.glare_fraction)} of it is brighter than the photo can hold, "
            "and lines there may be pale or gone",
            remedy="move the lamp or the phone until nothing shines; or take photos from several sides and "
            "have them merged ('merge')",
            at_mm=(across * columns * reading.mm_per_px, (1.0 - down) * rows * reading.mm_per_px),
        )
    elif quality.blown_fraction > 0.05:
        yield note(
            "over-exposed",
            f"{_share(quality.blown_fraction)} of the sheet is brighter than the photo can hold",
            "avoid flash and direct sun; thin lines may have been eaten",
            Severity.WARNING,
        )


def of_shadow(reading: Reading) -> Iterator[Finding]:
    """Yield what shades the paper: its own facets, or something between it and the light.

    Args:
        reading: What was read.
    """
    paper = reading.paper
    if reading.faults.is_crumpled:
        yield note(
            "crumpled",
            f"the paper is crumpled: its light goes up and down on {_share(reading.faults.facets_fraction)} "
            "of the sheet, so the drawing is out of shape there and folds may have been taken for ink",
            "press the sheet flat under a board or a pane of glass, light it from above, and take it again",
            Severity.WARNING,
        )
    elif reading.tones_count > 2:  # greys are meant, and no shade is told from them
        return
    elif paper.hard_shadow_fraction > 0:
        yield note(
            "hard-shadow",
            f"a shadow with a hard edge covers {_share(paper.hard_shadow_fraction)} of the sheet",
            "look at the picture where the shadow's edge was, or take the photo without it",
            Severity.WARNING,
        )
    elif paper.shadow_fraction > _DEEP_SHADOW_FRACTION:
        yield note(
            "shadow",
            f"{_share(paper.shadow_fraction)} of the paper lies in a shadow, which was taken out",
            "light the sheet from the side, and keep the phone's shadow off it",
        )


def of_ink(reading: Reading, is_blurred: bool) -> Iterator[Finding]:
    """Yield what is particular about the ink.

    Args:
        reading: What was read.
        is_blurred: Whether the photo is, which makes fine lines pale whatever they were drawn with.
    """
    if reading.colours:
        names = "; ".join(COLOUR_WORDS[ink.channel] for ink in reading.colours)
        yield note(
            "coloured-ink",
            f"coloured ink ({names}) was found and counts as ink like black",
            "check pale strokes in the picture; black or dark markers give the cleanest edges",
        )
    if reading.ink.ink_level_worst > _DRY_LEVEL and not is_blurred and reading.tones_count == 2:
        yield note(
            "pale-ink",
            f"in places the paper is only {1 / reading.ink.ink_level_worst:.1f} times as bright as the ink",
            "go over pale strokes with a fresh or darker marker",
            Severity.WARNING,
        )


def of_rulings(rulings: tuple[Ruling, ...]) -> Iterator[Finding]:
    """Yield that the paper's own lines were taken out.

    Args:
        rulings: Of the paper.
    """
    if rulings:
        spacings = " and ".join(f"{ruling.spacing_mm:.1f} mm" for ruling in rulings)
        yield note(
            "ruled-paper",
            f"the paper's own {'squares' if len(rulings) > 1 else 'lines'}, {spacings} apart, were taken out",
            "look where a thin line of the drawing runs along one of the paper's; plain paper is safest",
        )


def of_creases(creases: tuple[Crease, ...], height_mm: float) -> Iterator[Finding]:
    """Yield each fold that was taken out, with its middle as its place.

    Args:
        creases: The folds.
        height_mm: Of the sheet.
    """
    for crease in creases:
        (x0, y0), (x1, y1) = crease.chord.start_mm, crease.chord.end_mm
        middle = (crease.chord.start_mm + crease.chord.end_mm) / 2
        yield Finding(
            code="crease",
            severity=Severity.WARNING if crease.darkness > _DEEP_CREASE else Severity.NOTE,
            message=f"a fold runs from {x0:.0f}, {y0:.0f} to {x1:.0f}, {y1:.0f} mm (from the upper left), "
            f"{100 * crease.darkness:.0f} % as dark as the ink; it was taken out",
            remedy="look where lines of the drawing cross it; a line that is meant must end before the rim",
            at_mm=(float(middle[0]), height_mm - float(middle[1])),
        )


def of_pale_lines(lines: tuple[PaleLine, ...], height_mm: float) -> Iterator[Finding]:
    """Yield what became of thin lines paler than the ink: pencil, a pen's, and what cannot be told.

    Args:
        lines: The lines.
        height_mm: Of the sheet.
    """
    pencil = [line for line in lines if line.is_pencil and line.is_sure]
    pen = [line for line in lines if not line.is_pencil and line.is_sure]
    doubtful = [line for line in lines if not line.is_sure]
    if pencil:
        yield _of_lines(
            "pencil-left-out",
            Severity.NOTE,
            f"{_length(pencil)} of pencil lines were left out",
            "ink over what is part of the drawing; rub out the rest",
            pencil,
            height_mm,
        )
    if pen:
        yield _of_lines(
            "fine-lines-kept",
            Severity.WARNING if any(line.darkness < GREY for line in pen) else Severity.NOTE,
            f"{_length(pen)} of fine or grey pen lines, {100 * min(p.darkness for p in pen):.0f} % as dark "
            "as the ink or more, count as ink like the rest",
            "look whether they are whole where they cross bold strokes; a bolder pen gives surer lines",
            pen,
            height_mm,
        )
    if doubtful:
        left_out = [line for line in doubtful if line.is_pencil]
        done = f"{_length(left_out)} of them were left out and the rest kept"
        if len(left_out) in (0, len(doubtful)):
            done = "they were left out" if left_out else "they were kept"
        share = sum(line.length_mm for line in doubtful) / sum(line.length_mm for line in lines)
        yield _of_lines(
            "pencil-or-ink",
            Severity.WARNING,
            f"{_length(doubtful)} of thin grey lines, {_share(share)} of all of them, may be pencil or pale "
            f"ink: {done}",
            "ink over what is part of the drawing, rub out the rest, and take a sharper photo from nearer by",
            doubtful,
            height_mm,
        )


def _of_lines(
    code: str, severity: Severity, message: str, remedy: str, lines: list[PaleLine], height_mm: float
) -> Finding:
    """Return a finding on lines with the places of the longest, from the upper left in its words."""
    longest = sorted(lines, key=lambda line: -line.length_mm)[:_MOST_PLACES]
    places = "; ".join(f"{x:.0f}, {y:.0f}" for x, y in (line.middle_mm for line in longest))
    x, y = longest[0].middle_mm
    return Finding(
        code=code,
        severity=severity,
        message=f"{message} (the longest at {places} mm from the upper left)",
        remedy=remedy,
        at_mm=(x, height_mm - y),
    )


def _length(lines: list[PaleLine]) -> str:
    return f"{sum(line.length_mm for line in lines):.0f} mm"


def _share(fraction: float) -> str:
    """Return a share in percent; what is there is never 0.

    >>> _share(0.273), _share(0.0004)
    ('27 %', 'less than 1 %')
    """
    return f"{100 * fraction:.0f} %" if fraction >= 0.01 else "less than 1 %"
