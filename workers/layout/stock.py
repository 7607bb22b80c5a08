"""The stock as it is sold, and as it measures."""

from __future__ import annotations

from workers.values.finding import Finding, Severity

_SAME_MM = 0.1  # a caliper's reading on planed wood (common practice)


def stock_findings(said_mm: float, measured_mm: float | None) -> tuple[Finding, ...]:
    """Return a warning where a board is not as thick as the order says.

    Source: measure stock, do not trust nominal (trade.md P-12, common practice).

    Args:
        said_mm: Thickness as ordered or sold.
        measured_mm: By calipers; everything is cut by this one. None: nobody measured.
    """
    if measured_mm is None or abs(measured_mm - said_mm) <= _SAME_MM:
        return ()
    thinner = measured_mm < said_mm
    return (
        Finding(
            code="stock-thinner-than-said" if thinner else "stock-thicker-than-said",
            severity=Severity.WARNING,
            message=(
                f"the stock measures {measured_mm:.2f} mm, {abs(measured_mm - said_mm):.2f} mm "
                f"{'less' if thinner else 'more'} than the {said_mm:.2f} mm it is said to be: "
                f"everything is cut for {measured_mm:.2f} mm"
            ),
            remedy="measure at all four corners; take another board if they differ",
        ),
    )
