"""The house is still the house."""

import dataclasses
import importlib
import pkgutil
import subprocess
import sys
from pathlib import Path

import pytest

import workers.values

ROOT = Path(__file__).parents[2]
SUFFIXES = (
    "_mm",
    "_mm2",
    "_mm3",
    "_deg",
    "_px",
    "_s",
    "_rpm",
    "_per_min",
    "_per_s2",
    "_per_s3",
    "_fraction",
    "_count",
)


def test_no_packages_under_tests() -> None:
    """An __init__.py there would shadow the real packages of the same name."""
    assert not list((ROOT / "tests").rglob("__init__.py"))


def test_numbers_in_values_name_their_unit() -> None:
    """Every float field of a value says its unit."""
    for module_info in pkgutil.iter_modules(workers.values.__path__):
        module = importlib.import_module(f"workers.values.{module_info.name}")
        for value in vars(module).values():
            if dataclasses.is_dataclass(value) and isinstance(value, type):
                for field in dataclasses.fields(value):
                    if field.type in ("float", "float | None"):
                        assert field.name.endswith(SUFFIXES) or field.name == "mm_per_px", (
                            value,
                            field.name,
                        )


@pytest.mark.parametrize("module", ["schemas.steps", "schemas.problems", "schemas.jobs"])
def test_schemas_are_light(module: str) -> None:
    """The typed words load no imaging, geometry or queue library."""
    heavy = {"numpy", "cv2", "shapely", "celery", "redis"}
    code = f"import sys, {module}; print(sorted({heavy} & set(sys.modules)))"
    out = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
