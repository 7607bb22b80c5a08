"""What may be asked of each process: the bodies of ``inputs``."""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from schemas.base import WireModel
from schemas.bits import Bit
from schemas.dialects import DialectForm
from schemas.links import Link, ProgramLink
from schemas.quantities import Angle, AnyLength, Length, PositiveLength
from schemas.touch_up import TouchUpSteps
from schemas.waivers import Waivers

Name = Annotated[str, Field(min_length=1, max_length=64, pattern=r"^[A-Za-z0-9][A-Za-z0-9 ./_-]*$")]
PixelPoint = Annotated[tuple[float, float], Field(description="column, row in pixels of the upright picture")]
PointMm = tuple[AnyLength, AnyLength]


class SheetSize(WireModel):
    """A sheet of paper by its sides, as it lies upright in the picture."""

    width: PositiveLength
    height: PositiveLength


class KnownLength(WireModel):
    """A length on the drawing, between two points of the first photo."""

    length: PositiveLength
    between: tuple[PixelPoint, PixelPoint]


Unresolved = Annotated[
    Literal["refuse", "leave-out"],
    Field(description="what to do with strokes the bit cannot make, even after repair"),
]
SheetName = Literal["a3", "a4", "a5", "letter", "legal", "tabloid", "none"]
Sheet = SheetName | SheetSize | KnownLength
Merge = Annotated[
    bool, Field(description="make one picture of all photos, without the glare and shade of each")
]
Tones = Annotated[
    int, Field(ge=2, le=4, description="ink and paper; or 3 or 4 to group greys into tiers, paper being one")
]


# ------------------------------------------------------------------------------ single stages


class IntakeInputs(WireModel):
    """Photos of one sheet."""

    photos: Annotated[list[Link], Field(min_length=1, max_length=8)]
    sheet: Sheet = "a4"
    merge: Merge = False
    tones: Tones = 2
    touch_up: TouchUpSteps = []


class TracingInputs(WireModel):
    """A two-tone picture or an SVG drawing."""

    image: Link
    millimetres_per_pixel: Annotated[float, Field(gt=0, le=10)] | None = None
    tolerance: Annotated[PositiveLength, Field(ge=0.001, le=1.0)] = 0.02
    touch_up: TouchUpSteps = []


class Repair(WireModel):
    """How a repair treats walls, and how far it may go."""

    walls: Annotated[
        Literal["keep", "open", "fuse"],
        Field(description="what becomes of walls too thin to stand: left, cut wider, or filled"),
    ] = "keep"
    at_most: Annotated[PositiveLength, Field(description="no outline moves farther")] | None = None


RepairChoice = Annotated[
    bool | Repair, Field(description="thicken strokes too thin to show; true is the same as {walls: keep}")
]
ViewingDistance = Annotated[PositiveLength, Field(description="from where lettering shall be read")]


class ResolvabilityInputs(WireModel):
    """Art, or a whole design, and the bit that shall cut it."""

    art: Link | None = None
    design: Link | None = None
    scale: Annotated[float, Field(gt=0, le=1000)] | None = None
    width: PositiveLength | None = None
    bit: Bit
    depth_limit: PositiveLength
    material: Name = "basswood"
    machine: Name = "bench-600"
    repair: RepairChoice = False
    unresolved: Unresolved = "leave-out"
    viewing_distance: ViewingDistance | None = None

    @model_validator(mode="after")
    def _one_drawing(self) -> Self:
        if (self.art is None) == (self.design is None):
            raise ValueError("give either 'art' or 'design'")
        if self.scale is not None and self.width is not None:
            raise ValueError("give 'scale' or 'width', not both")
        if self.design is not None and (self.scale is not None or self.width is not None):
            raise ValueError("a design has its size already: leave out 'scale' and 'width'")
        return self


class Board(WireModel):
    """The finished board."""

    width: Annotated[PositiveLength, Field(ge=10, le=3000)]
    height: Annotated[PositiveLength, Field(ge=10, le=3000)]
    thickness: Annotated[PositiveLength, Field(le=200)]
    measured: Annotated[
        PositiveLength | None,
        Field(le=200, description="thickness by calipers, if it was measured: everything is cut by it"),
    ] = None
    material: Name
    corner_radius: Length = 0.0

    @property
    def cut_thickness(self) -> float:
        """What everything is cut by, mm: the measured thickness where it is known."""
        return self.thickness if self.measured is None else self.measured

    @model_validator(mode="after")
    def _corners_fit(self) -> Self:
        if 2 * self.corner_radius > min(self.width, self.height):
            raise ValueError(
                f"a corner radius of {self.corner_radius:g} mm is more than half of the shorter side, "
                f"{min(self.width, self.height):g} mm: lower 'corner_radius'"
            )
        return self


