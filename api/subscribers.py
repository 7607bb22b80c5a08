"""Who may be called back: addresses on hosts that the operator listed, and no others."""

from collections.abc import Sequence
from urllib.parse import urlsplit

from api.problem_responses import request_problem
from schemas.job_records import Subscriber
from schemas.problems import FieldError, ProblemCode, Refusal


def check_subscriber(subscriber: Subscriber, hosts: Sequence[str]) -> None:
    """Return if every address given may be called.

    Raises:
        Refusal: link-refused.
    """
    errors = [
        FieldError(pointer=f"/subscriber/{name}", detail=objection, remedy=remedy)
        for name, address in subscriber.model_dump(exclude_none=True).items()
        for objection, remedy in [_objection(address, hosts)]
        if objection
    ]
    if errors:
        raise Refusal(request_problem(errors, ProblemCode.LINK_REFUSED))


def _objection(address: str, hosts: Sequence[str]) -> tuple[str, str]:
    if not hosts:
        return "this installation calls nobody back", "Follow the job at /jobs/{id}/events instead."
    try:
        parts = urlsplit(address)
        host = parts.hostname or ""
    except ValueError:
        return "this is no address", "Give an address like https://shop.example/jobs."
    if parts.scheme != "https" or parts.username or parts.password:
        return "only https addresses without a password are called", "Give an https address."
    if host not in hosts:
        return (
            f"'{host}' is not among the hosts that may be called",
            "Ask whoever runs this service to list it.",
        )
    return "", ""
