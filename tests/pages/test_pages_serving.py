"""The socket the pages are served on."""

import asyncio
import socket

from monitor.pages.serving import listen


def test_a_push_waits_for_no_acknowledgement() -> None:
    """Nagle's algorithm (RFC 896) against delayed acknowledgements (RFC 1122, 4.2.3.2): up to 40 ms a push."""

    async def taken() -> int:
        made: asyncio.Future[asyncio.BaseTransport] = asyncio.get_running_loop().create_future()

        class Taking(asyncio.Protocol):
            def connection_made(self, transport: asyncio.BaseTransport) -> None:
                made.set_result(transport)

        sock = listen("127.0.0.1", 0)
        server = await asyncio.get_running_loop().create_server(Taking, sock=sock)
        with socket.create_connection(sock.getsockname()[:2]):
            transport = await made
            nodelay = transport.get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
            transport.close()
        server.close()
        return nodelay

    assert asyncio.run(taken())