class Place(WireModel):
    """Where the middle of the art's ink lies, from the board's lower left corner, and how large it is."""

    x: AnyLength
    y: AnyLength
    width: PositiveLength | None = None
    height: PositiveLength | None = None
    turn: Annotated[Angle, Field(description="anticlockwise")] = 0.0

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.width is not None and self.height is not None:
            raise ValueError("give 'width' or 'height', not both: art keeps its proportions")
        return self


class Art(WireModel):
    """One picture: photos of a sheet, a two-tone image, or an SVG drawing."""

    photos: Annotated[list[Link], Field(min_length=1, max_length=8)] | None = None
    image: Link | None = None
    svg: Link | None = None
    sheet: Sheet = "a4"
    merge: Merge = False  # of photos
    millimetres_per_pixel: Annotated[float, Field(gt=0, le=10)] | None = None
    tolerance: Annotated[PositiveLength, Field(ge=0.001, le=1.0)] = 0.02
    touch_up: TouchUpSteps = []
    place: Place | None = None  # the middle of the board at true size, if not given

    @model_validator(mode="after")
    def _one_source(self) -> Self:
        if sum(source is not None for source in (self.photos, self.image, self.svg)) != 1:
            raise ValueError("give exactly one of 'photos', 'image' and 'svg'")
        if self.merge and self.photos is None:
            raise ValueError("'merge' makes one picture of several photos: give 'photos' or leave it out")
        return self


class Lettering(WireModel):
    """A line of text, or several with line breaks."""

    text: Annotated[str, Field(min_length=1, max_length=200)]
    font: Name = "source-serif-bold"
    cap_height: Annotated[PositiveLength, Field(ge=2, le=1000)]
    x: AnyLength
    y: AnyLength
    align: Literal["left", "centre", "right"] = "centre"
    line_spacing: Annotated[float, Field(ge=0.8, le=5, description="baselines apart, in cap heights")] = 1.6
    letter_spacing: AnyLength = 0.0
    turn: Angle = 0.0


class Border(WireModel):
    """A line all round, parallel to the board's edge."""

    inset: Annotated[PositiveLength, Field(description="from the board's edge to the line's outer side")]
    width: PositiveLength


class Hole(WireModel):
    """A hole right through; place of its centre."""

    x: AnyLength
    y: AnyLength
    diameter: PositiveLength


class RectangleOpening(WireModel):
    """A rectangle with round corners, right through; place of its middle."""

    shape: Literal["rectangle"]
    x: AnyLength
    y: AnyLength
    width: PositiveLength
    height: PositiveLength
    corner_radius: Annotated[PositiveLength, Field(description="no less than the radius of the bit")]
    turn: Angle = 0.0

    @model_validator(mode="after")
    def _corners_fit(self) -> Self:
        if 2 * self.corner_radius > min(self.width, self.height):
            raise ValueError("'corner_radius' is more than half of the shorter side")
        return self


class SlotOpening(WireModel):
    """A slot with round ends, right through; place of its middle."""

    shape: Literal["slot"]
    x: AnyLength
    y: AnyLength
    length: Annotated[PositiveLength, Field(description="over its round ends")]
    width: PositiveLength
    turn: Angle = 0.0

    @model_validator(mode="after")
    def _longer_than_wide(self) -> Self:
        if self.length <= self.width:
            raise ValueError("a slot is longer than it is wide: a round one is among 'holes'")
        return self


class KeyholeOpening(WireModel):
    """A keyhole to hang the board on a screw, right through; place of its head's middle, neck upwards."""

    shape: Literal["keyhole"]
    x: AnyLength
    y: AnyLength
    head: Annotated[PositiveLength, Field(description="diameter that the screw's head goes through")]
    neck: Annotated[PositiveLength, Field(description="width that holds the screw's shank")]
    length: Annotated[PositiveLength, Field(description="from the head's middle to the neck's end")]
    turn: Angle = 0.0

    @model_validator(mode="after")
    def _is_a_keyhole(self) -> Self:
        if self.neck >= self.head:
            raise ValueError("the neck of a keyhole is narrower than its head: lower 'neck'")
        if self.length <= self.head / 2 + self.neck / 2:
            raise ValueError("the neck ends within the head: make 'length' more than half of both together")
        return self


Opening = Annotated[RectangleOpening | SlotOpening | KeyholeOpening, Field(discriminator="shape")]


