"""The mesh is a sound glTF file, closed round its rims, and as deep as the field.

Structure by the Khronos glTF 2.0 specification: 4.4 GLB (magic, version, length, chunks), 3.6.2 accessors
(counts, alignment, min and max), 3.7.2 meshes.
"""

import json
import struct
from typing import Any

import numpy as np
import pytest

from tests.support.specimens import board
from workers.cutting_data.tables import MATERIALS
from workers.preview.mesh import MOST_TRIANGLES, write_mesh
from workers.values.height_field import HeightField

BOARD = board(100, 50, 10, corner_radius_mm=8)
CELL_MM = 0.25


def field() -> HeightField:
    """A groove 90 degrees wide along the middle, a hole, and the cutout round the board."""
    x_mm, y_mm = ((np.arange(side) + 0.5) * CELL_MM - 2 for side in (416, 216))
    groove = np.maximum(0, 3 - np.abs(y_mm - 25))[:, None] * ((x_mm > 20) & (x_mm < 80))
    hole = np.hypot(x_mm[None, :] - 90, y_mm[:, None] - 25) < 3
    depth = np.where(hole, 10.3, groove)
    beyond = ((x_mm < 0) | (x_mm > 100))[None, :] | ((y_mm < 0) | (y_mm > 50))[:, None]
    depth = np.where(beyond, 10.3, depth).astype(np.float32)
    return HeightField(depth_mm=depth, cell_mm=CELL_MM, left_mm=-2, bottom_mm=-2)


@pytest.fixture(scope="module")
def data() -> bytes:
    """The mesh of the field."""
    return write_mesh(field(), BOARD, MATERIALS["basswood"])


def parts(data: bytes) -> tuple[dict[str, Any], bytes]:
    """The JSON and the binary chunk of a file."""
    length = struct.unpack("<I", data[12:16])[0]
    return json.loads(data[20 : 20 + length]), data[28 + length :]


def arrays(data: bytes) -> list[np.ndarray]:
    """Every array of a file, by the numbers its JSON gives."""
    document, binary = parts(data)
    types = {5126: "<f4", 5125: "<u4", 5121: "u1"}
    widths = {"SCALAR": 1, "VEC3": 3, "VEC4": 4}
    found = []
    for accessor in document["accessors"]:
        view = document["bufferViews"][accessor["bufferView"]]
        raw = binary[view["byteOffset"] : view["byteOffset"] + view["byteLength"]]
        array = np.frombuffer(raw, types[accessor["componentType"]])
        found.append(array.reshape(accessor["count"], widths[accessor["type"]]))
    return found


def test_header_and_chunks(data: bytes) -> None:
    """glTF 2.0, 4.4: magic, version 2, whole length; a JSON chunk, then a BIN chunk, both multiples of 4."""
    assert data[:4] == b"glTF"
    assert struct.unpack("<II", data[4:12]) == (2, len(data))
    length, kind = struct.unpack("<I4s", data[12:20])
    assert kind == b"JSON"
    assert length % 4 == 0
    binary_length, binary_kind = struct.unpack("<I4s", data[20 + length : 28 + length])
    assert binary_kind == b"BIN\0"
    assert binary_length % 4 == 0
    assert 28 + length + binary_length == len(data)


def test_accessors_fit_their_buffer(data: bytes) -> None:
    """glTF 2.0, 3.6.2: aligned to their component, inside the buffer, min and max exact for positions."""
    document, binary = parts(data)
    assert document["asset"]["version"] == "2.0"
    assert document["buffers"][0]["byteLength"] <= len(binary)
    for accessor in document["accessors"]:
        view = document["bufferViews"][accessor["bufferView"]]
        assert view["byteOffset"] % 4 == 0
        assert view["byteOffset"] + view["byteLength"] <= document["buffers"][0]["byteLength"]
    positions = arrays(data)[0]
    assert document["accessors"][0]["min"] == positions.min(axis=0).tolist()
    assert document["accessors"][0]["max"] == positions.max(axis=0).tolist()
    counts = [accessor["count"] for accessor in document["accessors"]]
    assert counts[0] == counts[1] == counts[2]
    assert counts[3] % 3 == 0


def test_indices_and_normals_are_sound(data: bytes) -> None:
    """Every index has its vertex, every vertex is used, every normal has length 1."""
    positions, normals, _, indices = arrays(data)
    assert set(np.unique(indices)) == set(range(len(positions)))
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1, abs=1e-5)


