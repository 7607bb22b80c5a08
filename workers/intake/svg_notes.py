"""What had to be assumed or left out while an SVG was read, told once for each kind."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from workers.values.finding import Finding, Severity

KINDS: dict[str, tuple[Severity, str, str]] = {
    "svg-size-in-pixels": (
        Severity.NOTE,
        "the SVG gives its size in pixels; they were taken as 96 to the inch",
        "State width and height in mm, or place the art with a width.",
    ),
    "svg-size-assumed": (
        Severity.WARNING,
        "the SVG gives no size; its units were taken as pixels, 96 to the inch",
        "State width and height in mm, or place the art with a width.",
    ),
    "svg-text-left-out": (
        Severity.WARNING,
        "text was left out: it is no outline, and its font is not in the file",
        "Turn text into outlines (paths) in the drawing program, or order it as lettering.",
    ),
    "svg-image-left-out": (
        Severity.WARNING,
        "pictures inside of the SVG were left out",
        "Send the picture by itself as a photo or an image.",
    ),
    "svg-element-left-out": (
        Severity.WARNING,
        "elements were left out that are no shapes",
        "Turn them into paths in the drawing program.",
    ),
    "svg-path-broken": (
        Severity.WARNING,
        "path data is broken; it was drawn up to the last good segment",
        "Look at the outlines, and repair the paths.",
    ),
    "svg-style-ignored": (
        Severity.WARNING,
        "styles were not understood and not applied",
        "Set colours as attributes of the shapes.",
    ),
    "svg-transform-ignored": (
        Severity.WARNING,
        "transforms were not understood and not applied",
        "Apply the transforms in the drawing program.",
    ),
    "svg-effect-ignored": (
        Severity.WARNING,
        "effects were not applied",
        "Turn masks, filters, markers and gradients into plain shapes.",
    ),
    "svg-pale-paint": (
        Severity.NOTE,
        "paint less than half opaque was left out",
        "Make it opaque if it is to be carved.",
    ),
    "svg-beyond-page": (
        Severity.NOTE,
        "ink beyond the edge of the page was cut off",
        "Enlarge the page if it belongs to the drawing.",
    ),
    "svg-curves-flattened": (
        Severity.NOTE,
        "overlapping shapes were joined as fine polygons instead of curves",
        "Nothing needs doing; joining the shapes in the drawing program gives a smaller file.",
    ),
}
EXAMPLES = 3


@dataclass(slots=True)
class Notes:
    """Counts what happened, by kind and by what it happened to."""

    counts: dict[str, Counter[str]] = field(default_factory=dict)

    def add(self, code: str, what: str) -> None:
        """Note that something happened once more."""
        self.counts.setdefault(code, Counter())[what] += 1

    def findings(self) -> tuple[Finding, ...]:
        """Return one finding for each kind, in the order in which they first came."""
        return tuple(self._finding(code, what) for code, what in self.counts.items())

    def in_brackets(self) -> str:
        """Return the kinds of things left out, for a message, or nothing."""
        messages = [KINDS[code][1] for code in self.counts]
        return f" ({'; '.join(messages)})" if messages else ""

    @staticmethod
    def _finding(code: str, what: Counter[str]) -> Finding:
        severity, message, remedy = KINDS[code]
        named = [f"{name} x{count}" if count > 1 else name for name, count in what.most_common(EXAMPLES)]
        more = len(what) - len(named)
        examples = ", ".join(named) + (f" and {more} more" if more > 0 else "")
        return Finding(code=code, severity=severity, message=f"{message} ({examples})", remedy=remedy)
