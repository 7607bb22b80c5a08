"""Telling subscribers that their job has ended: signed, to listed addresses, again until heard."""

import asyncio
import base64
import hashlib
import hmac
import logging
import time
from collections.abc import Sequence

import httpx
from starlette.concurrency import run_in_threadpool

from api.ports import Callbacks, JobStore
from api.public_address import NotPublicError, pinned
from api.result_links import result_links
from api.subscribers import is_trusted_origin
from schemas.job_records import CallbackDue, JobRecord
from schemas.jobs import JobStatus
from schemas.problems import Refusal

_LOG = logging.getLogger("triglyph.callbacks")
_AGAIN_AFTER_S = (5, 30, 300, 1800, 7200, 21_600)  # then it is given up; the job itself stays
_AT_ONCE = 8
_HOLD_S = 60.0
_TIMEOUT_S = 15.0
_SECRET_PREFIX = "whsec_"  # noqa: S105 - how Standard Webhooks writes every secret


def signature(secret: str, message_id: str, timestamp: int, body: bytes) -> str:
    """Return the signature of a message.

    Args:
        secret: ``whsec_`` and base64 of 24 to 64 random bytes.
        message_id: The same over all tries.
        timestamp: Seconds since 1970, of this try.
        body: Exactly the bytes sent.

    Source: Standard Webhooks, "signature scheme", v1.
    """
    key = base64.b64decode(secret.removeprefix(_SECRET_PREFIX))
    signed = f"{message_id}.{timestamp}.".encode() + body
    return "v1," + base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()


class CallbackSender:
    """Takes what is due and delivers it.

    Args:
        callbacks: What is due.
        jobs: What the jobs came to.
        listed: Hosts and origins that may be called.
        secret: Signs each message; none: unsigned.
        public_url: Put before the links in messages.
        http: A client of its own settings, for tests.
    """

    def __init__(
        self,
        callbacks: Callbacks,
        jobs: JobStore,
        listed: Sequence[str],
        secret: str | None,
        public_url: str = "",
        http: httpx.AsyncClient | None = None,
    ) -> None:
        self._callbacks = callbacks
        self._jobs = jobs
        self._listed = listed
        self._secret = secret
        self._public_url = public_url.rstrip("/")
        self._http = http or httpx.AsyncClient(trust_env=False, follow_redirects=False, timeout=_TIMEOUT_S)

    async def run(self, pause_s: float = 1.0) -> None:
        """Deliver what is due, for ever; ended by cancelling."""
        try:
            while True:
                try:
                    if not await self.deliver_due():
                        await asyncio.sleep(pause_s)
                except Refusal:  # the store is out of reach for a while
                    await asyncio.sleep(5 * pause_s)
        finally:
            await self._http.aclose()

    async def deliver_due(self) -> int:
        """Deliver what is due now; return how many there were."""
        due = await run_in_threadpool(self._callbacks.take, _AT_ONCE, _HOLD_S)
        await asyncio.gather(*map(self._deliver, due))
        return len(due)

    async def _deliver(self, due: CallbackDue) -> None:
        if await self._is_heard(due):
            await run_in_threadpool(self._callbacks.settle, due.id)
        elif due.tries < len(_AGAIN_AFTER_S):
            await run_in_threadpool(self._callbacks.put_off, due.id, float(_AGAIN_AFTER_S[due.tries]))
        else:
            _LOG.warning("the subscriber of job %s was not reached and is given up", due.job_id)
            await run_in_threadpool(self._callbacks.settle, due.id)

    async def _is_heard(self, due: CallbackDue) -> bool:
        """Return whether nothing is left to be told: delivered, refused for good, or nobody asked."""
        try:
            record = await run_in_threadpool(self._jobs.job, due.job_id)
            message = await run_in_threadpool(self._message, record)
        except Refusal as refusal:
            return refusal.document.status in (404, 410)  # the job is gone
        if message is None:
            return True
        address, body = message
        try:
            target = await pinned(address, trusted=is_trusted_origin(address, self._listed))
            async with self._http.stream(
                "POST",
                target.url,
                content=body,
                headers={"Host": target.host, **self._headers(due.id, body)},
                extensions={"sni_hostname": target.host.partition(":")[0]},
            ) as answer:
                return answer.is_success or answer.status_code == 410
        except (httpx.HTTPError, OSError, NotPublicError, ValueError) as error:
            _LOG.info("the subscriber of job %s is not reached: %s", due.job_id, type(error).__name__)
            return False

    def _message(self, record: JobRecord) -> tuple[str, bytes] | None:
        """Return whom to tell, and the standard's body: the results document, or the exception."""
        if record.subscriber is None:
            return None
        job = record.status
        if job.status is JobStatus.SUCCESSFUL and record.subscriber.successUri:
            links = result_links(self._public_url, record, self._jobs.outputs(job.jobID))
            members = ",".join(f'"{name}":{link.model_dump_json()}' for name, link in links.items())
            return record.subscriber.successUri, ("{" + members + "}").encode()
        if job.status is JobStatus.FAILED and record.subscriber.failedUri and job.exception:
            why = job.exception.model_copy(update={"jobID": job.jobID})
            return record.subscriber.failedUri, why.model_dump_json(exclude_none=True).encode()
        return None

    def _headers(self, message_id: str, body: bytes) -> dict[str, str]:
        timestamp = int(time.time())
        headers = {
            "Content-Type": "application/json",
            "webhook-id": message_id,
            "webhook-timestamp": str(timestamp),
        }
        if self._secret:
            headers["webhook-signature"] = signature(self._secret, message_id, timestamp, body)
        return headers
