"""Kombu's transport and our mends of it."""

from typing import Any

import kombu
import pytest
import redis

from workers.queueing import connection as ours
from workers.queueing.broker_transport import register
from workers.queueing.embedded import EmbeddedServer


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
    """Kombu 5.7.0. When this fails, kombu is mended: drop that part of the module and of this file."""
    channel = _abandoned_channel(_through_triglyph(broker_url).replace("triglyph", "redis", 1))

    with pytest.raises(AttributeError, match="NoneType"):
        channel._connparams()


@pytest.mark.parametrize("ending", ["ack", "requeue"])
def test_a_message_that_ends_while_the_server_is_away_counts_no_more(
    server: EmbeddedServer, ending: str
) -> None:
    """The channel asks for the next one, and so finds out that it has to connect again."""
    assert _asks_after_a_loss(server, ours.broker_url(server.url), ending)


@pytest.mark.parametrize("ending", ["ack", "requeue"])
def test_with_kombu_alone_it_counts_for_ever(server: EmbeddedServer, ending: str) -> None:
    """Kombu 5.7.0. When this fails, kombu is mended: drop that part of the module and of this file."""
    assert not _asks_after_a_loss(server, f"redis+socket://{server.url.removeprefix('unix://')}", ending)


def _asks_after_a_loss(server: EmbeddedServer, url: str, ending: str) -> bool:
    """Whether a channel that may hold one message asks for another when the first ended unheard."""
    register()
    with kombu.Connection(url) as connection:
        queue = connection.SimpleQueue("test-loss")
        channel: Any = queue.channel
        channel.basic_qos(0, 1, False)
        queue.put({"job": "x"})
        message = queue.get(timeout=5)
        assert not channel.qos.can_consume()
        server.stop()
        end = message.ack if ending == "ack" else message.requeue
        with pytest.raises(connection.connection_errors):
            end()
        server.start()
        asks: bool = channel.qos.can_consume()
        return asks


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
