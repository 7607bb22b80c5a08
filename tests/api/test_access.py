"""Who is let in, to what, and how much of it."""

from typing import Any

import pytest

from api.keys import KIOSK, Key, Right, new_key, read_keys
from schemas.problems import ProblemCode
from tests.support.front_desk import FrontDesk, InProcessClient, sign_inputs


def bearer(token: str) -> dict[str, str]:
    """The header that shows a key."""
    return {"Authorization": f"Bearer {token}"}


@pytest.fixture
def two_keys() -> tuple[FrontDesk, str, str]:
    """A desk with a kiosk's key and an office's key that has all rights."""
    kiosk, kiosk_entry = new_key("kiosk")
    office, office_entry = new_key("office", frozenset(Right))
    return FrontDesk(keys=[kiosk_entry, office_entry]), kiosk, office


def test_without_keys_this_machine_is_let_in() -> None:
    """A fresh installation works at once, here."""
    assert FrontDesk().client().get("/jobs").status_code == 200
    assert FrontDesk().client(host="::1").get("/jobs").status_code == 200


@pytest.mark.parametrize("path", ["/jobs", "/", "/readyz"])
def test_without_keys_other_machines_are_not(path: str) -> None:
    """RFC 9110, 15.5.2: 401 with WWW-Authenticate."""
    answer = FrontDesk().client(host="192.0.2.7").get(path)

    assert (answer.status_code, answer.headers["www-authenticate"]) == (401, "Bearer")


def test_an_operator_may_let_a_trusted_network_in() -> None:
    """By a setting of its own, never by chance."""
    assert FrontDesk(allow_anyone=True).client(host="192.0.2.7").get("/jobs").status_code == 200


@pytest.mark.parametrize(
    "headers",
    [{"Host": "evil.example"}, {"Origin": "https://evil.example"}, {"Origin": "null"}],
)
def test_pages_of_other_hosts_cannot_call_through_a_browser(headers: dict[str, str]) -> None:
    """A name rebound to this machine, and a page that posts from elsewhere, are both refused."""
    answer = FrontDesk().client().post("/artifacts", content=b"x", headers=headers)

    assert (answer.status_code, answer.json()["code"]) == (403, "not-allowed")


def test_pages_of_listed_origins_may_call() -> None:
    """CORS (Fetch standard, 3.2): preflight and answer name the origin; others are told nothing."""
    client = FrontDesk(web_origins="https://shop.example", allow_anyone=True).client()
    asked = {"Access-Control-Request-Method": "POST", "Access-Control-Request-Headers": "content-type"}

    preflight = client.request("OPTIONS", "/jobs", headers={"Origin": "https://shop.example", **asked})
    answer = client.get("/jobs", headers={"Origin": "https://shop.example"})
    stranger = client.get("/jobs", headers={"Origin": "https://evil.example"})

    assert preflight.headers["access-control-allow-origin"] == "https://shop.example"
    assert answer.headers["access-control-allow-origin"] == "https://shop.example"
    assert "access-control-allow-origin" not in stranger.headers
    assert stranger.status_code == 403


def test_a_page_of_this_service_itself_may_call() -> None:
    """Its origin is the host that was asked."""
    answer = FrontDesk().client().get("/jobs", headers={"Origin": "http://127.0.0.1:8500"})

    assert answer.status_code == 200


def test_with_keys_a_key_is_needed(two_keys: Any) -> None:
    """For jobs and files; what the service is and whether it lives stays open."""
    desk, _, _ = two_keys
    client = desk.client()

    assert client.get("/jobs").status_code == 401
    assert client.execute("echo", {}).status_code == 401
    assert client.post("/artifacts", content=b"x").status_code == 401
    assert client.get("/processes").status_code == 200
    assert client.get("/healthz").status_code == 200


@pytest.mark.parametrize(
    "given", ["Bearer nobody.secret", "Bearer kiosk.secret", "Bearer kiosk", "Basic x", "", "Bearer \xff.x"]
)
def test_a_wrong_key_is_refused_everywhere(two_keys: Any, given: str) -> None:
    """Unknown id, wrong secret, other scheme: one answer for all."""
    desk, _, _ = two_keys

    answer = desk.client().get("/processes", headers={"Authorization": given.encode("latin-1")})

    assert answer.status_code == 401


def test_a_key_opens(two_keys: Any) -> None:
    """The token of a key lets its holder work."""
    desk, kiosk, _ = two_keys

    assert desk.client(**bearer(kiosk)).execute("echo", {}).status_code == 201


