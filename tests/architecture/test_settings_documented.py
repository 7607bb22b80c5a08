"""Every setting is in deploy/README.md with its default and what it does, as the code has it."""

from pathlib import Path

import pytest

from api.settings import Settings as DeskSettings
from workers.queueing.settings import Settings as QueueSettings

TEXT = (Path(__file__).parents[2] / "deploy" / "README.md").read_text()
FIELDS = {**DeskSettings.model_fields, **QueueSettings.model_fields}


@pytest.mark.parametrize("name", FIELDS)
def test_a_setting_stands_with_its_default_and_meaning(name: str) -> None:
    """The row is what the field says."""
    field = FIELDS[name]
    assert field.description, name
    default = (
        ""
        if field.default in (None, "")
        else f"`{field.default:g}`"
        if isinstance(field.default, float)
        else f"`{field.default}`"
    )
    assert f"| `TRIGLYPH_{name.upper()}` | {default} | {field.description} |" in TEXT
