"""The stages by name, each from validated words to files. What they compute is in the rooms below."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from schemas import requests
from workers.pipeline.cutting_stages import machine_code, pack, toolpaths
from workers.pipeline.design_stages import layout, resolvability
from workers.pipeline.drawing_stages import intake, tracing
from workers.pipeline.outcome import Files, Read
from workers.pipeline.proof_stage import verification
from workers.values.progress import Reporter


def echo(inputs: requests.EchoInputs, _read: Read, report: Reporter) -> Files:
    """The message itself, after the pause."""
    end_s = time.monotonic() + inputs.pause
    while (left_s := end_s - time.monotonic()) > 0:
        report(1 - left_s / inputs.pause, "pausing")
        time.sleep(min(left_s, 0.1))
    return {"message": inputs.message.encode()}


STAGES: dict[str, Callable[[Any, Read, Reporter], Files]] = {
    "intake": intake,
    "tracing": tracing,
    "layout": layout,
    "resolvability": resolvability,
    "toolpaths": toolpaths,
    "machine-code": machine_code,
    "verification": verification,
    "bundle": pack,
    "echo": echo,
}
