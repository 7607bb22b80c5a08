"""The processes: their inputs, their outputs, and the pool each one runs on.

Everything that lists processes (REST routes, command line, workers) reads this
one table. Outputs are files; their keys here are the names in a results document.
"""

from dataclasses import dataclass, field
from enum import StrEnum

from schemas import requests
from schemas.base import WireModel


class Pool(StrEnum):
    """The worker pools; each has an interactive and a bulk queue."""

    TRACING = "tracing"
    RESOLVABILITY = "resolvability"
    CODING = "coding"


PNG = "image/png"
SVG = "image/svg+xml"
JSON = "application/json"
PDF = "application/pdf"
ZIP = "application/zip"
GLB = "model/gltf-binary"
RS274 = "text/x-rs274"
TEXT = "text/plain"


@dataclass(frozen=True, slots=True)
class Output:
    """One output: the file's name and its media type."""

    file: str
    media_type: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Process:
    """One process of the contract."""

    id: str
    version: str  # part of every cache key: raise it whenever the same inputs would give other bytes
    title: str
    description: str
    inputs: type[WireModel]
    pool: Pool | None  # None: made of steps of other processes
    outputs: dict[str, Output] = field(default_factory=dict)
    inner: bool = False  # a step only, not offered to clients
    reusable: bool = True  # equal inputs: what was made before may be given again


FOUND = Output("found.png", PNG, "the photo with what was found, and the drawing squared up")
INTAKE_REPORT = Output("intake.json", JSON, "what was found in the photos")
TRACING_REPORT = Output("tracing.json", JSON, "what was traced, repaired and left out")
ART = Output("art.svg", SVG, "the art's outlines, 1 user unit = 1 mm")
VERDICTS = Output("verdicts.json", JSON, "what each stroke and wall will be like")
OVERLAY = Output("overlay.png", PNG, "the verdicts drawn over the art")
BEFORE_AFTER = Output("before-after.png", PNG, "what a repair changed most, as drawn and as repaired")
DESIGN = Output("design.json", JSON, "the design: board, ink, holes, elements")
DESIGN_DRAWING = Output("design.svg", SVG, "the design, drawn")
LAYOUT_REPORT = Output("layout.json", JSON, "what was remarked while reading and placing the art")
PATHS = Output("paths.json", JSON, "every cut path")
PATHS_DRAWING = Output("paths.svg", SVG, "the cut paths, drawn")
PATHS_REPORT = Output("toolpaths.json", JSON, "what was remarked while planning")
PROGRAM_LIST = Output("programs.json", JSON, "the programs in order, each with its bit")
PROOF = Output("proof.json", JSON, "what was checked, measured and found")
PREVIEW = Output("preview.png", PNG, "the board as it will look")
OBLIQUE = Output("preview-oblique.png", PNG, "the board seen at a slant, where the order asks for it")
CLOSE_UP = Output("preview-close-up.png", PNG, "the finest detail from near by, where the order asks for it")
SECTION = Output("preview-section.png", PNG, "the deepest groove cut through, where the order asks for it")
BEHIND = Output("preview-back.png", PNG, "the back as it will look, where it is cut")
DEPTH_KEY = Output("depth-key.png", PNG, "depth in colours, with the scale in mm and inches")
DEPTH_MAP = Output("depth.png", PNG, "depth, 16 bit; scale in the proof")
RELIEF = Output("relief.glb", GLB, "the carved face as a mesh")
SETUP_SHEET = Output("setup-sheet.pdf", PDF, "the page beside the machine")
BUNDLE = Output("bundle.zip", ZIP, "everything, with digests")
ORDER = Output("order.json", JSON, "the order as it was understood")

PROGRAM_FOLDER = "programs/"  # programs have names of their own: programs/NN-operation-bit.ngc

PREVIEW_VIEWS = {  # what an order may ask for, and the outputs that it then gets
    "oblique": "preview_oblique",
    "close-up": "preview_close_up",
    "section": "preview_section",
}

_DESIGN_OUTPUTS = {"design": DESIGN, "drawing": DESIGN_DRAWING}

