"""What may be asked of each process: the bodies of ``inputs``."""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from schemas.base import Name, WireModel
from schemas.bits import BitOrBits
from schemas.boards import Board, Border, Hole, Lettering, Opening, Raised
from schemas.cuts import Clear, Cutout, Drilling, Incise, KeepOuts
from schemas.dialects import DialectForm
from schemas.drawings import Art, Merge, Sheet, Tones
from schemas.links import Link, ProgramLink
from schemas.looks import Preview, SheetLook
from schemas.quantities import PositiveLength
from schemas.touch_up import TouchUpSteps
from schemas.waivers import Waivers

Unresolved = Annotated[
    Literal["refuse", "leave-out"],
    Field(description="what to do with strokes the bit cannot make, even after repair"),
]


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
    bit: BitOrBits
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
