"""How a request becomes steps, and how steps hand files to each other.

A job is a list of steps, each a process with a pool. A step's inputs may point
at an output of an earlier step, ``{"href": "step:layout/design"}``; before it
runs, such links become artifacts. Both the queue and ``triglyph run`` walk the
same list.
"""

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from schemas.base import WireModel
from schemas.drawings import Art
from schemas.links import artifact_href
from schemas.problems import Problem
from schemas.processes import ART, OFFERED, PREVIEW_VIEWS, PROCESSES, PROGRAM_FOLDER, RS274, Output, Pool
from schemas.requests import LayoutInputs, SignOrder

STEP_HREF = "step:"


class Step(WireModel):
    """One piece of a job: a process and its inputs."""

    id: str
    process: str
    inputs: dict[str, Any]

    @property
    def pool(self) -> Pool:
        pool = PROCESSES[self.process].pool
        if pool is None:
            raise ValueError(f"{self.process} is made of steps and is none itself")
        return pool


Outputs = dict[str, str]
"""What a step left: output name -> artifact digest. Programs keep their whole name, ``programs/…``."""


def steps_of(process: str, inputs: WireModel) -> list[Step]:
    """Return the steps of a validated request, in order.

    Raises:
        KeyError: No such process is offered.
    """
    if isinstance(inputs, SignOrder):
        return _sign_steps(inputs)
    if isinstance(inputs, LayoutInputs):
        return _layout_steps(inputs)
    return [Step(id=process, process=OFFERED[process].id, inputs=_plain(inputs))]


def resolved_inputs(step: Step, outputs: Mapping[str, Outputs]) -> dict[str, Any]:
    """Return the step's inputs with every link to an earlier step replaced by its artifact.

    Args:
        step: The step about to run.
        outputs: What the steps before it left, by step id.

    Raises:
        KeyError: A link leads to an output that no earlier step left.
    """

    def replace(href: str) -> str:
        if not href.startswith(STEP_HREF):
            return href
        earlier, _, output = href.removeprefix(STEP_HREF).partition("/")
        return artifact_href(outputs[earlier][output])

    resolved: dict[str, Any] = replace_hrefs(step.inputs, replace)
    if step.process == "bundle":  # programs are known only now; they go in under their own names
        programs = outputs.get("machine-code", {})
        resolved["files"] |= {
            name: {"href": artifact_href(digest)}
            for name, digest in sorted(programs.items())
            if name.startswith(PROGRAM_FOLDER)
        }
    return resolved


def replace_hrefs(value: Any, replace: Callable[[str], str]) -> Any:
    """Return a JSON value with ``replace`` applied to every ``href``."""
    if isinstance(value, dict):
        return {
            key: replace(item) if key == "href" and isinstance(item, str) else replace_hrefs(item, replace)
            for key, item in value.items()
        }
    if isinstance(value, list):
        return [replace_hrefs(item, replace) for item in value]
    return value


def hrefs_in(value: Any, pointer: str = "") -> Iterator[tuple[str, str]]:
    """Yield (JSON pointer, href) of every link in a JSON value."""
    if isinstance(value, dict):
        for key, item in value.items():
            if key == "href" and isinstance(item, str):
                yield f"{pointer}/href", item
            else:
                yield from hrefs_in(item, f"{pointer}/{key}")
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from hrefs_in(item, f"{pointer}/{index}")


def cache_key(step: Step, resolved: Mapping[str, Any], package_version: str) -> str:
    """Return the digest under which a step's outputs are remembered.

    It covers the process, its version, the package's version and all inputs, files by digest.
    """
    text = json.dumps(
        [step.process, PROCESSES[step.process].version, package_version, resolved],
        sort_keys=True,
        separators=(",", ":"),
    )
    return hashlib.sha256(text.encode()).hexdigest()


def job_outputs(process: str, steps: list[Step], outputs: Mapping[str, Outputs]) -> Outputs:
    """Return a job's results out of what its steps left: the later step wins a name.

    Stages' own reports of ``sign`` and ``layout`` keep their step's name (``art1-report``).
    """
    if PROCESSES[process].pool is not None and len(steps) == 1:
        return dict(outputs.get(steps[0].id, {}))
    results = {
        _result_name(step, name): digest
        for step in steps
        for name, digest in outputs.get(step.id, {}).items()
    }
    if process == "sign" and "bundle" not in results:  # not proven to the end: reports leave, programs do not
        results = {name: digest for name, digest in results.items() if not name.startswith("programs")}
    return results


