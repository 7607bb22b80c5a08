"""Keys: who holds one, what it allows, and how it is told without being kept."""

import hashlib
import json
import secrets
from enum import StrEnum
from pathlib import Path
from typing import Annotated

from pydantic import Field, PlainSerializer

from schemas.base import WireModel


class Right(StrEnum):
    """What a key may be allowed to do."""

    SUBMIT = "jobs:submit"
    READ_JOBS = "jobs:read"
    DISMISS = "jobs:dismiss"
    UPLOAD = "artifacts:write"
    READ_FILES = "artifacts:read"
    BULK = "class:bulk"
    CALLBACKS = "callbacks"


KIOSK = frozenset({Right.SUBMIT, Right.READ_JOBS, Right.DISMISS, Right.UPLOAD, Right.READ_FILES})


class Key(WireModel):
    """One key of the keys file. The secret is kept nowhere: it is random, so a plain digest is safe."""

    id: Annotated[str, Field(pattern=r"^[a-z0-9-]{1,32}$")]
    secret_sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    rights: Annotated[frozenset[Right], PlainSerializer(sorted)] = KIOSK
    jobs_at_once: Annotated[int, Field(gt=0)] = 200
    stored_bytes: Annotated[int, Field(gt=0)] = 4 * 1024**3
    requests_per_minute: Annotated[int, Field(gt=0)] = 1200


class KeysFile(WireModel):
    """The file that ``TRIGLYPH_KEYS_FILE`` names."""

    keys: list[Key]


def new_key(key_id: str, rights: frozenset[Right] = KIOSK) -> tuple[str, Key]:
    """Return a fresh secret token, to be shown once, and its entry for the keys file."""
    secret = secrets.token_urlsafe(32)
    return f"{key_id}.{secret}", Key(id=key_id, secret_sha256=digest_of(secret), rights=rights)


def read_keys(path: Path) -> list[Key]:
    """Return the keys of a keys file.

    Raises:
        OSError: It cannot be read.
        ValueError: It is no keys file.
    """
    return KeysFile.model_validate(json.loads(path.read_text("utf-8"))).keys


def digest_of(secret: str) -> str:
    """Return what the keys file has in place of a secret."""
    return hashlib.sha256(secret.encode("utf-8", "surrogateescape")).hexdigest()