def test_positions_are_metres(data: bytes) -> None:
    """100 x 50 x 10 mm; the face at z = 0 looks to +z."""
    positions, normals, *_ = arrays(data)
    assert positions.min(axis=0) == pytest.approx([0, 0, -0.010], abs=1e-7)
    assert positions.max(axis=0) == pytest.approx([0.100, 0.050, 0], abs=1e-7)
    flat = positions[:, 2] == 0
    assert np.median(normals[flat], axis=0).tolist() == [0, 0, 1]


def test_nothing_gapes(data: bytes) -> None:
    """Every edge borders two triangles, by place, that run along it in opposite ways."""
    positions, _, _, indices = arrays(data)
    _, by_place = np.unique(np.round(positions, 7), axis=0, return_inverse=True)
    triangles = by_place.reshape(-1)[indices.reshape(-1, 3)]
    triangles = triangles[(triangles != np.roll(triangles, 1, axis=1)).all(axis=1)]
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    forward = {tuple(edge) for edge in edges.tolist()}
    assert len(forward) == len(edges)
    assert all(edge[::-1] in forward for edge in forward)


def test_the_surface_is_as_deep_as_the_field(data: bytes) -> None:
    """Volume missing under the face: a 90 degree groove, w^2 / 4 a mm, and the hole's stepped cylinder."""
    positions, _, _, indices = arrays(data)
    corners = positions[indices.reshape(-1, 3)].astype(float) * 1000
    area = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])[:, 2] / 2
    corners, area = corners[area > 0], area[area > 0]  # what looks up
    volume = float((area * -corners[:, :, 2].mean(axis=1)).sum())
    assert volume == pytest.approx(6**2 / 4 * 60, rel=0.02)
    board_area = 100 * 50 - (4 - np.pi) * 64 - np.pi * 9
    assert float(area.sum()) == pytest.approx(board_area, rel=0.002)


def test_corners_follow_the_arc(data: bytes) -> None:
    """Rim points at a rounded corner lie on the radius of 8 mm, none beyond."""
    positions, *_ = arrays(data)
    corner = positions[(positions[:, 0] < 0.008) & (positions[:, 1] < 0.008)] * 1000
    reach = np.hypot(corner[:, 0] - 8, corner[:, 1] - 8)
    assert reach.max() == pytest.approx(8, abs=1e-3)
    assert np.count_nonzero(np.abs(reach - 8) < 1e-3) > 20


def test_a_large_carved_board_stays_within_the_budget() -> None:
    """A field that is nowhere flat is coarsened until it fits."""
    rows, columns = np.indices((1500, 2000), dtype=np.float32)
    depth = (1 + np.sin(rows / 9) * np.cos(columns / 7)).astype(np.float32)
    cut = HeightField(depth_mm=depth, cell_mm=0.2, left_mm=0, bottom_mm=0)
    *_, indices = arrays(write_mesh(cut, board(400, 300, 10), MATERIALS["basswood"]))
    assert MOST_TRIANGLES / 2 < len(indices) / 3 <= MOST_TRIANGLES


def test_the_same_field_gives_the_same_bytes(data: bytes) -> None:
    """Nothing depends on the run."""
    assert write_mesh(field(), BOARD, MATERIALS["basswood"]) == data


def test_painted_carving_has_the_paint_and_the_face_its_own_colour() -> None:
    """Colours of points are linear light (glTF 2.0, 3.7.2.1): sRGB 31, 78, 121 is 0.0137, 0.0762, 0.1912."""
    painted = write_mesh(field(), BOARD, MATERIALS["basswood"], (31, 78, 121))
    document, _ = parts(painted)
    assert document["materials"][0]["pbrMetallicRoughness"]["baseColorFactor"] == [1.0, 1.0, 1.0, 1.0]
    positions, normals, colours, _ = arrays(painted)
    groove = positions[:, 2] < -0.001
    inside = groove & (positions[:, 0] > 0.03) & (positions[:, 0] < 0.07) & (positions[:, 2] > -0.0035)
    assert inside.any()
    assert np.unique(colours[inside][:, :3], axis=0).tolist() == [[3, 19, 49]]
    face = (positions[:, 2] == 0) & (normals[:, 2] > 0.999)
    assert (colours[face][:, 0] > 100).all()
