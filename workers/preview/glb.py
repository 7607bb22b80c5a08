"""One mesh as a glTF 2.0 file in its binary form.

Source: Khronos glTF 2.0 specification: 3.6 binary data, 3.7 meshes, 3.9 materials, 4 GLB.
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from workers.preview.tones import linear_light

_MAGIC, _VERSION = b"glTF", 2
_JSON_CHUNK, _BINARY_CHUNK = b"JSON", b"BIN\0"
_FLOAT, _UNSIGNED_INT, _UNSIGNED_BYTE = 5126, 5125, 5121  # component types
_VERTICES, _INDICES = 34962, 34963  # buffer targets
_ROUGHNESS = 0.85  # sanded wood and painted board scarcely shine


@dataclass(frozen=True, slots=True, eq=False)
class GlbMesh:
    """A triangle mesh in metres, glTF's own axes."""

    positions_m: NDArray[np.float32]  # (n, 3)
    normals: NDArray[np.float32]  # (n, 3), length 1
    colours: NDArray[np.uint8]  # (n, 4), factors of the material's colour, 255 = 1
    triangles: NDArray[np.uint32]  # (m, 3), anticlockwise from outside


def write_glb(mesh: GlbMesh, name: str, colour: tuple[int, int, int]) -> bytes:
    """Return the mesh as GLB with one node, one material and one buffer.

    Args:
        mesh: The triangles.
        name: Of the material.
        colour: Its sRGB colour.
    """
    parts: list[tuple[NDArray[Any], str, int, int]] = [
        (mesh.positions_m, "VEC3", _FLOAT, _VERTICES),
        (mesh.normals, "VEC3", _FLOAT, _VERTICES),
        (mesh.colours, "VEC4", _UNSIGNED_BYTE, _VERTICES),
        (mesh.triangles.reshape(-1), "SCALAR", _UNSIGNED_INT, _INDICES),
    ]
    views: list[dict[str, Any]] = []
    accessors: list[dict[str, Any]] = []
    offset = 0
    for number, (array, kind, component, target) in enumerate(parts):
        views.append({"buffer": 0, "byteOffset": offset, "byteLength": array.nbytes, "target": target})
        accessors.append(
            {"bufferView": number, "componentType": component, "count": len(array), "type": kind}
        )
        offset += array.nbytes  # all parts are made of four-byte pieces, so each starts aligned
    accessors[0] |= {
        "min": mesh.positions_m.min(axis=0).tolist(),
        "max": mesh.positions_m.max(axis=0).tolist(),
    }
    accessors[2] |= {"normalized": True}
    document = _document(views, accessors, offset, name, colour)
    binary = b"".join(np.ascontiguousarray(array).tobytes() for array, *_ in parts)
    return _container(json.dumps(document, separators=(",", ":")).encode(), binary)


def _document(
    views: list[dict[str, Any]],
    accessors: list[dict[str, Any]],
    length: int,
    name: str,
    colour: tuple[int, int, int],
) -> dict[str, Any]:
    return {
        "asset": {"version": "2.0", "generator": "triglyph"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0, "name": "sign"}],
        "meshes": [
            {
                "name": "sign",
                "primitives": [
                    {
                        "attributes": {"POSITION": 0, "NORMAL": 1, "COLOR_0": 2},
                        "indices": 3,
                        "material": 0,
                        "mode": 4,
                    }
                ],
            }
        ],
        "materials": [
            {
                "name": name,
                "pbrMetallicRoughness": {
                    "baseColorFactor": [*(round(linear_light(tone), 6) for tone in colour), 1.0],
                    "metallicFactor": 0.0,
                    "roughnessFactor": _ROUGHNESS,
                },
            }
        ],
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": length}],
    }


def _container(document: bytes, binary: bytes) -> bytes:
    """Header, JSON chunk filled up with spaces, binary chunk filled up with zeros."""
    document += b" " * (-len(document) % 4)
    binary += b"\0" * (-len(binary) % 4)
    whole = 12 + 8 + len(document) + 8 + len(binary)
    return b"".join(
        (
            _MAGIC + struct.pack("<II", _VERSION, whole),
            struct.pack("<I", len(document)) + _JSON_CHUNK + document,
            struct.pack("<I", len(binary)) + _BINARY_CHUNK + binary,
        )
    )
