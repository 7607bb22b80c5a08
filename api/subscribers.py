"""Who may be called back: addresses that the operator listed, and no others.

An entry of the list is a host, called by https at public addresses only; or an
origin, ``http://192.168.1.5:8080``, which is trusted as it stands.
"""

from collections.abc import Sequence
from urllib.parse import urlsplit

from api.problem_responses import request_problem
from schemas.job_records import Subscriber
from schemas.problems import FieldError, ProblemCode, Refusal


def check_subscriber(subscriber: Subscriber, listed: Sequence[str]) -> None:
    """Return if every address given may be called.

    Raises:
        Refusal: link-refused.
    """
    errors = [
        FieldError(pointer=f"/subscriber/{name}", detail=objection[0], remedy=objection[1])
        for name, address in subscriber.model_dump(exclude_none=True).items()
        if (objection := _objection(name, address, listed))
    ]
    if errors:
        raise Refusal(request_problem(errors, ProblemCode.LINK_REFUSED))


def is_trusted_origin(address: str, listed: Sequence[str]) -> bool:
    """Return whether the operator listed this very origin."""
    parts = urlsplit(address)
    return f"{parts.scheme}://{parts.netloc}".lower() in listed


def _objection(name: str, address: str, listed: Sequence[str]) -> tuple[str, str] | None:
    if not listed:
        return "this installation calls nobody back", "Follow the job at /jobs/{id}/events instead."
    if name == "inProgressUri":
        return "only the end of a job is called out", "Follow the job at /jobs/{id}/events instead."
    try:
        parts = urlsplit(address)
        host, _ = parts.hostname or "", parts.port
    except ValueError:
        return "this is no address", "Give an address like https://shop.example/jobs."
    if parts.username or parts.password or parts.fragment or not address.isprintable():
        return "an address with a password or a fragment is not called", "Leave both out."
    if is_trusted_origin(address, listed):
        return None
    if parts.scheme != "https":
        return "only https addresses are called", "Give an https address."
    if host not in listed:
        return (
            f"'{host}' is not among the hosts that may be called",
            "Ask whoever runs this service to list it.",
        )
    return None