def test_bulk_work_needs_its_right(two_keys: Any) -> None:
    """A kiosk's key has no bulk; an office's has."""
    desk, kiosk, office = two_keys
    path = "/processes/echo/execution?class=bulk"

    refused = desk.client(**bearer(kiosk)).post(path, json={"inputs": {}})
    assert (refused.status_code, refused.json()["code"]) == (403, "not-allowed")
    assert desk.client(**bearer(office)).post(path, json={"inputs": {}}).status_code == 201


def test_jobs_of_others_do_not_exist(two_keys: Any) -> None:
    """404 as for any unknown job, for its state, results, events and dismissal, and not in the list."""
    desk, kiosk, office = two_keys
    job = desk.client(**bearer(office)).execute("echo", {}).headers["location"]
    other: InProcessClient = desk.client(**bearer(kiosk))

    for path in (job, job + "/results", job + "/results/message", job + "/events"):
        assert other.get(path).json()["code"] == ProblemCode.NO_SUCH_JOB
    assert other.delete(job).status_code == 404
    assert other.get("/jobs").json()["jobs"] == []


def test_files_of_others_cannot_be_used(two_keys: Any) -> None:
    """Knowing a digest opens nothing, and does not make a link."""
    desk, kiosk, office = two_keys
    href = desk.client(**bearer(office)).post("/artifacts", content=b"<svg/>").json()["href"]
    other: InProcessClient = desk.client(**bearer(kiosk))

    assert other.get(href).status_code == 404
    answer = other.execute("sign", sign_inputs() | {"art": [{"svg": {"href": href}}]})
    assert answer.json()["code"] == "missing-file"


def key(**limits: int) -> tuple[str, Key]:
    """A kiosk's key with limits: the secret and its entry."""
    token, entry = new_key("kiosk")
    return token, entry.model_copy(update=limits)


def test_jobs_at_once_are_limited() -> None:
    """The quota is counted by the store; when a job has ended there is room again."""
    token, entry = key(jobs_at_once=1)
    desk = FrontDesk(keys=[entry])
    client = desk.client(**bearer(token))
    job = client.execute("echo", {}).json()["jobID"]

    answer = client.execute("echo", {})
    assert (answer.status_code, answer.json()["code"]) == (429, "quota-exceeded")
    assert int(answer.headers["retry-after"]) > 0
    desk.jobs.finish(job, {})
    assert client.execute("echo", {}).status_code == 201


def test_requests_a_minute_are_limited() -> None:
    """A burst as large as the minute's allowance, then 429 with a time to wait."""
    token, entry = key(requests_per_minute=3)
    client = FrontDesk(keys=[entry]).client(**bearer(token))

    answers = [client.get("/jobs") for _ in range(4)]

    assert [answer.status_code for answer in answers] == [200, 200, 200, 429]
    assert 1 <= int(answers[-1].headers["retry-after"]) <= 21


def test_stored_bytes_are_limited() -> None:
    """What is left of the room caps the next upload."""
    token, entry = key(stored_bytes=10)
    client = FrontDesk(keys=[entry]).client(**bearer(token))

    assert client.post("/artifacts", content=b"12345678").status_code == 201
    assert client.post("/artifacts", content=b"abc").status_code == 413
    assert client.post("/artifacts", content=b"ab").status_code == 201
    assert client.post("/artifacts", content=b"c").json()["code"] == "quota-exceeded"


def test_a_key_is_kept_nowhere(tmp_path: Any) -> None:
    """The keys file has a digest of the secret, which is 256 random bits; reading it back gives the key."""
    token, entry = new_key("kiosk")
    path = tmp_path / "keys.json"
    path.write_text('{"keys": [' + entry.model_dump_json() + "]}")

    assert read_keys(path) == [entry]
    assert token.partition(".")[2] not in path.read_text()
    assert len(token.partition(".")[2]) >= 43
    assert entry.rights == KIOSK


def test_every_answer_is_guarded() -> None:
    """No guessing of types, no framing, no shared caches, and no other origin is let in."""
    client = FrontDesk().client()

    for answer in (client.get("/"), client.get("/nowhere"), client.get("/jobs?limit=0")):
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "frame-ancestors 'none'" in answer.headers["content-security-policy"]
        assert answer.headers["cache-control"] == "no-store"
        assert "access-control-allow-origin" not in answer.headers
