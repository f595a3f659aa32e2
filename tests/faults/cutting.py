"""A wire that is cut: a TCP relay between two real processes which breaks off after so many bytes, either
way."""

import contextlib
import random
import socket
import threading


class CutWire:
    """Listens on a free port and carries to `target`. Each connection is cut after a number of bytes drawn
    from the seed, counted over both directions, or over the way back alone (`replies`): then what was sent
    has come through, and its answer is lost. `whole` lets everything through."""

    def __init__(
        self, target: tuple[str, int], seed: int, most: int = 60_000, *, replies: bool = False
    ) -> None:
        self.target = target
        self.whole = False
        self.replies = replies
        self.cut = 0
        self._dice = random.Random(seed)
        self._most = most
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._listener.getsockname()[1]
        self._thread = threading.Thread(target=self._accept, daemon=True)
        self._thread.start()

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listener.accept()
            except OSError:  # closed
                return
            left = None if self.whole else [self._dice.randint(0, self._most)]
            threading.Thread(target=self._carry, args=(near, left), daemon=True).start()

    def _carry(self, near: socket.socket, left: list[int] | None) -> None:
        with near, contextlib.suppress(OSError), socket.create_connection(self.target, 10) as far:
            ways = [
                threading.Thread(
                    target=self._pump, args=(near, far, None if self.replies else left), daemon=True
                ),
                threading.Thread(target=self._pump, args=(far, near, left), daemon=True),
            ]
            for way in ways:
                way.start()
            for way in ways:
                way.join()

    def _pump(self, source: socket.socket, sink: socket.socket, left: list[int] | None) -> None:
        with contextlib.suppress(OSError):
            while data := source.recv(4096):
                if left is not None and len(data) >= left[0]:
                    self.cut += 1
                    sink.sendall(data[: left[0]])
                    break
                if left is not None:
                    left[0] -= len(data)
                sink.sendall(data)
        for end in (source, sink):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)

    def close(self) -> None:
        self._listener.close()
        self._thread.join(5)
