"""Who may do what: keys, scopes, quotas. Without keys, only this very machine is let in."""

import hmac
import ipaddress
import time
from dataclasses import dataclass, field
from typing import Annotated, Any

from fastapi import Depends, Request
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

from api.keys import Key, Right, digest_of
from api.problem_responses import refusal_response
from api.settings import Settings
from schemas.problems import ProblemCode, Refusal, problem

_READING = {"GET", "HEAD", "OPTIONS"}


@dataclass(frozen=True, slots=True)
class Caller:
    """Who sent a request, and what they may do."""

    owner: str
    rights: frozenset[Right]
    jobs_at_once: int | None = None
    stored_bytes: int | None = None

    def require(self, right: Right) -> None:
        """Return if the caller has this right.

        Raises:
            Refusal: not-allowed.
        """
        if right not in self.rights:
            raise Refusal(
                problem(
                    ProblemCode.NOT_ALLOWED,
                    f"this key may not do this: it lacks the right '{right}'",
                    remedy="Ask whoever runs this service for a key with this right.",
                )
            )


LOCAL = Caller(owner="local", rights=frozenset(Right))


@dataclass(slots=True)
class _Allowance:
    """A bucket of requests that fills up again over a minute."""

    per_minute: int
    left: float
    since_s: float = field(default_factory=time.monotonic)

    def take(self) -> float:
        """Take one request; return 0, or how many seconds to wait for the next."""
        now_s = time.monotonic()
        self.left = min(self.per_minute, self.left + (now_s - self.since_s) * self.per_minute / 60)
        self.since_s = now_s
        if self.left < 1:
            return (1 - self.left) * 60 / self.per_minute
        self.left -= 1
        return 0.0


class Access:
    """Finds out who calls before anything of the body is read.

    Args:
        app: What is guarded.
        keys: The keys that open it; none: only this very machine is let in, without a key.
        settings: Whether, without keys, other machines are let in too; which web pages may call.
    """

    def __init__(self, app: ASGIApp, keys: list[Key], settings: Settings) -> None:
        self._app = app
        self._keys = {key.id: key for key in keys}
        self._allowances = {
            key.id: _Allowance(key.requests_per_minute, key.requests_per_minute) for key in keys
        }
        self._allow_anyone = settings.allow_anyone
        self._web_origins = settings.web_origin_list

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on with ``scope["state"]["caller"]`` set."""
        if scope["type"] == "http":
            try:
                caller = self._caller(scope)
                if caller is None and scope["method"] not in _READING:
                    raise _no_key()
            except Refusal as refusal:
                await refusal_response(refusal, scope["path"])(scope, receive, send)
                return
            scope.setdefault("state", {})["caller"] = caller
        await self._app(scope, receive, send)

    def _caller(self, scope: Scope) -> Caller | None:
        if not self._keys:
            if not self._allow_anyone:
                _require_this_machine(scope)
            _require_own_page(scope, self._web_origins)
            return LOCAL
        given = Headers(scope=scope).get("authorization")
        if given is None:
            return None
        key = self._key(given)
        if wait_s := self._allowances[key.id].take():
            raise Refusal(
                problem(
                    ProblemCode.QUOTA_EXCEEDED,
                    f"this key may send {key.requests_per_minute} requests a minute",
                    remedy="Wait a little, then go on more slowly.",
                ),
                retry_after_s=int(wait_s) + 1,
            )
        return Caller(key.id, key.rights, key.jobs_at_once, key.stored_bytes)

    def _key(self, given: str) -> Key:
        scheme, _, token = given.partition(" ")
        key_id, _, secret = token.strip().partition(".")
        key = self._keys.get(key_id)
        expected = key.secret_sha256 if key else digest_of("nobody")
        right = hmac.compare_digest(
            digest_of(secret), expected
        )  # as long for an unknown key as for a wrong secret
        if key is None or not right or scheme.lower() != "bearer":
            raise _no_key("this key is not known here")
        return key


def allowed(right: Right) -> Any:
    """Return the dependency that yields the caller, if they have this right."""

    def caller_of(
        request: Request, _: Annotated[HTTPAuthorizationCredentials | None, Depends(_BEARER)]
    ) -> Caller:
        caller: Caller | None = request.state.caller
        if caller is None:
            raise _no_key()
        caller.require(right)
        return caller

    return Depends(caller_of)


_BEARER = HTTPBearer(
    auto_error=False, description="a key of this installation; none is needed on its own machine"
)


def _no_key(detail: str = "this needs a key") -> Refusal:
    return Refusal(
        problem(
            ProblemCode.NOT_AUTHENTICATED,
            detail,
            remedy="Send the header 'Authorization: Bearer KEY'; whoever runs this service has keys.",
        )
    )


def _require_this_machine(scope: Scope) -> None:
    """Refuse other machines, and names of this one that somebody else has made."""
    client = scope.get("client")
    if client is not None and not _is_loopback(client[0]):
        raise _no_key("without keys, this service talks to its own machine only")
    if not _is_loopback(_host_name(Headers(scope=scope).get("host", "localhost"))):
        raise _strange_page()


def _require_own_page(scope: Scope, web_origins: list[str]) -> None:
    """Refuse web pages of other hosts that make somebody's browser call here: without keys it could."""
    headers = Headers(scope=scope)
    origin = headers.get("origin")
    if origin is None or origin.lower() in web_origins:
        return
    if origin.partition("//")[2] != headers.get("host"):
        raise _strange_page()


def _strange_page() -> Refusal:
    return Refusal(
        problem(
            ProblemCode.NOT_ALLOWED,
            "a web page of another host may not call this service",
            remedy="Call it as http://127.0.0.1, or list the page's origin in TRIGLYPH_WEB_ORIGINS.",
        )
    )


def _host_name(host_and_port: str) -> str:
    if host_and_port.startswith("["):
        return host_and_port[1:].partition("]")[0]
    return host_and_port.partition(":")[0]


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