def output_of(process: str, name: str) -> Output:
    """Return the description of an output by its name in a job's results.

    >>> output_of("sign", "programs/01-incise-vee-90.ngc").media_type
    'text/x-rs274'
    """
    if name.startswith(PROGRAM_FOLDER):
        return Output(name, RS274, "one program")
    known = PROCESSES[process].outputs.get(name)
    if known is not None:
        return known
    if name == "art":  # of a layout: the first art, as in a sign
        return ART
    art, _, rest = name.partition("-")  # art2-art, art1-image, art1-found, art1-intake, art1-tracing_2
    stage, key = {
        "image": ("intake", "image"),
        "image_2": ("intake", "image_2"),
        "image_3": ("intake", "image_3"),
        "found": ("intake", "found"),
        "intake": ("intake", "report"),
        "tracing": ("tracing", "report"),
        "art": ("tracing", "art"),
    }.get(rest) or ("tracing", {"art": "art", "tracing": "report"}[rest.partition("_")[0]])
    described = PROCESSES[stage].outputs[key]
    return Output(f"{art}-{_numbered(described.file, rest)}", described.media_type, described.title)


def _numbered(file: str, name: str) -> str:
    """Return a file's name with the number of the tone that an output's name ends in.

    >>> _numbered("art.svg", "art_2"), _numbered("image-2.png", "image_2")
    ('art-2.svg', 'image-2.png')
    """
    _, _, number = name.partition("_")
    stem, dot, ending = file.rpartition(".")
    return f"{stem}-{number}{dot}{ending}" if number and not stem.endswith(f"-{number}") else file


def in_request(process: str, step: Step, found: Problem) -> Problem:
    """Return a step's problem with its pointers leading into the request that the client sent.

    >>> step = Step(id="art2-intake", process="intake", inputs={})
    >>> _pointer_in_request(step, "/inputs/photos/0")
    '/inputs/art/1/photos/0'
    """
    if PROCESSES[process].pool is not None:
        return found
    errors = [
        error.model_copy(update={"pointer": _pointer_in_request(step, error.pointer)})
        for error in found.errors
    ]
    return found.model_copy(update={"errors": errors})


def _pointer_in_request(step: Step, pointer: str) -> str:
    art, stage, tone = _art_step(step)
    if stage:
        place = f"/inputs/art/{int(art.removeprefix('art')) - 1}"
        if tone and pointer == "/inputs/image" and not step.inputs["image"]["href"].startswith(STEP_HREF):
            return f"{place}/darker/{int(tone) - 2}"
        return place + pointer.removeprefix("/inputs").removeprefix("/image")
    if step.process == "resolvability":
        return _IN_ORDER.get(pointer, pointer)
    return pointer


_IN_ORDER = {
    "/inputs/bit": "/inputs/incise/bit",
    "/inputs/depth_limit": "/inputs/incise/depth_limit",
    "/inputs/paler_limits": "/inputs/incise/paler_limits",
    "/inputs/material": "/inputs/board/material",
}
_OWN_RESULT_NAMES = {
    "resolvability/art": "repaired",
    "toolpaths/drawing": "paths_drawing",
    "toolpaths/report": "paths_report",
}


_DESIGN = {"href": f"{STEP_HREF}resolvability/design"}
_ALWAYS_PACKED = {
    "proof.json": "verification/proof",
    "preview.png": "verification/preview",
    "verdicts.json": "resolvability/verdicts",
    "overlay.png": "resolvability/overlay",
    "design.json": "resolvability/design",
    "design.svg": "resolvability/drawing",
    "depth.png": "verification/depth_map",
    "depth-key.png": "verification/depth_key",
    "relief.glb": "verification/relief",
    "paths.svg": "toolpaths/drawing",
    "layout.json": "layout/layout_report",
    "toolpaths.json": "toolpaths/report",
    "programs.json": "machine-code/programs",
}


def _plain(inputs: WireModel) -> dict[str, Any]:
    return inputs.model_dump(mode="json", exclude_none=True)


def _result_name(step: Step, name: str) -> str:
    art, stage, tone = _art_step(step)
    if not stage:
        return _OWN_RESULT_NAMES.get(f"{step.id}/{name}", name)
    if name == "report":
        return step.id
    if tone:
        return f"{art}-{name}_{tone}"
    if name == "art" and art == "art1":
        return "art"
    return f"{art}-{name}"


def _art_step(step: Step) -> tuple[str, str, str]:
    """Return which art a step is for, its stage, and the number of its tone if it is none but the palest.

    >>> _art_step(Step(id="art1-tracing_2", process="tracing", inputs={}))
    ('art1', 'tracing', '2')
    >>> _art_step(Step(id="layout", process="layout", inputs={}))
    ('layout', '', '')
    """
    art, _, rest = step.id.partition("-")
    stage, _, tone = rest.partition("_")
    return art, stage if stage in ("intake", "tracing") else "", tone


def _art_steps(number: int, art: Art) -> list[Step]:
    name = f"art{number}"
    plain = _plain(art)
    steps = []
    images = [plain.get("image") or plain.get("svg"), *plain.get("darker", [])]
    if art.photos is not None:
        taken_in = {key: plain[key] for key in ("photos", "sheet", "merge")}
        if art.tones_count > 2:
            taken_in |= {"tones": art.tones, "fewer_tones": "refuse"}
        steps.append(Step(id=f"{name}-intake", process="intake", inputs=taken_in))
        images = [{"href": f"{STEP_HREF}{name}-intake/image{ending}"} for ending in _tone_endings(art)]
    for ending, image in zip(_tone_endings(art), images, strict=True):
        tracing = {"image": image, "tolerance": plain["tolerance"]}
        if art.millimetres_per_pixel is not None:
            tracing["millimetres_per_pixel"] = art.millimetres_per_pixel
        if art.touch_up:
            tracing["touch_up"] = plain["touch_up"]
        steps.append(Step(id=f"{name}-tracing{ending}", process="tracing", inputs=tracing))
    return steps


