"""Counts failed tries, so that neither a password nor an enrolment code can be guessed by patience."""

import time
from collections import OrderedDict, deque
from collections.abc import Callable

from chinrest.server.faults import RequestError

REMEMBERED = 10_000  # keys; the oldest are forgotten first, so that memory stays bounded


class Tries:
    """At most `most` failures for one key within `within_s` seconds. In memory: a restart forgives.

    A try counts as a failure from its beginning, until it is known to be none: many at once would else all
    begin before the first has failed.
    """

    def __init__(self, most: int, within_s: float, clock: Callable[[], float] = time.monotonic) -> None:
        self.most = most
        self.within_s = within_s
        self._clock = clock
        self._failures: OrderedDict[str, deque[float]] = OrderedDict()

    def begin(self, key: str, where: str) -> None:
        """Count a try. Raises RequestError (429, with Retry-After) while the key has failed too often."""
        kept = self._recent(key)
        if len(kept) >= self.most:
            wait = max(1, round(kept[0] + self.within_s - self._clock()))
            why = f"too many failed tries; wait {wait} s and try again"
            raise RequestError(429, "too_many_tries", where, why, {"Retry-After": str(wait)})
        self._failures.setdefault(key, kept).append(self._clock())
        self._failures.move_to_end(key)
        while len(self._failures) > REMEMBERED:
            self._failures.popitem(last=False)

    def forget(self, key: str) -> None:
        """The key has shown itself to be right: whatever failed before."""
        self._failures.pop(key, None)

    def uncount(self, key: str) -> None:
        """The last try was no failure; those before it stand."""
        kept = self._failures.get(key)
        if kept:
            kept.pop()

    def _recent(self, key: str) -> deque[float]:
        kept = self._failures.get(key, deque())
        while kept and kept[0] <= self._clock() - self.within_s:
            kept.popleft()
        if not kept:
            self._failures.pop(key, None)
        return kept
