"""Calling addresses of other people: only public ones, resolved once and then held to."""

import asyncio
import ipaddress
import socket
from dataclasses import dataclass
from urllib.parse import SplitResult, urlsplit

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
_NAT64 = ipaddress.ip_network("64:ff9b::/96")


class NotPublicError(Exception):
    """The name leads into a network that is nobody's business."""


@dataclass(frozen=True, slots=True)
class PinnedTarget:
    """Where to connect, and what to say there: the name cannot be rebound in between."""

    url: str  # with the address in place of the name
    host: str  # the name, for the Host field and the certificate


def is_public(address: Address) -> bool:
    """Return whether an address is one of the public internet, also behind ways of writing one in another.

    >>> is_public(ipaddress.ip_address("::ffff:10.0.0.1"))
    False
    """
    if isinstance(address, ipaddress.IPv6Address):
        inner = address.ipv4_mapped or address.sixtofour or (address.teredo[1] if address.teredo else None)
        if address in _NAT64:
            inner = ipaddress.IPv4Address(int(address) & 0xFFFFFFFF)
        if inner is not None:
            return is_public(inner)
    return address.is_global and not address.is_multicast


async def pinned(url: str, *, trusted: bool) -> PinnedTarget:
    """Resolve the name of a URL once.

    Args:
        url: Checked before: http or https, with a host.
        trusted: The operator listed this very origin, so it may be anywhere.

    Raises:
        NotPublicError: Any of its addresses is not public.
        OSError: It does not resolve.
    """
    parts = urlsplit(url)
    host = parts.hostname or ""
    found = await asyncio.get_running_loop().getaddrinfo(host, parts.port or 443, type=socket.SOCK_STREAM)
    addresses = [ipaddress.ip_address(str(entry[4][0]).partition("%")[0]) for entry in found]
    if not trusted and not all(map(is_public, addresses)):
        raise NotPublicError(host)
    return PinnedTarget(_with_host(parts, addresses[0]), parts.netloc.rpartition("@")[2])


def _with_host(parts: SplitResult, address: Address) -> str:
    host = f"[{address}]" if address.version == 6 else str(address)
    port = f":{parts.port}" if parts.port else ""
    return parts._replace(netloc=host + port).geturl()
