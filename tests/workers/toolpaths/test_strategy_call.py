"""Strategies of others: a good one makes a sign that is proven, a bad one is refused by name."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from shapely.geometry import box

from tests.support.example_plugin import FURROWS
from tests.support.specimens import BASSWOOD, MACHINE, clearing, design, incise, region
from workers.contracts.strategy import Strategy
from workers.dialects.metric_lines import METRIC_LINES
from workers.dialects.programs import write_programs
from workers.errors import JobDismissed, NotCuttableError
from workers.toolpaths.plan import Planned, plan
from workers.values.cutting_plan import CutPath, OperationKind
from workers.values.cutting_task import CuttingTask, Ways
from workers.values.progress import Reporter
from workers.verification.verify import verify

SIGN = design(region(box(20, 20, 80, 50).difference(box(40, 30, 50, 40)), box(20, 60, 90, 63)))


@dataclass(frozen=True)
class Stranger:
    """Does as it is told."""

    answer: Callable[[CuttingTask], object]
    kind: OperationKind = OperationKind.CLEAR
    name: str = "stranger"
    summary: str = "for tests"
    plugin_api: int = 1

    def ways(self, task: CuttingTask, report: Reporter) -> Ways:
        """Answer anything."""
        return self.answer(task)  # type: ignore[return-value]


def planned(strategy: Strategy) -> Planned:
    """The plan of a sign by a strategy."""
    return plan(SIGN, incise(), clearing(), None, None, BASSWOOD, MACHINE, patterns={strategy.kind: strategy})


def test_the_example_of_a_strategy_makes_a_sign_that_is_proven() -> None:
    """Furrows round an island: cut in simulation, overcut and undercut within the proof's tolerance."""
    made = planned(FURROWS).plan
    assert made.operations[0].kind is OperationKind.CLEAR
    assert len(made.operations[0].paths) > 20

    proof = verify(write_programs(made, MACHINE, METRIC_LINES), SIGN.board, MACHINE, SIGN, incise()).proof

    assert proof.passed, proof.findings


def test_a_strategy_that_leaves_floors_out_does_not_get_past_the_proof() -> None:
    """It answers in form, and with nothing."""
    made = planned(Stranger(lambda _: Ways(paths=()))).plan

    proof = verify(write_programs(made, MACHINE, METRIC_LINES), SIGN.board, MACHINE, SIGN, incise()).proof

    assert [finding.code for finding in proof.findings] == ["undercut"]


def _raise(error: BaseException) -> object:
    raise error


DEEP = CutPath(np.array([[30.0, 30, -2.6]]), np.array([300.0]))


@pytest.mark.parametrize("kind", [OperationKind.CLEAR, OperationKind.INCISE])
@pytest.mark.parametrize(
    ("answer", "said"),
    [
        (lambda _: _raise(ZeroDivisionError()), "stops with ZeroDivisionError"),
        (lambda _: None, "does not answer with paths"),
        (lambda _: Ways(paths=(7,)), "does not answer with paths"),  # type: ignore[arg-type]
        (lambda _: Ways(paths=(DEEP,)), "goes 2.60 mm deep where 2.50 mm are allowed"),
    ],
)
def test_a_bad_strategy_is_refused_by_name(
    answer: Callable[[CuttingTask], object], said: str, kind: OperationKind
) -> None:
    """With what to do instead; the service goes on."""
    with pytest.raises(NotCuttableError, match=f"the pattern 'stranger' {said}") as refused:
        planned(Stranger(answer, kind))
    assert refused.value.findings[0].code == "strategy-failed"


def test_a_refusal_of_its_own_and_a_dismissal_pass_through() -> None:
    """They are answers, not faults."""
    for error in (NotCuttableError("too narrow for furrows", findings=()), JobDismissed()):
        with pytest.raises(type(error)):
            planned(Stranger(lambda _, error=error: _raise(error)))