PROCESSES: dict[str, Process] = {
    process.id: process
    for process in (
        Process(
            id="intake",
            version="7",
            title="Photos to a two-tone picture",
            description="Finds the sheet, squares it up, evens the light and tells ink from paper.",
            inputs=requests.IntakeInputs,
            pool=Pool.TRACING,
            outputs={
                "image": Output("image.png", PNG, "ink coverage at a known scale"),
                "image_2": Output("image-2.png", PNG, "of 3 or 4 tones: without the palest"),
                "image_3": Output("image-3.png", PNG, "of 4 tones: the darkest alone"),
                "found": FOUND,
                "report": INTAKE_REPORT,
            },
        ),
        Process(
            id="tracing",
            version="7",
            title="A two-tone picture or an SVG to closed outlines",
            description="Follows the ink's edge between pixels; corners sharp, curves within a tolerance.",
            inputs=requests.TracingInputs,
            pool=Pool.TRACING,
            outputs={"art": ART, "report": TRACING_REPORT},
        ),
        Process(
            id="resolvability",
            version="5",
            title="Can each stroke and wall be cut?",
            description="Measures every stroke and wall against the bit, and repairs what can be repaired.",
            inputs=requests.ResolvabilityInputs,
            pool=Pool.RESOLVABILITY,
            outputs={
                "art": ART,
                "verdicts": VERDICTS,
                "overlay": OVERLAY,
                "before_after": BEFORE_AFTER,
                **_DESIGN_OUTPUTS,
            },
        ),
        Process(
            id="layout",
            version="4",
            title="Art, lettering, border and holes on a board",
            description="Places everything and refuses what does not fit.",
            inputs=requests.LayoutInputs,
            pool=Pool.RESOLVABILITY,
            outputs={**_DESIGN_OUTPUTS, "layout_report": LAYOUT_REPORT},
        ),
        Process(
            id="toolpaths",
            version="4",
            title="A design to cut paths",
            description="Grooves, floors, holes and the cutout, in the order in which they must run.",
            inputs=requests.ToolpathsInputs,
            pool=Pool.CODING,
            outputs={"paths": PATHS, "drawing": PATHS_DRAWING, "report": PATHS_REPORT},
        ),
        Process(
            id="machine-code",
            version="3",
            title="Cut paths to programs",
            description="Writes RS-274 in the dialect of a machine, one program a bit and operation.",
            inputs=requests.MachineCodeInputs,
            pool=Pool.CODING,
            outputs={"programs": PROGRAM_LIST},
        ),
        Process(
            id="verification",
            version="4",
            title="Prove programs",
            description="Reads programs back, cuts them in simulation, compares the result with the design.",
            inputs=requests.VerificationInputs,
            pool=Pool.CODING,
            outputs={
                "proof": PROOF,
                "preview": PREVIEW,
                "preview_back": BEHIND,
                "preview_oblique": OBLIQUE,
                "preview_close_up": CLOSE_UP,
                "preview_section": SECTION,
                "depth_map": DEPTH_MAP,
                "depth_key": DEPTH_KEY,
                "relief": RELIEF,
            },
        ),
        Process(
            id="bundle",
            version="4",
            title="Everything in one file",
            description="The set-up sheet, and the archive with its digests.",
            inputs=requests.BundleInputs,
            pool=Pool.CODING,
            outputs={"setup_sheet": SETUP_SHEET, "bundle": BUNDLE, "order": ORDER},
            inner=True,
        ),
        Process(
            id="sign",
            version="1",
            title="A carved sign, from photos to proven programs",
            description="All stages in order; nothing leaves without a passing proof.",
            inputs=requests.SignOrder,
            pool=None,
            outputs={
                "bundle": BUNDLE,
                "programs": PROGRAM_LIST,
                "proof": PROOF,
                "preview": PREVIEW,
                "preview_back": BEHIND,
                "preview_oblique": OBLIQUE,
                "preview_close_up": CLOSE_UP,
                "preview_section": SECTION,
                "depth_map": DEPTH_MAP,
                "depth_key": DEPTH_KEY,
                "relief": RELIEF,
                "setup_sheet": SETUP_SHEET,
                "verdicts": VERDICTS,
                "overlay": OVERLAY,
                "before_after": BEFORE_AFTER,
                **_DESIGN_OUTPUTS,
                "layout_report": LAYOUT_REPORT,
                "paths": PATHS,
                "paths_drawing": PATHS_DRAWING,
                "paths_report": PATHS_REPORT,
                "art": ART,
                "repaired": Output("repaired.svg", SVG, "all ink of the board after repair"),
                "order": ORDER,
            },
        ),
        Process(
            id="echo",
            version="1",
            title="Give back what was sent",
            description="A probe for the queue: waits, then answers with its own message.",
            inputs=requests.EchoInputs,
            pool=Pool.CODING,
            reusable=False,
            outputs={"message": Output("message.txt", TEXT, "what was sent")},
        ),
    )
}

OFFERED = {name: process for name, process in PROCESSES.items() if not process.inner}
