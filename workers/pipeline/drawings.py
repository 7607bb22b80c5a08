"""The drawings that a request links to, read as outlines, with what each one's reading had to tell."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from workers.geometry.flattening import DEFAULT_TOLERANCE_MM, flatten
from workers.intake.coverage_file import read_coverage
from workers.intake.media import media_of
from workers.intake.svg_document import read_svg
from workers.intake.svg_pictures import with_pictures
from workers.pipeline.outcome import Read
from workers.registry import offers
from workers.touch_up.turning import cos_sin
from workers.values.finding import Finding
from workers.values.outlines import Outlines
from workers.values.progress import Reporter, silent
from workers.values.region import Artwork

_TOLERANCE_MM = 0.02
_PICTURE_MM_PER_PX = (
    0.1  # of a picture that is sized anyway: any scale will do, a fifth of it is exact enough
)


@dataclass(slots=True)
class Drawings:
    """Reads drawings; ``findings`` grows by what was assumed, repaired or left out in each.

    Whoever reads a drawing through it puts ``findings`` into its report: so nothing is dropped in silence.
    """

    read: Read
    findings: list[Finding] = field(default_factory=list)

    def svg(
        self,
        href: str,
        pointer: str,
        *,
        called: str = "",
        tolerance_mm: float = _TOLERANCE_MM,
        report: Reporter = silent,
    ) -> Outlines:
        """Return a drawing in SVG as outlines, the pictures inside of it traced.

        Args:
            href: Where it is.
            pointer: JSON pointer of the link, for errors.
            called: What its findings call it, where a request may have several.
            tolerance_mm: Of tracing its pictures.
            report: Told of the tracing.

        Raises:
            InputRejectedError: It cannot be read; see ``read_svg``.
        """
        document = read_svg(self.read(href), pointer)
        self.findings += [_about(called, note) for note in document.notes]
        if not document.pictures:
            return document.outlines
        tracer = offers.tracer()
        traced = [tracer.trace(each.coverage, tolerance_mm, report).outlines for each in document.pictures]
        return with_pictures(document.outlines, document.pictures, traced)

    def of_any_kind(self, href: str, pointer: str, *, called: str = "") -> Outlines:
        """Return a drawing in SVG, or a picture whose scale does not matter, as outlines."""
        data = self.read(href)
        if media_of(data) == "image/svg+xml":
            return self.svg(href, pointer, called=called)
        coverage = read_coverage(data, _PICTURE_MM_PER_PX, pointer)
        return offers.tracer().trace(coverage, _TOLERANCE_MM, silent).outlines


def flat_for(
    outlines: Outlines,
    *,
    width_mm: float | None = None,
    height_mm: float | None = None,
    turn_deg: float = 0.0,
    scale: float = 1.0,
) -> Artwork:
    """Return a drawing as polygons that are flat enough for the size it will have; see ``flat_within_mm``."""
    return flatten(outlines, flat_within_mm(outlines, width_mm, height_mm, turn_deg, scale))


def flat_within_mm(
    outlines: Outlines,
    width_mm: float | None = None,
    height_mm: float | None = None,
    turn_deg: float = 0.0,
    scale: float = 1.0,
) -> float:
    """Return how flat a drawing must be for the size it will have.

    An icon of 5 mm that becomes 150 mm wide shall have no corners where it is round.

    Args:
        outlines: The drawing.
        width_mm: Its ink will be as wide.
        height_mm: Or its ink will be as high, if no width is given.
        turn_deg: By how much it will be turned first.
        scale: How much larger it will be, if neither is given.
    """
    wanted_mm = height_mm if width_mm is None else width_mm
    if wanted_mm is not None and outlines.loops:
        cos, sin = cos_sin(turn_deg)
        axis = np.array([cos, -sin] if width_mm is not None else [sin, cos])
        extent_mm = np.ptp(np.concatenate(outlines.loops).reshape(-1, 2) @ axis)
        scale = wanted_mm / max(float(extent_mm), 1e-6)
    return DEFAULT_TOLERANCE_MM / max(scale, 1.0)


def _about(called: str, finding: Finding) -> Finding:
    return replace(finding, message=f"{called}: {finding.message}") if called else finding
