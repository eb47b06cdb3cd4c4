"""A small MQTT 3.1.1 client for MicroPython: publish at QoS 0 and 1, subscribe at QoS 0, will, keepalive.

OASIS MQTT Version 3.1.1. One connection, one thread; whatever goes wrong is an OSError, and then connect anew.
"""

import select
import socket
import struct
import time

CONNECT, CONNACK, PUBLISH, PUBACK, SUBSCRIBE, SUBACK, PINGREQ, PINGRESP = 1, 2, 3, 4, 8, 9, 12, 13
ANSWER_MS = 3000


def text(value):
    data = value if isinstance(value, bytes) else value.encode()
    return struct.pack("!H", len(data)) + data


def packet(kind, flags, body):
    head, left = bytearray([kind << 4 | flags]), len(body)
    while True:  # section 2.2.3: seven bits a byte
        left, digit = left >> 7, left & 0x7F
        head.append(digit | 0x80 if left else digit)
        if not left:
            return bytes(head) + body


class Tls:
    """A socket's recv and send over TLS. Raises OSError or ValueError where the broker is not to be trusted."""

    def __init__(self, plain, host, trust):
        import ssl

        context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        context.verify_mode = ssl.CERT_REQUIRED
        with open(trust, "rb") as file:
            context.load_verify_locations(cadata=file.read())
        self.plain = plain
        self.stream = context.wrap_socket(plain, server_hostname=host)
        plain.setblocking(False)

    def recv(self, size):
        """None where nothing has come."""
        return self.stream.read(size)

    def send(self, data):
        return self.stream.write(data) or 0

    def close(self):
        self.stream.close()
        self.plain.close()


class Client:
    """`heard(topic, payload, retained)` is called for what comes in. With `trust`, a certificate's file in DER, it
    speaks TLS, and only with a broker that has a certificate by that authority for this very host."""

    def __init__(self, name, host, port=1883, user=None, password=None, keepalive_s=10, heard=None, trust=None):
        self.name, self.host, self.port, self.user, self.password = name, host, port, user, password
        self.keepalive_s, self.heard, self.trust = keepalive_s, heard, trust
        self.socket = None
        self._poll = self._buffer = None
        self._id = 0
        self._sent_ms = self._came_ms = 0
        self._answered = set()

    def connect(self, will_topic, will):
        """Raises OSError. The will is retained, QoS 1."""
        self.close()
        self.socket = socket.socket()
        try:
            self.socket.settimeout(ANSWER_MS / 1000)
            self.socket.connect(socket.getaddrinfo(self.host, self.port)[0][-1])
            if self.trust:
                self.socket = Tls(self.socket, self.host, self.trust)
            self._poll = select.poll()
            self._poll.register(getattr(self.socket, "stream", self.socket), select.POLLIN)
            self._buffer, self._answered = b"", set()
            self._came_ms = time.ticks_ms()
            flags = 0x02 | 0x04 | 0x08 | 0x20  # clean session, will, its QoS 1, its retain
            named = b""
            if self.user:
                flags |= 0xC0
                named = text(self.user) + text(self.password or "")
            head = text("MQTT") + bytes([4, flags]) + struct.pack("!H", self.keepalive_s)
            self._send(packet(CONNECT, 0, head + text(self.name) + text(will_topic) + text(will) + named))
            self._wait((CONNACK, 0))
        except (OSError, ValueError) as fault:
            self.close()
            raise OSError(str(fault)) from None

    def publish(self, topic, payload, retain=False, qos=0):
        """At QoS 1 it waits for the broker's word. Raises OSError."""
        mark = b""
        if qos:
            self._id = self._id % 65535 + 1
            mark = struct.pack("!H", self._id)
        body = text(topic) + mark + (payload if isinstance(payload, bytes) else payload.encode())
        self._send(packet(PUBLISH, (2 if qos else 0) | (1 if retain else 0), body))
        if qos:
            self._wait((PUBACK, self._id))

    def subscribe(self, topic):
        self._id = self._id % 65535 + 1
        self._send(packet(SUBSCRIBE, 2, struct.pack("!H", self._id) + text(topic) + b"\0"))
        self._wait((SUBACK, self._id))

    def look(self, wait_ms=0):
        """Takes in what has come, keeps the connection alive. Raises OSError where it is lost or the broker silent."""
        if self.socket is None:
            raise OSError("not connected")
        now = time.ticks_ms()
        if time.ticks_diff(now, self._came_ms) > 1500 * self.keepalive_s:
            raise OSError("the broker is silent")
        if time.ticks_diff(now, self._sent_ms) > 500 * self.keepalive_s:
            self._send(packet(PINGREQ, 0, b""))
        if self._poll.poll(wait_ms):
            data = self.socket.recv(1024)
            if data is None:
                return  # TLS had something to say to itself
            if not data:
                raise OSError("the broker hung up")
            self._came_ms = time.ticks_ms()
            self._buffer += data
            while self._take():
                pass

    def close(self):
        if self.socket is not None:
            self.socket.close()
            self.socket = None

    def _send(self, data):
        if self.socket is None:
            raise OSError("not connected")
        sent = 0
        while sent < len(data):
            sent += self.socket.send(data[sent:])
        self._sent_ms = time.ticks_ms()

    def _wait(self, answer):
        until = time.ticks_add(time.ticks_ms(), ANSWER_MS)
        while answer not in self._answered:
            if time.ticks_diff(until, time.ticks_ms()) <= 0:
                raise OSError("no answer")
            self.look(50)
        self._answered.discard(answer)

    def _take(self):
        """One packet out of what has come; False where it is not whole yet."""
        size, shift, at = 0, 0, 1
        while True:
            if at >= len(self._buffer):
                return False
            digit = self._buffer[at]
            size |= (digit & 0x7F) << shift
            shift, at = shift + 7, at + 1
            if not digit & 0x80:
                break
            if at > 4:
                raise OSError("garble")
        if len(self._buffer) < at + size:
            return False
        first, body = self._buffer[0], self._buffer[at : at + size]
        self._buffer = self._buffer[at + size :]
        self._packet(first >> 4, first & 15, body)
        return True

    def _packet(self, kind, flags, body):
        if kind == CONNACK:
            if body[1]:
                raise OSError("refused, code %d" % body[1])
            self._answered.add((CONNACK, 0))
        elif kind in (PUBACK, SUBACK):
            self._answered.add((kind, struct.unpack("!H", body[:2])[0]))
        elif kind == PUBLISH and self.heard:
            (length,) = struct.unpack("!H", body[:2])
            self.heard(body[2 : 2 + length].decode(), body[2 + length :], bool(flags & 1))