class Raised(WireModel):
    """Art, lettering and border stand raised: the ground around them is cut, not they themselves."""

    margin: Annotated[PositiveLength, Field(description="from the board's edge to the ground's")]


class LayoutInputs(WireModel):
    """A sign order without what concerns the machine."""

    board: Board
    art: Annotated[list[Art], Field(max_length=16)] = []
    lettering: Annotated[list[Lettering], Field(max_length=64)] = []
    border: Border | None = None
    holes: Annotated[list[Hole], Field(max_length=256)] = []
    openings: Annotated[list[Opening], Field(max_length=64)] = []
    raised: Raised | None = None  # the art itself is cut, if not given

    @model_validator(mode="after")
    def _something_to_cut(self) -> Self:
        if not (self.art or self.lettering or self.border):
            raise ValueError("nothing to carve: give 'art', 'lettering' or a 'border'")
        return self


class Incise(WireModel):
    """Cut the ink as V-grooves."""

    bit: Bit
    depth_limit: PositiveLength
    pattern: Annotated[Name, Field(description="along the middle of strokes, or one of a plug-in's")] = (
        "middles"
    )


class Clear(WireModel):
    """Take ink too wide for the depth limit down to a flat floor."""

    bit: Bit
    finer: Annotated[
        list[Bit],
        Field(max_length=3, description="for what the bit before did not reach, each thinner than the last"),
    ] = []
    pattern: Annotated[
        Name, Field(description="rings along the walls, lines along the grain, or one of a plug-in's")
    ] = "rings"
    grain: Annotated[Angle, Field(description="direction of the grain, from the board's width")] = 0.0
    direction: Literal["climb", "conventional"] = "climb"
    pass_depth: Annotated[
        PositiveLength | None, Field(description="deepest single pass; left out: by material and bit")
    ] = None
    engagement: Annotated[
        Angle | None,
        Field(
            ge=60,
            le=180,
            description="how much of the bit's edge may be in the wood at full feed; "
            "where it is more, the feed falls in proportion; left out: feeds stay full",
        ),
    ] = None


class Drilling(WireModel):
    """Drill the holes; without it they are milled with the cutout's bit."""

    bit: Bit
    peck: Annotated[
        PositiveLength | None, Field(description="deepest at a time before the bit is lifted out of the hole")
    ] = None
    dwell: Annotated[
        float, Field(ge=0, le=10, description="seconds that the bit stands at the bottom of a drilled hole")
    ] = 0.0


class Tabs(WireModel):
    """Bridges that keep the board in its blank."""

    count: Annotated[
        int | None,
        Field(ge=0, le=64, description="left out: by the outline's length and the tabs' section"),
    ] = None
    width: PositiveLength = 6.0
    height: PositiveLength = 2.0
    shape: Annotated[
        Literal["square", "sloped"],
        Field(description="sloped: the bit rises and falls along a slope, without a stop"),
    ] = "square"


class Cutout(WireModel):
    """Cut the board free."""

    bit: Bit
    past: Annotated[Length, Field(le=5, description="deeper than the board is thick")] = 0.3
    bed: Annotated[
        PositiveLength | None, Field(description="thickness of the spoilboard under the board, if known")
    ] = None
    tabs: Tabs = Tabs()
    side: Annotated[
        Literal["outside", "on", "inside"],
        Field(description="where the bit runs: outside, the board keeps its size"),
    ] = "outside"
    direction: Literal["climb", "conventional"] = "climb"
    pass_depth: Annotated[
        PositiveLength | None, Field(description="deepest single pass; left out: by material and bit")
    ] = None
    last_layer: Annotated[
        Length, Field(description="left under the whole outline for a thin last pass; 0: equal passes")
    ] = 0.0
    wall_allowance: Annotated[
        Length, Field(le=3, description="left on the wall for a last round at full depth; 0: no such round")
    ] = 0.0

    @model_validator(mode="after")
    def _stays_in_the_bed(self) -> Self:
        if self.bed is not None and self.past >= self.bed:
            raise ValueError(
                f"{self.past:g} mm past the board goes through a bed of {self.bed:g} mm: "
                "lower 'past' or lay a thicker spoilboard"
            )
        return self


