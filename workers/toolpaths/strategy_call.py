"""Strategies are asked for their ways, and held to what they promise."""

from __future__ import annotations

import logging

from workers.contracts.strategy import Strategy
from workers.errors import ConversionError, NotCuttableError
from workers.values.cutting_plan import CutPath
from workers.values.cutting_task import CuttingTask, Ways
from workers.values.finding import Finding, Severity
from workers.values.progress import Reporter

_ROUNDING_MM = 1e-3
_log = logging.getLogger(__name__)


def ways_by(strategy: Strategy, task: CuttingTask, report: Reporter) -> Ways:
    """Return a strategy's ways for a task.

    Raises:
        NotCuttableError: It refuses; or it fails, answers something else, or would go deeper than asked.
    """
    try:
        ways: object = strategy.ways(task, report)
    except ConversionError:
        raise
    except Exception as error:  # a stranger's strategy may raise anything: no reason to lose the job's answer
        _log.exception("strategy %s failed", strategy.name)
        raise _failed(strategy, f"stops with {type(error).__name__}") from error
    if not isinstance(ways, Ways) or not all(isinstance(path, CutPath) for path in ways.paths):
        raise _failed(strategy, "does not answer with paths")
    lowest_mm = min((float(path.points_mm[:, 2].min()) for path in ways.paths), default=0.0)
    if lowest_mm < -task.depth_mm - _ROUNDING_MM:
        raise _failed(strategy, f"goes {-lowest_mm:.2f} mm deep where {task.depth_mm:.2f} mm are allowed")
    return ways


def _failed(strategy: Strategy, how: str) -> NotCuttableError:
    finding = Finding(
        code="strategy-failed",
        severity=Severity.ERROR,
        message=f"the pattern '{strategy.name}' {how}",
        remedy="choose another pattern (`triglyph patterns` lists them), and tell its author",
    )
    return NotCuttableError.for_findings(finding)
