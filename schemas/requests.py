"""What may be asked of each process: the bodies of ``inputs``."""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from schemas.base import Name, WireModel
from schemas.bits import BitOrBits
from schemas.boards import Board, Border, Hanger, Hole, Lettering, Opening, Raised
from schemas.cuts import Clear, Cutout, Drilling, Incise, KeepOuts, PalerLimits, refuse_unordered
from schemas.dialects import DialectForm
from schemas.drawings import PHOTOS, Art, Merge, Photos, PixelSize, Sheet, Tolerance, Tones
from schemas.links import Link, ProgramLink
from schemas.looks import Preview, SheetLook
from schemas.quantities import Millimetres, PositiveLength
from schemas.touch_up import TouchUpSteps
from schemas.waivers import Waivers

Machine = Annotated[Name, Field(description="a name of GET /machines")]
Dialect = Annotated[
    Name | DialectForm,
    Field(description="how programs are written: a name of GET /dialects, or said in full"),
]
Described = Annotated[Board, Field(description="the finished board")]
Design = Annotated[Link, Field(description="a design.json of 'layout' or 'resolvability'")]
Grooves = Annotated[Incise, Field(description="the V-grooves: their bit and how deep they may be")]
Clearing = Annotated[
    Clear | None, Field(description="floors, where ink is wider than its groove may be deep")
]
CuttingOut = Annotated[Cutout | None, Field(description="left out: the board is not cut free")]
Holes = Annotated[
    Drilling | None, Field(description="left out: holes are milled with the cutout's bit, or a clearing one")
]
Pictures = Annotated[Preview, Field(description="what the pictures of the result show")]
Unresolved = Annotated[
    Literal["refuse", "leave-out"],
    Field(description="what to do with strokes the bit cannot make, even after repair"),
]


FewerTones = Annotated[
    Literal["tell", "refuse"],
    Field(description="what to do where fewer tones can be told apart than are asked for"),
]


class IntakeInputs(WireModel):
    """Photos of one sheet."""

    photos: Annotated[Photos, Field(description=PHOTOS)]
    sheet: Sheet = "a4"
    merge: Merge = False
    tones: Tones = 2
    fewer_tones: FewerTones = "tell"
    touch_up: TouchUpSteps = []


class TracingInputs(WireModel):
    """A two-tone picture or an SVG drawing."""

    image: Annotated[Link, Field(description="a picture as intake makes it, or an SVG")]
    millimetres_per_pixel: PixelSize = None
    tolerance: Tolerance = 0.02
    touch_up: TouchUpSteps = []


class Repair(WireModel):
    """How a repair treats walls, and how far it may go."""

    walls: Annotated[
        Literal["keep", "open", "fuse"],
        Field(description="what becomes of walls too thin to stand: left, cut wider, or filled"),
    ] = "keep"
    at_most: Annotated[PositiveLength | None, Field(description="no outline moves farther")] = None


RepairChoice = Annotated[
    bool | Repair, Field(description="thicken strokes too thin to show; true is the same as {walls: keep}")
]


ViewingDistance = Annotated[
    Annotated[float, Millimetres(ge=200)] | None,
    Field(description="from where lettering shall be read, '8 m'; lettering too small for it is told"),
]


class ResolvabilityInputs(WireModel):
    """Art, or a whole design, and the bit that shall cut it."""

    art: Annotated[Link | None, Field(description="an SVG, such as tracing makes")] = None
    design: Annotated[Design | None, Field(description="or a whole design.json of 'layout'")] = None
    scale: Annotated[
        Annotated[float, Field(gt=0, le=1000)] | None, Field(description="times the art's own size")
    ] = None
    width: Annotated[PositiveLength | None, Field(description="or how wide the art's ink gets")] = None
    bit: BitOrBits
    depth_limit: Annotated[PositiveLength, Field(description="no groove is deeper than this")]
    paler_limits: PalerLimits = None  # of a design in several tones
    material: Annotated[Name, Field(description="a name of GET /materials")] = "basswood"
    machine: Machine = "bench-600"
    repair: RepairChoice = False
    unresolved: Unresolved = "leave-out"
    viewing_distance: ViewingDistance = None

    @model_validator(mode="after")
    def _one_drawing(self) -> Self:
        if (self.art is None) == (self.design is None):
            raise ValueError("give either 'art' or 'design'")
        if self.scale is not None and self.width is not None:
            raise ValueError("give 'scale' or 'width', not both")
        if self.design is not None and (self.scale is not None or self.width is not None):
            raise ValueError("a design has its size already: leave out 'scale' and 'width'")
        refuse_unordered(self.paler_limits, self.depth_limit)
        return self


