"""A mail server of our own on a free port, which keeps what it took and can hold its answer back (RFC 5321)."""

import socketserver
import threading
from contextlib import contextmanager
from email import message_from_bytes
from email.policy import default


class Inbox(socketserver.ThreadingTCPServer):
    """mails: what it took, in the order in which they came. Closed, it takes mails but does not say so."""

    daemon_threads = True

    def __init__(self):
        super().__init__(("127.0.0.1", 0), _Conversation)
        self.mails, self._answers = [], threading.Event()
        self._answers.set()

    @property
    def url(self):
        return f"smtp://127.0.0.1:{self.server_address[1]}"

    def hold_answers(self):
        self._answers.clear()

    def answer(self):
        self._answers.set()

    def take(self, data):
        self.mails.append(message_from_bytes(data, policy=default))
        self._answers.wait()

    def handle_error(self, request, client_address):
        """Whoever sent may be killed over it."""


class _Conversation(socketserver.StreamRequestHandler):
    def handle(self):
        self._say("220 ready")
        for line in self.rfile:
            word = line.split()[0].upper() if line.split() else b""
            if word == b"DATA":
                self._say("354 go on")
                self.server.take(self._mail())
                self._say("250 taken")
            elif word == b"QUIT":
                self._say("221 bye")
                return
            else:
                self._say("250 fine")

    def _mail(self):
        lines = []
        for line in self.rfile:
            if line == b".\r\n":
                break
            lines.append(line[1:] if line.startswith(b"..") else line)
        return b"".join(lines)

    def _say(self, text):
        self.wfile.write(f"{text}\r\n".encode())


@contextmanager
def inbox():
    """A mail server while the block lasts."""
    with Inbox() as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            yield server
        finally:
            server.answer()
            server.shutdown()
