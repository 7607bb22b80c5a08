"""What had to be assumed or left out while an SVG was read, told once for each kind."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from workers.intake.svg_transforms import Matrix
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
    "svg-length-ignored": (
        Severity.WARNING,
        "lengths were not understood and left at what they are by default",
        "Give lengths as numbers, or in mm, cm, in, pt, pc, Q, px, em, ex or %.",
    ),
    "svg-text-left-out": (
        Severity.WARNING,
        "text was left out: its font, or the path that it runs along, is not at hand",
        "Turn text into outlines (paths) in the drawing program, or order it as lettering.",
    ),
    "svg-font-replaced": (
        Severity.WARNING,
        "text was set in another font than was asked for",
        "Turn text into outlines (paths) if its look matters, or name a font of this installation.",
    ),
    "svg-text-simplified": (
        Severity.WARNING,
        "text was set without some of what its style asks for",
        "Turn text into outlines (paths) if its look matters.",
    ),
    "svg-image-left-out": (
        Severity.WARNING,
        "pictures inside of the SVG were left out",
        "Send the picture by itself as a photo or an image.",
    ),
    "svg-image-elsewhere": (
        Severity.WARNING,
        "pictures that the SVG only links to were left out: nothing outside of the file is opened",
        "Embed the pictures in the drawing program, or send each by itself as a photo or an image.",
    ),
    "svg-image-traced": (
        Severity.NOTE,
        "pictures inside of the SVG are traced, and their ink is added to all other ink, whatever lies above",
        "Look at the outlines; send a photo by itself if it is not evenly lit.",
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
        "Turn filters and other effects into plain shapes.",
    ),
    "svg-pale-paint": (
        Severity.NOTE,
        "paint was left out: it lets through too much to darken paper or to hide ink",
        "Make it opaque if it is to be carved.",
    ),
    "svg-light-paint": (
        Severity.NOTE,
        "paint lighter than half counts as paper: it is not carved, and hides what lies beneath",
        "Make it darker if it is to be carved.",
    ),
    "svg-gradient-averaged": (
        Severity.WARNING,
        "gradients count as one tone each, ink or paper, by their mean luminance",
        "Turn gradients into plain shapes where both tones are wanted.",
    ),
    "svg-mask-halved": (
        Severity.WARNING,
        "masks that let through in part count as open from one half up, as closed below",
        "Make masks black and white.",
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
    "svg-outlines-closed": (
        Severity.NOTE,
        "filled outlines were open; a straight line closes each",
        "Join the ends in the drawing program if they are meant to meet elsewhere.",
    ),
    "svg-outlines-crossing": (
        Severity.NOTE,
        "outlines cross themselves or another of the same path; they were parted where they cross",
        "Look at the places: what the fill rule leaves open stays uncarved.",
    ),
    "svg-shapes-overlapping": (
        Severity.NOTE,
        "shapes overlap; they were joined into one outline",
        "Nothing needs doing.",
    ),
    "svg-overlaps-not-counted": (
        Severity.NOTE,
        "there are more overlaps than are counted; the shapes were joined all the same",
        "Join the shapes in the drawing program for a smaller file.",
    ),
    "svg-outlines-duplicate": (
        Severity.NOTE,
        "outlines lie exactly on one another; they count once",
        "Delete the copies in the drawing program.",
    ),
    "svg-outlines-cancelled": (
        Severity.WARNING,
        "outlines lie exactly on one another within a path of the even-odd rule, and cancel out",
        "Delete the copies in the drawing program if the shape is to be carved.",
    ),
    "svg-outlines-without-length": (
        Severity.NOTE,
        "outlines have no length and paint nothing; they were removed",
        "Nothing needs doing.",
    ),
    "svg-slivers": (
        Severity.NOTE,
        "filled outlines are no wider than two thousandths of a millimetre; they were removed",
        "Give them a stroke if they are lines to be carved.",
    ),
}
EXAMPLES = 3


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the largest of a kind is, on the page with y down."""

    size: float
    x: float
    y: float


@dataclass(slots=True)
class Notes:
    """Counts what happened, by kind and by what it happened to."""

    counts: dict[str, Counter[str]] = field(default_factory=dict)
    places: dict[str, _Place] = field(default_factory=dict)

    def add(self, code: str, what: str) -> None:
        """Note that something happened once more."""
        self.counts.setdefault(code, Counter())[what] += 1

    def add_at(self, code: str, what: str, size: float, x: float, y: float) -> None:
        """Note that something happened at a place; that of the largest is told.

        Args:
            code: Its kind.
            what: What it happened to.
            size: How large it is, against others of its kind.
            x: Where, on the page as it is read.
            y: Where, downwards.
        """
        self.add(code, what)
        if code not in self.places or size > self.places[code].size:
            self.places[code] = _Place(float(size), float(x), float(y))

    def findings(self, to_sheet: Matrix) -> tuple[Finding, ...]:
        """Return one finding for each kind, in the order in which they first came.

        Args:
            to_sheet: From the page as it is read to the mm of the sheet, y up.
        """
        return tuple(self._finding(code, what, to_sheet) for code, what in self.counts.items())

    def in_brackets(self) -> str:
        """Return the kinds of things left out, for a message, or nothing."""
        messages = [KINDS[code][1] for code in self.counts]
        return f" ({'; '.join(messages)})" if messages else ""

    def _finding(self, code: str, what: Counter[str], to_sheet: Matrix) -> Finding:
        severity, message, remedy = KINDS[code]
        named = [f"{name} x{count}" if count > 1 else name for name, count in what.most_common(EXAMPLES)]
        more = len(what) - len(named)
        told = ", ".join(named) + (f" and {more} more" if more > 0 else "")
        at_mm = None
        if place := self.places.get(code):
            x_mm, y_mm, _ = to_sheet @ (place.x, place.y, 1.0)
            at_mm = (round(float(x_mm), 3) + 0.0, round(float(y_mm), 3) + 0.0)
            where = f"near x {at_mm[0]:.1f}, y {at_mm[1]:.1f} mm"
            is_one = what.total() == 1
            told = f"{told}, {where}" if is_one else f"{what.total()} in all: {told}; the largest {where}"
        return Finding(
            code=code, severity=severity, message=f"{message} ({told})", remedy=remedy, at_mm=at_mm
        )