def _tone_endings(art: Art) -> list[str]:
    """Return what the names of steps and outputs end in, for each tone but paper, the palest first."""
    return ["", *(f"_{number}" for number in range(2, art.tones_count))]


def _layout_steps(order: LayoutInputs) -> list[Step]:
    steps = [step for number, art in enumerate(order.art, 1) for step in _art_steps(number, art)]
    plain = _plain(order)
    wanted = {key: plain[key] for key in LayoutInputs.model_fields if key in plain}
    wanted["art"] = [
        {"svg": {"href": f"{STEP_HREF}art{number}-tracing/art"}}
        | (
            {"darker": [{"href": f"{STEP_HREF}art{number}-tracing{ending}/art"} for ending in darker]}
            if (darker := _tone_endings(art)[1:])
            else {}
        )
        | ({"place": _plain(art.place)} if art.place else {})
        for number, art in enumerate(order.art, 1)
    ]
    return [*steps, Step(id="layout", process="layout", inputs=wanted)]


def _grain(order: SignOrder) -> dict[str, float]:
    """How the pictures' grain runs: as floors are cleared along it, where the order does not say."""
    if order.preview.grain is None and order.clear is not None and order.clear.pattern == "lines":
        return {"grain": order.clear.grain}
    return {}


def _sign_steps(order: SignOrder) -> list[Step]:
    plain = _plain(order)
    cutting = {key: plain[key] for key in ("incise", "clear", "cutout", "drill", "keep_out") if key in plain}
    planned = Step(
        id="toolpaths",
        process="toolpaths",
        inputs={"design": _DESIGN, "machine": order.machine} | cutting,
    )
    written = Step(
        id="machine-code",
        process="machine-code",
        inputs={
            "paths": {"href": f"{STEP_HREF}toolpaths/paths"},
            "machine": order.machine,
            "dialect": plain["dialect"],
        },
    )
    return [
        *_layout_steps(order),
        _examined(order, plain),
        planned,
        written,
        _proven(order, plain),
        _packed(order, plain),
    ]


def _examined(order: SignOrder, plain: dict[str, Any]) -> Step:
    return Step(
        id="resolvability",
        process="resolvability",
        inputs={
            "design": {"href": f"{STEP_HREF}layout/design"},
            "bit": plain["incise"]["bit"],
            "depth_limit": plain["incise"]["depth_limit"],
            "material": order.board.material,
            "machine": order.machine,
            "repair": plain["repair"],
            "unresolved": order.unresolved,
        }
        | ({"paler_limits": order.incise.paler_limits} if order.incise.paler_limits else {})
        | ({"viewing_distance": order.viewing_distance} if order.viewing_distance else {}),
    )


def _proven(order: SignOrder, plain: dict[str, Any]) -> Step:
    return Step(
        id="verification",
        process="verification",
        inputs={
            "programs": {"href": f"{STEP_HREF}machine-code/programs"},
            "board": plain["board"],
            "machine": order.machine,
            "design": _DESIGN,
            "incise": plain["incise"],
            "keep_out": plain["keep_out"],
            "waivers": plain["waivers"],
            "preview": plain["preview"] | _grain(order),
        }
        | {key: plain[key] for key in ("cutout", "drill") if key in plain},
    )


def _packed(order: SignOrder, plain: dict[str, Any]) -> Step:
    return Step(
        id="bundle",
        process="bundle",
        inputs={
            "order": plain,
            "files": {name: {"href": STEP_HREF + place} for name, place in _packed_files(order).items()},
        },
    )


def _packed_files(order: SignOrder) -> dict[str, str]:
    """Return what goes into the bundle beside the programs: names there, and the outputs of steps."""
    files = dict(_ALWAYS_PACKED)
    if order.repair:
        files["before-after.png"] = "resolvability/before_after"
    if order.hangers:
        files["preview-back.png"] = "verification/preview_back"
    for view in order.preview.views:
        output = PREVIEW_VIEWS[view]
        files[PROCESSES["verification"].outputs[output].file] = f"verification/{output}"
    for number, art in enumerate(order.art, 1):
        stem = "art" if number == 1 else f"art{number}"
        for ending in _tone_endings(art):
            tone = ending.replace("_", "-tone-")
            files[f"{stem}{tone}.svg"] = f"art{number}-tracing{ending}/art"
            files[f"art{number}{tone}-tracing.json"] = f"art{number}-tracing{ending}/report"
        if art.photos is not None:
            files[f"art{number}-intake.json"] = f"art{number}-intake/report"
            files[f"art{number}-found.png"] = f"art{number}-intake/found"
    return files
