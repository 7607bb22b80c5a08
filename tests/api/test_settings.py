"""What an operator sets is read from the environment, and checked."""

from pathlib import Path

import pytest
from pydantic import ValidationError

from api.settings import Settings


def test_settings_come_from_the_environment() -> None:
    """By name, in capitals, after TRIGLYPH_; others keep their defaults."""
    settings = Settings.from_environment(
        {
            "TRIGLYPH_MAX_UPLOAD_BYTES": "1000",
            "TRIGLYPH_KEYS_FILE": "keys.json",
            "TRIGLYPH_TITLE": "",
            "HOME": "/",
        }
    )

    assert settings == Settings(max_upload_bytes=1000, keys_file=Path("keys.json"))


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("MAX_UPLOAD_BYTES", "0"),
        ("MAX_WAIT_S", "soon"),
        ("CALLBACK_SECRET", "hush"),
        ("ALLOW_ANYONE", "perhaps"),
    ],
)
def test_settings_that_cannot_be_read_are_refused(name: str, value: str) -> None:
    """At the start, not at the first request."""
    with pytest.raises(ValidationError):
        Settings.from_environment({"TRIGLYPH_" + name: value})


def test_hosts_to_be_called_are_a_list() -> None:
    """Written with commas."""
    assert Settings(callback_hosts="Shop.example, http://10.0.0.5:80,").callback_host_list == [
        "shop.example",
        "http://10.0.0.5:80",
    ]
