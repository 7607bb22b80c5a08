"""Random orders from plan to proof: ``python -m tests.benchmarks.order_sweep --count 200``.

Two questions. Does the planner ever make a program that the proof refuses? A wrong order must be refused
before, with the field or the place named. And does the proof ever let pass what a second opinion, by other
means, calls wrong? The orders are those of ``random_orders``, the opinion is tests.support.second_opinion.

A refusal that says what size would fit is followed, and must then hold. What is left is told by where it
ended: *proven*, *refused* with a field or a place, *fault* (internal, or a refusal that names neither),
*proof* (planned and written, and refused by the proof) and *passed* (let pass against the second opinion).
"""

from __future__ import annotations

import copy
import hashlib
import re
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from schemas.links import Link, ProgramList
from schemas.problems import Problem
from schemas.requests import SignOrder, VerificationInputs
from schemas.steps import Outputs, Step, resolved_inputs, steps_of
from tests.benchmarks.random_orders import RandomOrder, random_order
from tests.support.markdown_tables import command_line, deliver, table, tell
from tests.support.second_opinion.objections import objections
from tests.support.second_opinion.ordered import Ordered
from workers.cutting_data import tables
from workers.layout.design_file import read_design
from workers.pipeline import cut_words, design_words, program_words
from workers.pipeline.run_step import run_step
from workers.registry import offers
from workers.values.progress import silent
from workers.verification.tolerances import surface_tolerance_mm
from workers.verification.verify import verify

_FITS = re.compile(r"the largest (width|height|cap height) that fits is ([0-9.]+) mm")
_ADVICE_TAKEN = 3  # times
BAD = ("fault", "proof", "passed")


@dataclass(frozen=True)
class Ending:
    """Where an order ended, and why."""

    kind: str  # proven, refused, fault, proof, passed
    told: str = ""


class _Shelf:
    """Files of one order by digest or name."""

    def __init__(self, files: dict[str, bytes]) -> None:
        self._files = dict(files)

    def put(self, data: bytes) -> str:
        digest = "sha256:" + hashlib.sha256(data).hexdigest()
        self._files[digest] = data
        return digest

    def read(self, href: str) -> bytes:
        return self._files[href.rpartition("/")[2]]


def ending(order: RandomOrder) -> Ending:
    """Return where an order ends, with advice on sizes taken."""
    fields = copy.deepcopy(order.fields)
    for _ in range(_ADVICE_TAKEN):
        try:
            wanted = SignOrder.model_validate(fields)
        except ValidationError as error:
            return Ending("refused", f"schema: {error.errors()[0]['msg']}")
        shelf = _Shelf(order.drawings)
        done: dict[str, Outputs] = {}
        ended: Ending | None = None
        for step in steps_of("sign", wanted):
            inputs = resolved_inputs(step, done)
            if step.process == "verification":
                return _proven(inputs, wanted, shelf, order.number)
            outcome = run_step(step.process, inputs, shelf.read, silent)
            if outcome.problem is not None:
                if step.id == "layout" and _adviced(fields, outcome.problem):
                    break
                ended = _refused(step, outcome.problem)
                break
            done[step.id] = {name: shelf.put(data) for name, data in outcome.files.items()}
        if ended is not None:
            return ended
    return Ending("refused", "advice on sizes led nowhere")


def _adviced(fields: dict[str, Any], found: Problem) -> bool:
    """Make what is too large as large as the refusal says; return whether it said so."""
    said = _FITS.search(found.remedy or "")
    if not said:
        return False
    pointer = found.errors[0].pointer.removeprefix("/inputs/").split("/")
    place = fields[pointer[0]][int(pointer[1])]
    place = place.get("place", place)
    place[said[1].replace(" ", "_")] = float(said[2])
    return True


def _refused(step: Step, found: Problem) -> Ending:
    """Return a refusal; one that names neither field nor place is a fault."""
    named = [error.pointer for error in found.errors] + [finding.code for finding in found.findings]
    kind = "fault" if found.status >= 500 or not named or not found.remedy else "refused"
    return Ending(kind, f"{step.id}: {', '.join(named)}: {found.detail} -> {found.remedy}")


def _proven(inputs: dict[str, Any], order: SignOrder, shelf: _Shelf, seed: int) -> Ending:
    asked = VerificationInputs.model_validate(inputs)
    assert isinstance(asked.programs, Link)
    links = ProgramList.model_validate_json(shelf.read(asked.programs.href)).programs
    programs = [
        program_words.program(link, link.name or "", shelf.read(link.href).decode("ascii"), "/programs")
        for link in links
    ]
    assert asked.design is not None
    assert asked.incise is not None
    design = read_design(shelf.read(asked.design.href), "/inputs/design")
    machine = tables.machine(order.machine, "/inputs/machine")
    incise = cut_words.incise_cut(asked.incise, design.bit_name)
    cutout = cut_words.cutout_cut(asked.cutout) if asked.cutout else None
    keep_outs = cut_words.keep_outs(asked.keep_out)
    verified = verify(
        programs,
        design_words.board(asked.board),
        machine,
        design,
        incise,
        cutout,
        keep_outs=keep_outs,
        drill=cut_words.drill_cut(asked.drill) if asked.drill else None,
        material=offers.material(asked.board.material, "/inputs/board/material"),
    )
    errors = [f"{found.code}: {found.message}" for found in verified.proof.findings if found.stops]
    if errors:
        return Ending("proof", "; ".join(errors))
    clear = cut_words.clear_cut(order.clear) if order.clear else None
    opening_bit = cutout.cutter if cutout else clear.mills[-1] if clear else None
    wrong = objections(
        [program for program in programs if not program.from_behind],
        Ordered(
            design=design,
            machine=machine,
            incise=incise,
            cutout=cutout,
            openings_bit=opening_bit,
            keep_outs=keep_outs,
            tolerance_mm=surface_tolerance_mm(incise.cutter.included_angle_deg),
        ),
        seed,
    )
    return Ending("passed", "; ".join(wrong)) if wrong else Ending("proven")


def main(arguments: Sequence[str] | None = None) -> None:
    """Sweep and print."""
    parser = command_line(str(__doc__).splitlines()[0])
    parser.add_argument("--count", type=int, default=200, help="how many orders (200)")
    parser.add_argument("--first", type=int, default=0, help="number of the first (0)")
    asked = parser.parse_args(arguments)
    counts: Counter[str] = Counter()
    listed = []
    began_s = time.monotonic()
    for number in range(asked.first, asked.first + asked.count):
        started_s = time.monotonic()
        ended = ending(random_order(number))
        counts[ended.kind] += 1
        tell(f"{number} {time.monotonic() - started_s:.1f}s {ended.kind} {ended.told}")
        if ended.kind in BAD:
            listed.append((number, ended.kind, ended.told))
    minutes = (time.monotonic() - began_s) / 60
    body = table(("ended", "orders"), counts.most_common())
    body += f"\n{asked.count / minutes:.0f} orders a minute.\n\n" + table(("order", "ended", "told"), listed)
    deliver("Random orders from plan to proof", body, asked.out)


if __name__ == "__main__":
    main()