class LayoutInputs(WireModel):
    """A sign order without what concerns the machine."""

    board: Described
    art: Annotated[list[Art], Field(max_length=16, description="drawings, from photos, pictures or SVG")] = []
    lettering: Annotated[list[Lettering], Field(max_length=64, description="text set in a font")] = []
    border: Annotated[Border | None, Field(description="a line all round, inside the edge")] = None
    holes: Annotated[list[Hole], Field(max_length=256, description="round ones, right through")] = []
    openings: Annotated[
        list[Opening], Field(max_length=64, description="rectangles, slots and keyholes, right through")
    ] = []
    hangers: Annotated[
        list[Hanger], Field(max_length=16, description="blind keyhole slots, cut from behind before all else")
    ] = []
    raised: Annotated[
        Raised | None, Field(description="art stands and the ground is cut; left out: art itself is cut")
    ] = None

    @model_validator(mode="after")
    def _something_to_cut(self) -> Self:
        if not (self.art or self.lettering or self.border):
            raise ValueError("nothing to carve: give 'art', 'lettering' or a 'border'")
        return self

    @model_validator(mode="after")
    def _tones_agree(self) -> Self:
        counts = sorted({art.tones_count for art in self.art} - {2})
        if len(counts) > 1:
            raise ValueError(
                "art in 3 tones and art in 4 on one board: which depth is whose is not known; give all the "
                "same, or two tones, which count as the darkest"
            )
        if counts and self.raised:
            raise ValueError(
                "'raised' cuts the ground and leaves the art standing, so its tones have no depth: "
                "leave out 'raised', or the tones"
            )
        return self

    @property
    def tones_count(self) -> int:
        """Of the art in most tones, paper among them."""
        return max((art.tones_count for art in self.art), default=2)


class ToolpathsInputs(WireModel):
    """A design, and how to cut it."""

    design: Design
    incise: Grooves
    clear: Clearing = None
    cutout: CuttingOut = None
    drill: Holes = None
    keep_out: KeepOuts = []
    material: Annotated[
        Name | None, Field(description="a name of GET /materials; left out: the design's own")
    ] = None
    machine: Machine = "bench-600"


class MachineCodeInputs(WireModel):
    """Paths, and who shall read them."""

    paths: Annotated[Link, Field(description="a paths.json of 'toolpaths'")]
    machine: Machine = "bench-600"
    dialect: Dialect = "metric-lines"


class VerificationInputs(WireModel):
    """Programs to be read back and cut in simulation.

    ``programs`` is a list of links, each with its bit, in the order in which
    they run; or one link to the ``programs`` list that ``machine-code`` made.
    """

    programs: Annotated[
        Annotated[list[ProgramLink], Field(min_length=1, max_length=32)] | Link,
        Field(description="each with its bit, in the order in which they run; or programs.json of ours"),
    ]
    board: Described
    machine: Machine = "bench-600"
    design: Annotated[
        Design | None, Field(description="what they shall make; left out: only limits are checked")
    ] = None
    incise: Annotated[
        Incise | None, Field(description="with a design: the bit and the limit it shall be cut by")
    ] = None
    cutout: Annotated[Cutout | None, Field(description="what the bed and the tabs allow")] = None
    drill: Annotated[
        Drilling | None, Field(description="how deep a drill may go before it is lifted out")
    ] = None
    keep_out: KeepOuts = []
    waivers: Waivers = []
    cell: Annotated[
        Annotated[float, Millimetres(ge=0.02, le=1.0)] | None,
        Field(description="of the simulation's grid; left out: by the board's size"),
    ] = None
    preview: Pictures = Preview()

    @model_validator(mode="after")
    def _design_needs_incise(self) -> Self:
        if self.design is not None and self.incise is None:
            raise ValueError("a 'design' is compared at the bit and limit of 'incise': give it too")
        return self


class SignOrder(LayoutInputs):
    """The typed request for one sign."""

    incise: Grooves
    clear: Clearing = None
    cutout: CuttingOut = None
    drill: Holes = None
    keep_out: KeepOuts = []
    waivers: Waivers = []
    machine: Machine = "bench-600"
    dialect: Dialect = "metric-lines"
    repair: RepairChoice = True
    unresolved: Unresolved = "refuse"
    viewing_distance: ViewingDistance = None
    preview: Pictures = Preview()
    setup_sheet: Annotated[SheetLook, Field(description="the page beside the machine")] = SheetLook()

    @model_validator(mode="after")
    def _depths_agree(self) -> Self:
        if self.incise.depth_limit >= self.board.cut_thickness:
            raise ValueError(
                f"the depth limit of {self.incise.depth_limit:g} mm would go through a board of "
                f"{self.board.cut_thickness:g} mm: lower 'incise/depth_limit' or take a thicker board"
            )
        paler = len(self.incise.paler_limits or [])
        if paler and paler != self.tones_count - 2:
            raise ValueError(
                f"'incise/paler_limits' has {paler} depth limits, and the art has {self.tones_count - 2} "
                "tones paler than its darkest: give one for each, or leave them out"
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

    message: Annotated[str, Field(max_length=10_000, description="what is given back")] = ""
    pause: Annotated[float, Field(ge=0, le=60, description="seconds")] = 0.0
