"""What can be asked or met is written down."""

import re
import tomllib
from pathlib import Path

import pytest
import yaml
from fastapi.routing import APIRoute

from api.demo import ORDER
from api.routes import artifacts, capabilities, events, execution, health, jobs, landing, processes, results
from schemas.problems import STATUS, ProblemCode
from schemas.processes import OFFERED
from workers import errors
from workers.verification.waivers import WAIVABLE

ROOMS = (artifacts, capabilities, events, execution, health, jobs, landing, processes, results)
ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()


@pytest.mark.parametrize("code", list(ProblemCode))
def test_problem_codes_are_in_the_readme(code: ProblemCode) -> None:
    """Each code is in the table, on a row with its status."""
    row = next(
        (line for line in README.splitlines() if line.startswith("|") and f"`{code.value}`" in line), ""
    )
    assert str(STATUS[code]) in row, code


def test_what_a_proof_finds_is_in_the_readme() -> None:
    """Every code of a finding of the proof has its row, and those that may be waived are marked."""
    sources = [path.read_text() for path in (ROOT / "workers" / "verification").rglob("*.py")]
    codes = {code for source in sources for code in re.findall(r'code="([a-z-]+)"', source)}
    rows = [line.split("|")[1:3] for line in README.splitlines() if line.startswith("|")]
    severities = {
        code: severity for names, severity, *_ in rows for code in re.findall(r"`([a-z-]+)`", names)
    }
    assert codes - set(severities) == set()
    assert {code for code in codes | WAIVABLE if "w" in severities[code].split(", ")} <= WAIVABLE
    assert all("w" in re.split(r"\W+", severities[code]) for code in WAIVABLE)


def test_error_classes_and_codes_are_one_to_one() -> None:
    """Every error of the workers has a code of its own, and the code exists."""
    leaves = [
        value
        for value in vars(errors).values()
        if isinstance(value, type) and issubclass(value, errors.ConversionError)
    ]
    codes = [leaf.code for leaf in leaves if leaf is not errors.ConversionError]
    assert len(codes) == len(set(codes))
    assert set(codes) <= {code.value for code in ProblemCode}


@pytest.mark.parametrize("process", [name for name in OFFERED if name != "echo"])
def test_processes_are_in_the_readme(process: str) -> None:
    """Everything on offer is named."""
    assert f"`{process}`" in README or f" {process} " in README


def test_every_route_is_in_the_readme() -> None:
    """Each path of the API stands in the table, whatever its parameter is called there."""
    paths = {
        _without_names(route.path)
        for room in ROOMS
        for route in room.router.routes
        if isinstance(route, APIRoute)
    }
    written = {_without_names(path) for path in re.findall(r"`(?:GET |POST |DELETE )?(/[^` ]*)`", README)}
    concrete = {path for path in paths if path.startswith("/processes/") and path.endswith("/execution")}
    assert paths - concrete - written == set()


def _without_names(path: str) -> str:
    return re.sub(r"{[^}]*}", "{}", path)


def test_the_readmes_order_is_the_demos() -> None:
    """What a newcomer reads is what the demo runs."""
    written = README.split("```yaml\n")[1].split("```")[0]
    assert yaml.safe_load(written) == yaml.safe_load(ORDER.read_text())


@pytest.mark.parametrize(
    "group", ["triglyph.tracers", "triglyph.strategies", "triglyph.dialects", "triglyph.materials"]
)
def test_plugin_groups_are_documented(group: str) -> None:
    """A stranger finds every door."""
    assert group in DEVELOPERS


def test_every_dependency_has_its_line() -> None:
    """Each choice is recorded with its licence."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    table = [line for line in DEVELOPERS.splitlines() if line.startswith("|")]
    for requirement in project["dependencies"]:
        name = requirement.split(">")[0]
        assert any(name in line for line in table), name
