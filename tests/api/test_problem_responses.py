"""Every error is a problem document of RFC 9457 that says what, where, and what to do."""

import json
from typing import Any

import pytest

from schemas.problems import STATUS, ProblemCode
from tests.support.front_desk import FrontDesk, InProcessClient, sign_inputs

MISSING = "/artifacts/sha256:" + "0" * 64


@pytest.fixture
def client() -> InProcessClient:
    """Somebody at a desk that takes requests of up to 20,000 bytes."""
    return FrontDesk(max_request_bytes=20_000).client()


def order(**changes: Any) -> dict[str, Any]:
    """A small sign order with some members changed."""
    return sign_inputs() | changes


BAD_REQUESTS = {
    "unknown field": (order(bord={}), "request-refused", "/inputs/bord"),
    "negative length": (
        order(lettering=[{"text": "A", "cap_height": "-3 mm", "x": 1, "y": 1}]),
        "request-refused",
        "/inputs/lettering/0/cap_height",
    ),
    "unknown bit": (
        order(incise={"bit": "vee-95", "depth_limit": 2}),
        "unknown-name",
        "/inputs/incise/bit",
    ),
    "unknown font": (
        order(lettering=[{"text": "A", "cap_height": 20, "x": 1, "y": 1, "font": "runes"}]),
        "unknown-name",
        "/inputs/lettering/0/font",
    ),
    "unknown machine": (order(machine="bench-6000"), "unknown-name", "/inputs/machine"),
    "unknown dialect": (order(dialect="latin"), "unknown-name", "/inputs/dialect"),
    "unknown material": (
        order(board={"width": 400, "height": 180, "thickness": 19, "material": "bass wood"}),
        "unknown-name",
        "/inputs/board/material",
    ),
    "board thinner than the limit": (
        order(incise={"bit": "vee-90", "depth_limit": "19.05 mm"}),
        "request-refused",
        "/inputs/incise/depth_limit",
    ),
    "missing file": (order(art=[{"svg": {"href": MISSING}}]), "missing-file", "/inputs/art/0/svg/href"),
    "a file elsewhere": (
        order(art=[{"svg": {"href": "https://example.org/a.svg"}}]),
        "link-refused",
        "/inputs/art/0/svg/href",
    ),
    "a file of this machine": (
        order(art=[{"photos": [{"href": "file:///etc/hosts"}]}]),
        "link-refused",
        "/inputs/art/0/photos/0/href",
    ),
    "an output of another job's step": (
        order(art=[{"svg": {"href": "step:layout/design"}}]),
        "link-refused",
        "/inputs/art/0/svg/href",
    ),
}


@pytest.mark.parametrize("name", BAD_REQUESTS)
def test_a_bad_request_is_told_at_its_place(client: InProcessClient, name: str) -> None:
    """Code, status, pointer and remedy are those of the fault; nothing is queued."""
    inputs, code, pointer = BAD_REQUESTS[name]

    answer = client.execute("sign", inputs)

    told = answer.json()
    assert answer.headers["content-type"] == "application/problem+json"
    assert (told["code"], answer.status_code) == (code, STATUS[ProblemCode(code)])
    assert [error["pointer"] for error in told["errors"]] == [pointer]
    assert told["errors"][0]["remedy"]
    assert told["remedy"]
    assert client.get("/jobs").json()["jobs"] == []


def test_close_names_are_offered(client: InProcessClient) -> None:
    """A name misspelt is answered with the names it may have meant."""
    told = client.execute("sign", order(incise={"bit": "vee-95", "depth_limit": 2})).json()

    assert "vee-90" in told["errors"][0]["remedy"]


@pytest.mark.parametrize(
    ("body", "media_type", "status"),
    [
        (b"{", "application/json", 400),
        (b"\xff\xfe", "application/json", 400),
        (b"[" * 5000, "application/json", 400),
        (b'{"inputs": ' + b"9" * 5000 + b"}", "application/json", 400),
        (b"{}", "text/plain", 415),
        (b"", "application/json", 422),
        (b"[]", "application/json", 422),
        (b"null", "application/json", 422),
        (b'{"inputs": {"message": "\\ud800"}}', "application/json", 422),
        (b" " * 20_001, "application/json", 413),
    ],
)
def test_bodies_that_cannot_be_read_are_problems(
    client: InProcessClient, body: bytes, media_type: str, status: int
) -> None:
    """Broken, deep, huge, mislabelled and empty bodies each have an answer of the one form."""
    answer = client.post("/processes/echo/execution", content=body, headers={"Content-Type": media_type})

    assert answer.status_code == status == answer.json()["status"]
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["remedy"]


def test_a_body_that_grows_too_large_is_stopped(client: InProcessClient) -> None:
    """Without a declared length the cap holds all the same."""

    async def pieces() -> Any:
        for _ in range(30):
            yield b" " * 1000

    answer = client.post(
        "/processes/echo/execution", content=pieces(), headers={"Content-Type": "application/json"}
    )

    assert (answer.status_code, answer.json()["code"]) == (413, "body-too-large")


def test_a_method_that_is_not_taken_is_a_problem(client: InProcessClient) -> None:
    """RFC 9110, 15.5.6: a 405 says in Allow what is taken."""
    answer = client.request("PATCH", "/jobs")

    assert (answer.status_code, answer.headers["allow"]) == (405, "GET")
    assert answer.json()["code"] == "method-not-allowed"


def test_a_fault_of_ours_tells_nothing_about_us() -> None:
    """No traceback, no text of the exception, no path: they may hold anything."""
    desk = FrontDesk()
    desk.jobs.ping = lambda: 1 / 0  # type: ignore[method-assign,assignment,return-value]

    answer = desk.client().get("/readyz")

    assert (answer.status_code, answer.json()["code"]) == (500, "internal-fault")
    assert "ivision" not in answer.text
    assert ".py" not in answer.text


def test_a_store_out_of_reach_says_when_to_try_again() -> None:
    """RFC 9110, 10.2.3: Retry-After on a 503."""
    desk = FrontDesk()
    desk.jobs.reachable = False

    answer = desk.client().get("/readyz")

    assert (answer.status_code, answer.headers["retry-after"]) == (503, "2")


def test_problems_name_the_request(client: InProcessClient) -> None:
    """RFC 9457, 3.1.5: 'instance' is this occurrence."""
    assert client.get("/jobs/nobody").json()["instance"] == "/jobs/nobody"


def test_every_code_has_a_status() -> None:
    """No problem can be made that has no status."""
    assert set(STATUS) == set(ProblemCode)


def test_broken_characters_in_a_query_do_not_break_the_answer(client: InProcessClient) -> None:
    """What was sent comes back escaped or not at all."""
    answer = client.get("/jobs?limit=%ED%A0%80")

    assert answer.status_code == 422
    json.loads(answer.content)
