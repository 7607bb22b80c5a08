"""The name that was meant is found by its letters, whatever its case and signs."""

import pytest

from api.near_names import near_names

MATERIALS = ["basswood", "eastern-white-pine", "white-oak", "hard-maple", "birch-plywood", "foamed-pvc"]


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("baswood", ["basswood"]),
        ("Basswood", ["basswood"]),
        ("white oak", ["white-oak"]),
        ("pine", ["eastern-white-pine"]),
        ("PVC", ["foamed-pvc"]),
        ("oa", []),
        ("granite", []),
        ("", []),
    ],
)
def test_what_was_meant(written: str, meant: list[str]) -> None:
    """Equal letters settle it; else near ones, and names of which it is a part."""
    assert near_names(written, MATERIALS) == meant


def test_no_more_than_asked_for() -> None:
    """The nearest first."""
    assert near_names("vee-9", ["vee-60", "vee-90", "vee-30"], 1) == ["vee-90"]
