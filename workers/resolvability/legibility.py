"""How far off lettering can be read, and whether its strokes suit its height."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workers.values.design import Element
from workers.values.examination import Examination, Judged
from workers.values.finding import Finding, Severity

# NUREG-0700 rev. 3, 11.4.1.5-1: characters subtend 15 minutes of arc, better 20 (trade.md L-21, seen)
_READ_AT_ALL = 0.004  # of the distance
_READ_WITH_EASE = 0.006
# 2010 ADA Standards 703.5.7: strokes of visual characters, of the capital I's height (trade.md L-08, seen)
_STROKE_FRACTIONS = (0.10, 0.30)


@dataclass(frozen=True, slots=True, kw_only=True)
class Legibility:
    """One piece of lettering: its height, the width of most of its strokes, and from where it is read."""

    text: str
    cap_height_mm: float
    stroke_mm: float
    reads_to_m: float  # at most
    reads_with_ease_to_m: float
    at_mm: tuple[float, float]

    @property
    def stroke_fraction(self) -> float:
        """The strokes' width, of the height."""
        return self.stroke_mm / self.cap_height_mm


def least_cap_height_mm(distance_mm: float) -> float:
    """Return the height of capitals that can just be read at a distance.

    Source: NUREG-0700 rev. 3, 11.4.1.5-1, 15 minutes of arc.

    >>> least_cap_height_mm(5000)
    20.0
    """
    return _READ_AT_ALL * distance_mm


def legibility_of(elements: Sequence[Element], examination: Examination) -> tuple[Legibility, ...]:
    """Return what is to say of each piece of lettering whose height is known.

    Args:
        elements: What is on the board.
        examination: The strokes, as they will be cut.
    """
    found = []
    for element in elements:
        strokes = [run for run in examination.strokes if _is_in(run, element)]
        if not element.cap_height_mm or not strokes:
            continue
        found.append(
            Legibility(
                text=element.title,
                cap_height_mm=element.cap_height_mm,
                stroke_mm=_usual_width_mm(strokes),
                reads_to_m=element.cap_height_mm / _READ_AT_ALL / 1000,
                reads_with_ease_to_m=element.cap_height_mm / _READ_WITH_EASE / 1000,
                at_mm=((element.left_mm + element.right_mm) / 2, (element.bottom_mm + element.top_mm) / 2),
            )
        )
    return tuple(found)


def notes_on_lettering(
    lettering: Sequence[Legibility], viewing_distance_mm: float | None
) -> tuple[Finding, ...]:
    """Return what is wrong with lettering: too small for the distance, strokes too thin or too fat."""
    notes = []
    for line in lettering:
        least_mm = least_cap_height_mm(viewing_distance_mm) if viewing_distance_mm else 0.0
        if line.cap_height_mm < least_mm:
            notes.append(_too_small(line, viewing_distance_mm or 0.0, least_mm))
        if not _STROKE_FRACTIONS[0] <= line.stroke_fraction <= _STROKE_FRACTIONS[1]:
            notes.append(_ill_proportioned(line))
    return tuple(notes)


def _is_in(run: Judged, element: Element) -> bool:
    x_mm, y_mm = run.at_mm
    return element.left_mm <= x_mm <= element.right_mm and element.bottom_mm <= y_mm <= element.top_mm


def _usual_width_mm(strokes: Sequence[Judged]) -> float:
    """Return the width that half the strokes' length is narrower than."""
    order = sorted(strokes, key=lambda run: run.width_mm)
    along_mm = np.cumsum([run.length_mm for run in order])
    return order[int(np.searchsorted(along_mm, along_mm[-1] / 2))].width_mm


def _too_small(line: Legibility, distance_mm: float, least_mm: float) -> Finding:
    return Finding(
        code="lettering-small",
        severity=Severity.WARNING,
        message=f"'{line.text}', capitals {line.cap_height_mm:.0f} mm high, is read from "
        f"{line.reads_to_m:.1f} m at most, not from {distance_mm / 1000:.1f} m",
        remedy=f"make its capitals {least_mm:.0f} mm high or more, "
        f"{_READ_WITH_EASE * distance_mm:.0f} mm to be read with ease",
        at_mm=line.at_mm,
    )


def _ill_proportioned(line: Legibility) -> Finding:
    low, high = _STROKE_FRACTIONS
    thin = line.stroke_fraction < low
    return Finding(
        code="lettering-strokes",
        severity=Severity.NOTE,
        message=f"the strokes of '{line.text}' are {line.stroke_fraction:.0%} of its height; "
        f"{low:.0%} to {high:.0%} is read best",
        remedy="choose a bolder font" if thin else "choose a lighter font or larger letters",
        at_mm=line.at_mm,
    )
