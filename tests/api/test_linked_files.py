"""Requests in files, and the files that they link to."""

from pathlib import Path

import pytest

from api.linked_files import read_request, with_files
from schemas.problems import ProblemCode, Refusal

UPLOADED = "/artifacts/sha256:" + "a" * 64


def written(folder: Path, name: str, text: str | bytes) -> Path:
    """A file with this content."""
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("order.json", '{"message": "a", "pause": 1}'),
        ("order.yaml", "message: a\npause: 1\n"),
        ("order.yml", "{message: a, pause: 1}"),
        ("order", "inputs: {message: a, pause: 1}\nresponse: document"),
        ("order.json", '\ufeff{"inputs": {"message": "a", "pause": 1}}'),
    ],
)
def test_json_and_yaml_are_read(tmp_path: Path, name: str, text: str) -> None:
    """With or without the 'inputs' of a REST body around."""
    assert read_request(written(tmp_path, name, text)) == {"message": "a", "pause": 1}


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("a.json", '{\n "a": 1,,\n}', "line 2, column 9"),
        ("a.yaml", "a: 1\nb: [1, 2\nc: 3\n", "line 3"),
        ("a.yaml", "a: 1\na: 2\n", "line 2, column 1: 'a' is given twice"),
        ("a.yaml", "a: !!python/object/apply:os.getcwd []", "line 1"),
        ("a.json", b"\xff\xfe\x00", "is no text"),
        ("a.yaml", b"a: \x00", "cannot be read"),
    ],
)
def test_what_cannot_be_read_is_told_with_its_line(
    tmp_path: Path, name: str, text: str | bytes, says: str
) -> None:
    """A person finds the place; a field given twice is refused, as the second would silently win."""
    with pytest.raises(Refusal, match=says):
        read_request(written(tmp_path, name, text))


def test_a_request_that_is_not_there_is_a_missing_file(tmp_path: Path) -> None:
    """Told by its name, not by its whole path."""
    with pytest.raises(Refusal) as refused:
        read_request(tmp_path / "none.yaml")

    assert refused.value.document.code is ProblemCode.MISSING_FILE
    assert str(tmp_path) not in refused.value.document.detail


def test_links_are_replaced_wherever_they_are(tmp_path: Path) -> None:
    """In lists and groups; from the request's folder, below it, beside it, or from the root."""
    (tmp_path / "photos").mkdir()
    (tmp_path / "orders").mkdir()
    first = written(tmp_path / "photos", "1.jpg", "1")
    second = written(tmp_path / "orders", "2.jpg", "2")
    inputs = {
        "art": [{"photos": [{"href": "../photos/1.jpg"}, {"href": "2.jpg", "type": "image/jpeg"}]}],
        "again": {"href": str(first)},
        "uploaded": {"href": UPLOADED},
    }
    asked: list[Path] = []

    def store(path: Path) -> str:
        asked.append(path.resolve())
        return f"stored:{path.name}"

    assert with_files(inputs, tmp_path / "orders", store) == {
        "art": [{"photos": [{"href": "stored:1.jpg"}, {"href": "stored:2.jpg", "type": "image/jpeg"}]}],
        "again": {"href": "stored:1.jpg"},
        "uploaded": {"href": UPLOADED},
    }
    assert asked == [first, second, first]


def test_every_missing_file_is_told_at_its_place(tmp_path: Path) -> None:
    """A folder is no file either, nor is a name that no file can have."""
    inputs = {"art": [{"svg": {"href": "."}}, {"svg": {"href": "x" * 500}}, {"svg": {"href": "a\0b"}}]}

    with pytest.raises(Refusal) as refused:
        with_files(inputs, tmp_path, str)

    assert [error.pointer for error in refused.value.document.errors] == [
        f"/inputs/art/{number}/svg/href" for number in range(3)
    ]


def test_addresses_are_not_fetched(tmp_path: Path) -> None:
    """The command line fetches nothing from elsewhere either."""
    with pytest.raises(Refusal) as refused:
        with_files({"image": {"href": "https://example.org/a.png"}}, tmp_path, str)

    assert refused.value.document.code is ProblemCode.LINK_REFUSED
