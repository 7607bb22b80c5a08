"""Three generic names, kept plain and guarded."""

import subprocess
import sys
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_wheel_holds_just_the_three_packages(tmp_path: Path) -> None:
    """Nothing else lands in an environment; tables, fonts and the demo's photos are in it."""
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    (wheel,) = tmp_path.glob("*.whl")
    names = zipfile.ZipFile(wheel).namelist()
    assert {name.split("/")[0] for name in names} == {"api", "workers", "schemas", "triglyph-0.1.0.dist-info"}
    assert {
        "api/demo/tern-1.jpg",
        "workers/cutting_data/bits.toml",
        "workers/cutting_data/fonts/source-serif-bold.otf",
        "workers/py.typed",
    } <= set(names)


def test_lock_files_name_no_host() -> None:
    """Packages and hashes only: wherever the packages come from, they are these."""
    for lock in (ROOT / "deploy").glob("*.lock"):
        text = lock.read_text()
        assert "://" not in text
        assert "--index" not in text
        assert text.count("--hash=sha256:") >= text.count("==") - text.count(" ; ")


def test_no_path_of_a_developers_machine_is_committed() -> None:
    """Files of the repository say nothing about where they were written."""
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, check=True, capture_output=True).stdout
    for name in listed.decode().split("\0"):
        path = ROOT / name
        if name and path.suffix in {".py", ".md", ".toml", ".yaml", ".lock", ".lua", ""} and path.is_file():
            assert "/".join(("", "work", "main")) not in path.read_text(errors="replace"), name
