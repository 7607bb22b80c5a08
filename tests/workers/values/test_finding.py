"""A finding has one JSON form, in files and over the wire."""

from schemas.problems import FindingReport
from workers.pipeline.outcome import finding_report
from workers.values.finding import Finding, Severity

FOUND = Finding(
    code="stroke-lost",
    severity=Severity.WARNING,
    message="a stroke is too thin",
    remedy="enlarge the art",
    at_mm=(1.23456789, -0.0000001),
)


def test_a_finding_is_the_same_in_a_file_and_over_the_wire() -> None:
    """Member for member, places rounded alike to a micrometre, and no negative zero."""
    record = FOUND.as_record()
    assert FindingReport(**record).model_dump(mode="json", exclude_unset=True) == record
    assert finding_report(FOUND).model_dump(mode="json", exclude_unset=True) == record
    assert str(record["at"]) == "[1.235, 0.0]"


def test_a_finding_read_back_is_the_same() -> None:
    """To the digits that its file has; one without a place stays without."""
    read = Finding.from_record(FOUND.as_record())
    assert read.as_record() == FOUND.as_record()
    assert Finding.from_record(FOUND.as_record() | {"at": None}).at_mm is None
