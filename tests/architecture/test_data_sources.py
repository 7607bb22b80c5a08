"""Every figure in the tables says where it is from."""

import hashlib
import tomllib
from importlib.resources import files
from typing import Any

import pytest

from workers.cutting_data.rows import inches

PACKAGE = files("workers.cutting_data")
TABLES = ["bits.toml", "materials.toml", "machines.toml", "fonts.toml", "chip_loads.toml"]
MARKS = {"seen", "memory", "common practice", "package"}
UNITS = ("_mm", "_in", "_deg", "_rpm", "_per_min", "_per_s2", "_s", "_fraction")
WITHOUT_UNIT = {"flutes", "colour", "spindle_commanded", "has_grain"}  # counts, tones and truths


def table(file: str) -> dict[str, Any]:
    """A data file as it is written."""
    return tomllib.loads(PACKAGE.joinpath(file).read_text(encoding="utf-8"))


def rows(file: str) -> list[dict[str, Any]]:
    """All rows of a data file, whatever their kind."""
    return [row for kind in table(file).values() for row in kind]


def sources_named(row: dict[str, Any]) -> set[str]:
    """Every source that a row and its cautions name."""
    named = {value for key, value in row.items() if key.endswith("source")}
    return named.union(*(sources_named(caution) for caution in row.get("cautions", [])))


@pytest.mark.parametrize("file", TABLES)
def test_every_row_names_a_source_and_a_mark(file: str) -> None:
    """No figure without where it was taken from, and how surely."""
    known = set(table("sources.toml")["source"])
    for row in rows(file):
        assert sources_named(row) <= known, row
        assert "source" in row, row
        assert row["mark"] in MARKS, row
        assert row.get("holding_mark", "memory") in MARKS, row
        assert all(caution["mark"] in MARKS for caution in row.get("cautions", []))


@pytest.mark.parametrize(
    ("file", "figures"),
    [
        ("bits.toml", ("shank", "stick_out")),
        ("machines.toml", ("nut_diameter", "nut_length", "spindle_diameter")),
    ],
)
def test_every_bit_and_machine_says_how_it_holds(file: str, figures: tuple[str, ...]) -> None:
    """No row leaves to a guess what the proof sweeps past clamps and walls, and each says how sure it is."""
    for row in rows(file):
        assert "holding_mark" in row, row
        assert all(f"{figure}_mm" in row or f"{figure}_in" in row for figure in figures), row


def test_no_source_is_left_over() -> None:
    """A source that no row names has lost its figure, or the figure its source."""
    named: set[str] = set()
    for file in TABLES:
        for row in rows(file):
            named |= sources_named(row)
    unused = set(table("sources.toml")["source"]) - named
    assert unused == {"feed-formula"}  # a formula: named in feeds.py beside the function


@pytest.mark.parametrize("file", TABLES)
def test_numbers_say_their_unit(file: str) -> None:
    """A number's key ends in its unit."""
    for row in rows(file):
        for key, value in row.items():
            if isinstance(value, int | float | list) and key not in WITHOUT_UNIT | {"cautions"}:
                assert key.endswith(UNITS), (file, key)


def test_names_are_taken_once() -> None:
    """Two rows of one name would hide each other."""
    for file in TABLES[:4]:
        names = [row["name"] for row in rows(file)]
        assert len(names) == len(set(names))


def test_ranges_run_upwards() -> None:
    """The lower end of a chip load is below the upper, and a larger cutter is not fed less."""
    for row in table("chip_loads.toml")["family"]:
        ranges = [row["light_in"], *row["diameters_in"].values()]
        assert all(low < high for low, high in ranges)
        sizes = [inches(size) for size in row["diameters_in"]]
        assert sizes == sorted(sizes)
        for end in (0, 1):
            loads = [pair[end] for pair in row["diameters_in"].values()]
            assert loads == sorted(loads)


def test_fonts_are_as_they_were_shipped() -> None:
    """Each font file has the digest on its row and its licence beside it, the OFL."""
    for row in table("fonts.toml")["font"]:
        folder = PACKAGE.joinpath("fonts")
        assert hashlib.sha256(folder.joinpath(row["file"]).read_bytes()).hexdigest() == row["sha256"]
        assert "SIL Open Font License, Version 1.1" in folder.joinpath(row["licence_file"]).read_text("utf-8")


def test_no_font_is_without_a_row() -> None:
    """Every file in the folder is a listed font or a listed licence."""
    listed = {row[key] for row in table("fonts.toml")["font"] for key in ("file", "licence_file")}
    assert {entry.name for entry in PACKAGE.joinpath("fonts").iterdir()} == listed
