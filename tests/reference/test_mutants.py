"""A few of the mutants of ``python -m tests.benchmarks.mutations``: what matters is caught.

No outside source: whether a mutant matters is told by the simulation, which closed forms hold, and by rules
read off the motions; the gates are not asked. The whole campaign has 900.
"""

from functools import cache

from tests.benchmarks.mutants import signs
from tests.benchmarks.mutations import Verdict, change, verdicts

EACH = 4  # of ten signs


@cache
def some() -> list[Verdict]:
    """The first mutants of each sign."""
    return verdicts(EACH * len(signs()))


def test_every_mutant_that_matters_is_caught() -> None:
    """More than 0.1 mm of change, or a broken rule: some gate stops the job."""
    mattering = [verdict for verdict in some() if verdict.matters]
    assert len(mattering) > 8
    assert [(v.sign, v.mutant.line, change(v.mutant)) for v in mattering if not v.caught_by] == []


def test_every_mutant_that_passes_has_its_reason() -> None:
    """Why it does no harm is measured; where the cut is another, it is within the 0.1 mm."""
    passed = [verdict for verdict in some() if not verdict.caught_by]
    assert len(passed) > 8
    for verdict in passed:
        assert verdict.harmless
        assert verdict.change_mm <= 0.1


def test_mutants_are_of_places_and_of_arcs() -> None:
    """Or the campaign would be about the heads of programs alone."""
    letters = {verdict.mutant.before[0] for verdict in some()}
    assert letters >= {"X", "Y", "Z", "G"}
    assert letters & {"I", "J"}