class KeepOut(WireModel):
    """Where a clamp stands, in the board's own frame; beside the board places are negative or beyond it."""

    left: AnyLength
    bottom: AnyLength
    right: AnyLength
    top: AnyLength
    height: Annotated[PositiveLength, Field(le=100, description="over the board's face")] = 20.0

    @model_validator(mode="after")
    def _has_a_size(self) -> Self:
        if self.left >= self.right or self.bottom >= self.top:
            raise ValueError(
                f"a zone from x {self.left:g} to {self.right:g} and y {self.bottom:g} to {self.top:g} mm has "
                "no size: 'right' must be more than 'left', and 'top' more than 'bottom'"
            )
        return self


KeepOuts = Annotated[list[KeepOut], Field(max_length=32)]


class ToolpathsInputs(WireModel):
    """A design, and how to cut it."""

    design: Link
    incise: Incise
    clear: Clear | None = None
    cutout: Cutout | None = None
    drill: Drilling | None = None
    keep_out: KeepOuts = []
    material: Name | None = None  # the design's own, if not given
    machine: Name = "bench-600"


class MachineCodeInputs(WireModel):
    """Paths, and who shall read them."""

    paths: Link
    machine: Name = "bench-600"
    dialect: Name | DialectForm = "metric-lines"


class Preview(WireModel):
    """What the pictures of the result show."""

    paint: Annotated[
        str | None,
        Field(
            pattern=r"^#[0-9A-Fa-f]{6}$",
            description="sRGB colour of all that is carved, as '#1f4e79'; left out: bare",
        ),
    ] = None
    oblique: Annotated[bool, Field(description="also draw the board seen at a slant")] = False


class VerificationInputs(WireModel):
    """Programs to be read back and cut in simulation.

    ``programs`` is a list of links, each with its bit, in the order in which
    they run; or one link to the ``programs`` list that ``machine-code`` made.
    """

    programs: Annotated[list[ProgramLink], Field(min_length=1, max_length=32)] | Link
    board: Board
    machine: Name = "bench-600"
    design: Link | None = None
    incise: Incise | None = None  # with a design: the bit and limit it shall be cut by
    cutout: Cutout | None = None  # with it: what the bed and the tabs allow
    drill: Drilling | None = None  # with it: how deep a drill may go in one stroke
    keep_out: KeepOuts = []
    waivers: Waivers = []
    cell: Annotated[PositiveLength, Field(ge=0.02, le=1.0)] | None = None
    preview: Preview = Preview()

    @model_validator(mode="after")
    def _design_needs_incise(self) -> Self:
        if self.design is not None and self.incise is None:
            raise ValueError("a 'design' is compared at the bit and limit of 'incise': give it too")
        return self


class SheetLook(WireModel):
    """The page beside the machine: its paper, and the units of its figures."""

    paper: Literal["a4", "letter"] = "a4"
    units: Literal["mm", "in"] = "mm"


# ------------------------------------------------------------------------------ the whole job


class SignOrder(LayoutInputs):
    """The typed request for one sign."""

    incise: Incise
    clear: Clear | None = None
    cutout: Cutout | None = None
    drill: Drilling | None = None
    keep_out: KeepOuts = []
    waivers: Waivers = []
    machine: Name = "bench-600"
    dialect: Name | DialectForm = "metric-lines"
    repair: RepairChoice = True
    unresolved: Unresolved = "refuse"
    viewing_distance: ViewingDistance | None = None
    preview: Preview = Preview()
    setup_sheet: SheetLook = SheetLook()

    @model_validator(mode="after")
    def _depths_agree(self) -> Self:
        if self.incise.depth_limit >= self.board.cut_thickness:
            raise ValueError(
                f"the depth limit of {self.incise.depth_limit:g} mm would go through a board of "
                f"{self.board.cut_thickness:g} mm: lower 'incise/depth_limit' or take a thicker board"
            )
        tabs = self.cutout.tabs if self.cutout else None
        if tabs and tabs.count != 0 and tabs.height >= self.board.cut_thickness:
            raise ValueError(
                "tabs as high as the board is thick leave nothing to cut: lower 'cutout/tabs/height'"
            )
        if self.openings and not (self.cutout or self.clear):
            raise ValueError("openings need an end mill: give 'cutout' or 'clear'")
        if self.holes and not (self.drill or self.cutout or self.clear):
            raise ValueError("holes need a bit: give 'drill', 'cutout' or 'clear'")
        return self


class BundleInputs(WireModel):
    """What goes into a bundle; an inner step of ``sign``, fed by the steps before it."""

    order: dict[str, Any]
    files: dict[str, Link]


class EchoInputs(WireModel):
    """Give back what was sent, after a pause: a probe for queue and callbacks."""

    message: Annotated[str, Field(max_length=10_000)] = ""
    pause: Annotated[float, Field(ge=0, le=60, description="seconds")] = 0.0
