"""The relief is read by somebody else: trimesh (MIT), a general library for triangle meshes.

It finds a closed body in metres, the size and volume of the carved board. Rules of the file itself are in
tests/workers/preview/test_mesh.py, by the Khronos glTF 2.0 specification.
"""

import io

import numpy as np
import pytest
import trimesh

from tests.support.specimens import board
from workers.cutting_data.tables import MATERIALS
from workers.preview.mesh import TOLERANCE_MM, write_mesh
from workers.values.design import Board
from workers.values.height_field import HeightField

BOARD = board(120, 70, 12, corner_radius_mm=9)
CELL_MM = 0.1


def ring_groove(cell_mm: float = CELL_MM) -> np.ndarray:
    """A round V-groove of 90 degrees, a floor with upright walls, a hole, and a step at the board's edge."""
    y_mm, x_mm = (np.indices((round(70 / cell_mm), round(120 / cell_mm))) + 0.5) * cell_mm
    depth_mm = np.maximum(0, 2.5 - np.abs(np.hypot(x_mm - 35, y_mm - 35) - 20))
    depth_mm[(np.abs(x_mm - 85) < 12) & (np.abs(y_mm - 35) < 16)] = 3.0
    depth_mm[y_mm < 4] = 1.5
    depth_mm[np.hypot(x_mm - 85, y_mm - 35) < 5] = 12.3
    return depth_mm.astype(np.float32)


def read(depth_mm: np.ndarray, sign: Board = BOARD, cell_mm: float = CELL_MM) -> trimesh.Trimesh:
    """The one body of a file, points at one place made one."""
    field = HeightField(depth_mm=depth_mm, cell_mm=cell_mm, left_mm=0, bottom_mm=0)
    data = write_mesh(field, sign, MATERIALS["cherry"], (31, 78, 121))
    scene = trimesh.load(io.BytesIO(data), file_type="glb")
    assert len(scene.geometry) == 1
    body = scene.to_mesh()
    body.merge_vertices(merge_tex=True, merge_norm=True)
    return body


@pytest.fixture(scope="module")
def body() -> trimesh.Trimesh:
    """The board with all four kinds of carving."""
    return read(ring_groove())


def test_it_is_one_closed_body_with_its_inside_within(body: trimesh.Trimesh) -> None:
    """Every edge has two triangles that agree about which side is out; the hole makes it a ring."""
    assert body.is_watertight
    assert body.is_winding_consistent
    assert body.volume > 0
    assert body.euler_number == 0  # a body with one hole through it, as a torus has


def test_its_box_is_the_boards_in_metres(body: trimesh.Trimesh) -> None:
    """glTF 2.0, 3.4: lengths are metres."""
    assert body.bounds == pytest.approx(np.array([[0, 0, -0.012], [0.120, 0.070, 0]]), abs=1e-7)


def test_what_is_missing_of_it_is_what_was_cut(body: trimesh.Trimesh) -> None:
    """Within the stated tolerance over the carved area, and the rounded corners' closed form."""
    depth_mm = ring_groove()
    through = depth_mm > 12
    removed_mm3 = float(np.where(through, 0, depth_mm).sum()) * CELL_MM**2
    corners_mm2, hole_mm2 = (4 - np.pi) * 9**2, float(through.sum()) * CELL_MM**2
    whole_mm3 = 12 * (120 * 70 - corners_mm2 - hole_mm2) - removed_mm3
    lost_corner_mm3 = 1.5 * 4 * 3  # of the step, roughly, at two rounded corners
    carved_mm2 = float((depth_mm > 0.01).sum()) * CELL_MM**2
    assert body.volume * 1e9 == pytest.approx(whole_mm3, abs=TOLERANCE_MM * carved_mm2 + 2 * lost_corner_mm3)


def depth_under(body: trimesh.Trimesh, place_mm: np.ndarray) -> float:
    """The depth of the triangle that looks up and holds a place, by its barycentric coordinates."""
    corners = body.triangles[body.face_normals[:, 2] > 0.01] * 1000
    one, two = corners[:, 1, :2] - corners[:, 0, :2], corners[:, 2, :2] - corners[:, 0, :2]
    way = place_mm - corners[:, 0, :2]
    twice = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]
    first = (way[:, 0] * two[:, 1] - way[:, 1] * two[:, 0]) / twice
    second = (one[:, 0] * way[:, 1] - one[:, 1] * way[:, 0]) / twice
    number = int(np.argmax((first >= -1e-9) & (second >= -1e-9) & (first + second <= 1 + 1e-9)))
    shares = (1 - first[number] - second[number], first[number], second[number])
    return -float(np.dot(shares, corners[number, :, 2]))


def test_points_lie_on_the_surface_and_the_surface_on_the_points(body: trimesh.Trimesh) -> None:
    """At places well off walls and rims: the mesh from above is as deep as the field, twice the tolerance."""
    depth_mm = ring_groove()
    places = np.random.default_rng(5).uniform((3, 6), (117, 67), (220, 2))
    column, row = (places / CELL_MM).astype(int).T
    around = np.stack([depth_mm[row + down, column + across] for down in (-4, 0, 4) for across in (-4, 0, 4)])
    calm = (np.ptp(around, axis=0) < 1.2) & (around.max(axis=0) < 12)
    found_mm = [depth_under(body, place) for place in places[calm]]
    assert len(found_mm) > 110
    assert np.abs(np.array(found_mm) - depth_mm[row, column][calm]).max() < 2 * TOLERANCE_MM


def test_normals_and_colours_are_there_and_sound() -> None:
    """Normals as the file has them are of length 1 and look out of the triangles round them."""
    field = HeightField(depth_mm=ring_groove(), cell_mm=CELL_MM, left_mm=0, bottom_mm=0)
    data = write_mesh(field, BOARD, MATERIALS["cherry"])
    raw = next(iter(trimesh.load(io.BytesIO(data), file_type="glb", process=False).geometry.values()))
    assert np.linalg.norm(raw.vertex_normals, axis=1) == pytest.approx(1, abs=1e-5)
    agreement = (raw.vertex_normals[raw.faces] * raw.face_normals[:, None, :]).sum(axis=2)
    assert agreement.min() > 0.5
    assert raw.visual.vertex_attributes["color"].shape == (len(raw.vertices), 4)


def test_flat_areas_cost_next_to_nothing() -> None:
    """An uncut board 400 x 300 mm is a few hundred triangles and less than 100 kB."""
    flat = HeightField(depth_mm=np.zeros((300, 400), np.float32), cell_mm=1.0, left_mm=0, bottom_mm=0)
    data = write_mesh(flat, board(400, 300, 12), MATERIALS["cherry"])
    assert len(data) < 100_000
    assert read(np.zeros((300, 400), np.float32), board(400, 300, 12), 1.0).is_watertight
