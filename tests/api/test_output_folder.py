"""Results are whole files, and no program of an earlier run lies beside a later report."""

import contextlib
from pathlib import Path

import pytest

from api.output_folder import OutputFolder
from schemas.problems import Refusal


def names(folder: Path) -> set[str]:
    """Every file below a folder, by its path from there."""
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}


def test_files_lie_under_their_names(tmp_path: Path) -> None:
    """Folders are made as the names need them."""
    out = OutputFolder(tmp_path / "a" / "b")

    path = out.write("programs/01-incise-vee-90.ngc", [b"G2", b"1"])

    assert path == tmp_path / "a/b/programs/01-incise-vee-90.ngc"
    assert path.read_bytes() == b"G21"


def test_what_a_run_before_wrote_is_removed_and_nothing_else(tmp_path: Path) -> None:
    """A stale program could be cut; a file of the user's own is none of ours."""
    before = OutputFolder(tmp_path)
    before.write("programs/01-incise-vee-90.ngc", [b"G21"])
    before.write("proof.json", [b"{}"])
    (tmp_path / "programs/mine.ngc").write_text("G20")
    (tmp_path / "notes.txt").write_text("mine")

    now = OutputFolder(tmp_path)
    now.clear()
    now.write("proof.json", [b'{"passed": false}'])

    assert names(tmp_path) == {"programs/mine.ngc", "notes.txt", "proof.json", ".triglyph-files.json"}


def test_a_file_that_breaks_off_is_not_there(tmp_path: Path) -> None:
    """The name appears when the file is whole; until then the old one stays."""
    out = OutputFolder(tmp_path)
    out.write("proof.json", [b"old"])

    def pieces() -> object:
        yield b"new"
        raise RuntimeError

    with pytest.raises(RuntimeError):
        out.write("proof.json", pieces())  # type: ignore[arg-type]

    assert (tmp_path / "proof.json").read_bytes() == b"old"
    assert names(tmp_path) == {"proof.json", ".triglyph-files.json"}


@pytest.mark.parametrize("name", ["../x", "/etc/x", "a/../../x", ".hidden", "a/.b", "", "a\\..\\x", "."])
def test_names_never_lead_outside(tmp_path: Path, name: str) -> None:
    """Names may come from a server, which need not be a friend."""
    with pytest.raises(ValueError, match="no name of an output"):
        OutputFolder(tmp_path / "out").write(name, [b""])


@pytest.mark.parametrize("listing", ["[", "{}", "[1]", '["../x"]'])
def test_a_list_of_files_that_was_tampered_with_removes_nothing_outside(tmp_path: Path, listing: str) -> None:
    """Whatever it says, files outside stay."""
    (tmp_path / "x").write_text("keep")
    (tmp_path / "out").mkdir()
    (tmp_path / "out/.triglyph-files.json").write_text(listing)

    with contextlib.suppress(ValueError):
        OutputFolder(tmp_path / "out").clear()

    assert (tmp_path / "x").read_text() == "keep"


def test_a_folder_that_cannot_be_written_is_refused(tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "out").write_text("")

    with pytest.raises(Refusal, match="cannot be written to"):
        OutputFolder(tmp_path / "out").write("proof.json", [b""])
