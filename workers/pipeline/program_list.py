"""The list of a sign's programs: which file is for which bit, and how each runs."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from schemas.links import NumberedWork, ProgramEntry, ProgramList, SeveralBitsEntry, Work, artifact_href
from schemas.processes import RS274
from workers.pipeline import bit_words
from workers.values.cutting_plan import CuttingPlan, Operation
from workers.values.program import Program


def program_list(programs: Sequence[Program], plan: CuttingPlan) -> ProgramList:
    """Return the list of the programs that were written of a plan.

    Args:
        programs: One for each operation, or one for all but those that are run from behind.
        plan: What they do.
    """
    one_bit = [program for program in programs if not program.bits]
    alone = plan.operations if len(one_bit) == len(programs) else plan.from_behind
    entries: list[ProgramEntry | SeveralBitsEntry] = [
        ProgramEntry.model_validate(
            {
                **_file(program),
                "bit": bit_words.wire_bit(operation.cutter),
                **_work([operation]).model_dump(),
            }
        )
        for program, operation in zip(one_bit, alone, strict=True)
    ]
    several = [_of_several_bits(program, plan.face_up) for program in programs if program.bits]
    return ProgramList(programs=[*entries, *several])


def _of_several_bits(program: Program, plan: CuttingPlan) -> SeveralBitsEntry:
    work = [
        NumberedWork(number=plan.bits.index(turn[0].cutter) + 1, **_work(turn).model_dump())
        for turn in plan.turns
    ]
    return SeveralBitsEntry.model_validate(
        {
            **_file(program),
            "bits": {number: bit_words.wire_bit(bit) for number, bit in program.bits.items()},
            "work": work,
        }
    )


def _file(program: Program) -> dict[str, str]:
    digest = hashlib.sha256(program.text.encode("ascii")).hexdigest()
    file = {"href": artifact_href(f"sha256:{digest}"), "type": RS274, "name": program.name}
    return file | ({"side": "back"} if program.from_behind else {})


def _work(operations: Sequence[Operation]) -> Work:
    """What one bit does in operations one after the other."""
    paths = [path for operation in operations for path in operation.paths]
    lowest_mm = min(float(path.points_mm[:, 2].min()) for path in paths)
    feeds = [float(path.feeds_mm_per_min[1:].max()) for path in paths if len(path.points_mm) > 1]
    plunges = [float(path.feeds_mm_per_min[0]) for path in paths]
    return Work(
        operation=", ".join(operation.kind.value for operation in operations),
        spindle_rpm=max(operation.spindle_rpm for operation in operations),
        feed_mm_per_min=max(feeds, default=max(plunges)),
        plunge_mm_per_min=max(plunges),
        depth_mm=round(-lowest_mm, 4),
    )
