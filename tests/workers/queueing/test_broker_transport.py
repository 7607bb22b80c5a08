"""Kombu's transport and our mend of it."""

import kombu
import pytest
import redis

from workers.queueing import connection as ours
from workers.queueing.broker_transport import register


def _abandoned_channel(url: str) -> object:
    """A channel whose connection is gone, as the second close in a worker's cleanup finds it."""
    register()
    with kombu.Connection(url) as connection:
        channel = connection.channel()
        channel.close()
        return channel


def test_a_channel_without_a_connection_says_so(broker_url: str) -> None:
    """As an error of connections: a worker recovers from those."""
    channel = _abandoned_channel(_through_triglyph(broker_url))

    with pytest.raises(redis.exceptions.ConnectionError) as error:
        channel._connparams()

    assert isinstance(error.value, kombu.Connection(_through_triglyph(broker_url)).connection_errors)


def test_kombu_alone_does_not(broker_url: str) -> None:
    """Kombu 5.7.0. When this fails, kombu is mended: drop the module and this file."""
    channel = _abandoned_channel(_through_triglyph(broker_url).replace("triglyph", "redis", 1))

    with pytest.raises(AttributeError, match="NoneType"):
        channel._connparams()


def test_messages_pass_through_it(broker_url: str) -> None:
    """It is a transport like kombu's own."""
    register()
    with kombu.Connection(_through_triglyph(broker_url)) as connection:
        queue = connection.SimpleQueue("test-transport")
        queue.put({"job": "x"})
        message = queue.get(timeout=5)
        message.ack()
        queue.close()

    assert message.payload == {"job": "x"}


def _through_triglyph(url: str) -> str:
    return ours.broker_url(url)
