"""Waivers: gates that an order lets pass, each with its reason."""

from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, Field

from schemas.base import WireModel

Gate = Literal[
    "chip-too-thin",
    "cuts-beside-board",
    "edge-left-standing",
    "feed-above-machine",
    "loose-part",
    "not-cut-free",
    "nothing-cut",
    "outside-envelope",
    "overcut",
    "plunge-above-machine",
    "spindle-speed",
    "tabs-too-weak",
    "undercut",
]


class Waiver(WireModel):
    """One gate that shall not stop the job. What can hurt a hand or a bit cannot be waived."""

    gate: Annotated[Gate, Field(description="the finding's code")]
    reason: Annotated[str, Field(min_length=3, max_length=200, description="printed on the set-up sheet")]


def _once_each(waivers: list[Waiver]) -> list[Waiver]:
    gates = [waiver.gate for waiver in waivers]
    twice = sorted({gate for gate in gates if gates.count(gate) > 1})
    if twice:
        raise ValueError(f"{', '.join(twice)} is waived twice: keep one reason for each gate")
    return waivers


Waivers = Annotated[
    list[Waiver],
    Field(
        max_length=len(get_args(Gate)),
        description="findings of the proof that shall not stop the job, each with its reason",
    ),
    AfterValidator(_once_each),
]
