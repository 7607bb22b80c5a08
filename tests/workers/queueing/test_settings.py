"""Settings by environment."""

from pathlib import Path

import pytest
from pydantic import ValidationError

from workers.queueing.settings import Settings


def test_the_environment_sets_what_it_names() -> None:
    """Defaults elsewhere; an empty variable is none."""
    settings = Settings.from_environment(
        {
            "TRIGLYPH_REDIS_URL": "redis://server/1",
            "TRIGLYPH_LEASE_S": "7.5",
            "TRIGLYPH_DATA": "",
            "OTHER": "x",
        }
    )

    assert (settings.redis_url, settings.lease_s) == ("redis://server/1", 7.5)
    assert settings.data == Settings().data


def test_settings_reach_another_process_unchanged() -> None:
    """By the variables they turn into."""
    settings = Settings(data=Path("/srv/signs"), redis_url="unix:///srv/s.sock", workers=3, stop_s=1.5)

    assert Settings.from_environment(settings.environment()) == settings


@pytest.mark.parametrize("variable", ["TRIGLYPH_LEASE_S", "TRIGLYPH_WORKERS", "TRIGLYPH_ATTEMPTS"])
@pytest.mark.parametrize("value", ["-1", "many"])
def test_nonsense_is_refused_at_the_start(variable: str, value: str) -> None:
    """Not when the first job comes."""
    with pytest.raises(ValidationError):
        Settings.from_environment({variable: value})


def test_without_a_server_the_way_out_is_said() -> None:
    """Both of them."""
    with pytest.raises(ValueError, match="TRIGLYPH_REDIS_URL, or start the embedded stack"):
        _ = Settings().server_url
