"""The store's door for the desk: incidents and their reviews, timelines, counts, and what is taken out."""

import secrets
import time
from collections.abc import Sequence

from chinrest.log.incidents import IncidentList, IncidentRow
from chinrest.log.review_events import ReviewBody
from chinrest.log.reviews import Review
from chinrest.log.tallies import TallyKind
from chinrest.log.timeline import Timeline
from chinrest.store import counting, craft, deciding, incident_reviews, review
from chinrest.store.counting import CaseCount, Counted, Period, SeenReaction, Split
from chinrest.store.craft import CraftCounts
from chinrest.store.engines import Engine
from chinrest.store.review import IncidentFilter
from chinrest.store.rows import ExportedIncident, IncidentCounts, RefusedLine
from chinrest.store.scope import EVERYWHERE, sees_case, sees_incident
from chinrest.store.settling import Settling


class Uptime:
    """Which start of the server this is, and how long ago it was."""

    def __init__(self) -> None:
        self.boot = secrets.token_hex(8)
        self._started = time.monotonic_ns()

    def mono_ms(self) -> int:
        return (time.monotonic_ns() - self._started) // 1_000_000


class Reviewing(Settling):
    """Part of the store: what the desk asks for and decides."""

    def __init__(self, engine: Engine) -> None:
        super().__init__(engine)
        self._uptime = Uptime()
        self._scope = EVERYWHERE

    async def incidents(
        self,
        *,
        site: str | None = None,
        kind: str | None = None,
        what: str | None = None,
        harm: str | None = None,
        practice: bool | None = None,
        state: str | None = None,
        overdue_on: str | None = None,
        since: int | None = None,
        until: int | None = None,
        q: str | None = None,
        limit: int = 500,
        offset: int = 0,
    ) -> IncidentList:
        """`kind`: event or near_miss. `q`: part of the case code, note or device label, any case. `state`:
        of the review. `overdue_on` (an ISO day): only with an open action that was due before it. `since`,
        `until` (ms): from this time, and before that."""
        wanted = review.IncidentFilter(
            site=site,
            kind=kind,
            what=what,
            harm=harm,
            practice=practice,
            state=state,
            overdue_on=overdue_on,
            since=since,
            until=until,
            q=q,
        )
        async with self._folds() as connection:
            return await review.incident_list(connection, self._scope, wanted, limit, offset)

    async def incident_counts(self, wanted: IncidentFilter, today: str) -> IncidentCounts:
        """How many are in each state of review; `overdue` by the ISO day `today`."""
        async with self._folds() as connection:
            return await review.incident_counts(connection, self._scope, wanted, today)

    async def incident(self, line: str) -> IncidentRow | None:
        """Null also where it is not seen (`store.scope`), as wherever one incident or case is asked for."""
        async with self._folds() as connection:
            return await review.incident(connection, self._scope, line)

    async def exported_incidents(
        self,
        *,
        limit: int,
        site: str | None,
        kind: str | None,
        what: str | None,
        harm: str | None,
        practice: bool | None,
        state: str | None,
        q: str | None,
        overdue_on: str | None = None,
        since: int | None = None,
        until: int | None = None,
    ) -> list[ExportedIncident]:
        """As `incidents`, with what says where each came from."""
        wanted = review.IncidentFilter(
            site=site,
            kind=kind,
            what=what,
            harm=harm,
            practice=practice,
            state=state,
            overdue_on=overdue_on,
            since=since,
            until=until,
            q=q,
        )
        async with self._folds() as connection:
            return await review.exported_incidents(connection, self._scope, wanted, limit)

    async def like_incidents(self, line: str, limit: int = 20) -> list[IncidentRow]:
        """Others of the same kind, newest first: same optic before other optics, practice left out."""
        async with self._folds() as connection:
            return await review.like_incidents(connection, self._scope, line, limit)

    async def counted(
        self, above: TallyKind, below: TallyKind, period: Period, split: tuple[Split, Split], end: int
    ) -> Counted:
        """Events among procedures, from one state of the log; see `chinrest.store.counting`."""
        async with self._folds() as connection:
            return await counting.counted(connection, self._scope, above, below, period, split, end)

    async def seen_reactions(self, period: Period, *, oral: bool) -> list[SeenReaction]:
        """Of each reaction that counts in the period, what was seen; to injected dyes, or to those drunk."""
        async with self._folds() as connection:
            return await counting.seen_reactions(connection, self._scope, period, oral=oral)

    async def case_counts(self, above: TallyKind, below: TallyKind, period: Period) -> list[CaseCount]:
        """Procedures and events case by case, in the order of time; cases of a quiet hour as one."""
        async with self._folds() as connection:
            return await counting.case_counts(connection, self._scope, above, below, period)

    async def craft_counts(self, period: Period, kinds: Sequence[TallyKind] = craft.KINDS) -> CraftCounts:
        async with self._folds() as connection:
            return await craft.craft_counts(connection, self._scope, period, kinds)

    async def reviews_of(self, incidents: Sequence[str]) -> list[Review]:
        """Of incidents that `incidents` or `incident` gave, in the order that they are asked for, from one
        state of the log."""
        async with self._folds() as connection:
            return [await incident_reviews.review_of(connection, incident) for incident in incidents]

    async def review_of(self, incident: str) -> Review:
        """Of one that `incident` gave."""
        async with self._folds() as connection:
            return await incident_reviews.review_of(connection, incident)

    async def decide(self, body: ReviewBody, seen: int | None, now: int) -> Review:
        """Write a review line. Faults: incident_unknown, changed_meanwhile, not_allowed, action_unknown."""
        return await self._write_on_folds(
            lambda connection: deciding.decide(connection, self._uptime, self._scope, body, seen, now)
        )

    async def changed_after(self, case: str, seen: int) -> bool:
        """Whether a line of the case, but for readings of it, came after the log position `seen`. True too
        where no such case is seen: who asks for it is told so."""
        async with self._folds() as connection:
            if not await sees_case(connection, self._scope, case):
                return True
            return await review.changed_after(connection, case, seen)

    async def incident_changed_after(self, incident: str, seen: int) -> bool:
        async with self._folds() as connection:
            if not await sees_incident(connection, self._scope, incident):
                return True
            return await review.incident_changed_after(connection, incident, seen)

    async def timeline(self, case: str) -> Timeline | None:
        """Null where no line names the case. The caller writes case.read with `append_own`."""
        async with self._folds() as connection:
            if not await sees_case(connection, self._scope, case):
                return None
            return await review.timeline(connection, case)

    async def refused_lines(self, device: str | None = None, limit: int = 500) -> list[RefusedLine]:
        """Lines refused or set aside, newest first. Fault: device_unknown."""
        async with self._engine.read() as connection:
            return await review.refused_lines(connection, self._scope, device, limit)
