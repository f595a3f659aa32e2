"""One server at a time uses a folder, and nothing moves it away beneath a running one."""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from .ending import CommandError

LOCK = "serving.lock"


@contextmanager
def holding(data: Path) -> Iterator[None]:
    """Holds the folder until the end, or of the process, however it ends. Fault: in_use."""
    with (data / LOCK).open("a") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as error:
            raise CommandError("in_use", "--data", f"a server is running on {data}; stop it first") from error
        yield
