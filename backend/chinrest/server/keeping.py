"""How old the last backup is, and what is kept, due and erased. Nothing is erased from here: a command does
that."""

from collections.abc import Iterable, Mapping

import structlog
from litestar import get

from chinrest.server.context import Call, now_ms, settings_of, staff_of, store_of
from chinrest.server.guards import overseer
from chinrest.server.keeping_wire import (
    BackupStanding,
    BackupState,
    DueAtSite,
    DueNow,
    ErasureRow,
    Retention,
    RuleInForce,
)
from chinrest.server.review import names_of
from chinrest.server.settings import Settings
from chinrest.store import Store
from chinrest.store.erased import Erasure
from chinrest.store.erasing import Due, years_before
from chinrest.store.loose import Loose

log = structlog.get_logger("chinrest.server")

DAY_MS = 86_400_000
SHOWN = 200
COMMAND = "command"


async def backup_standing(store: Store, settings: Settings, now: int) -> BackupStanding:
    """Nothing is missed where no phone has sent anything, nor in the demo, which nobody needs back."""
    last = await store.last_backup()
    state: BackupState = "fine"
    if settings.kind == "hub":
        state = "elsewhere"
    elif last.lines and not settings.demo:
        if last.made_at is None:
            state = "never"
        elif now - last.made_at > settings.backup_days * DAY_MS:
            state = "old"
    return BackupStanding(state=state, last_at=last.made_at, limit_days=settings.backup_days)


async def say_backup(store: Store, settings: Settings, now: int) -> None:
    """Into the log, where a server starts without a backup that is young enough."""
    standing = await backup_standing(store, settings, now)
    if standing.state in ("old", "never"):
        log.warning("no recent backup", last_at=standing.last_at, limit_days=standing.limit_days)


@get("/api/backup", guards=[overseer])
async def backup(request: Call) -> BackupStanding:
    """How long ago the last backup was."""
    return await backup_standing(store_of(request), settings_of(request), now_ms())


@get("/api/retention", guards=[overseer])
async def retention(request: Call) -> Retention:
    """The rule in force, and what was erased."""
    store = store_of(request)
    names = await names_of(store)
    reads = staff_of(request).role != "admin"
    async with store.one_state():
        rule, (found, tombstones) = await store.rule_in_force(), await store.erasures(SHOWN)
    return Retention(
        rule=None
        if rule is None
        else RuleInForce(
            years=rule.rule.years, why=rule.rule.why, by=_name(names, rule.rule.by), since=rule.since
        ),
        erasures=[_row(each, names, reads) for each in found],
        tombstones=tombstones,
    )


def _name(names: Mapping[str, str], by: str) -> str:
    return "the command chinrest erase" if by == COMMAND else names.get(by, by)


def _row(each: Erasure, names: Mapping[str, str], reads: bool) -> ErasureRow:
    return ErasureRow(
        at=each.at,
        by=_name(names, each.by),
        rule=each.rule,
        years=each.years,
        why=each.why,
        case=each.case if reads else None,
        loose=each.case is None,
        bodies=each.bodies - each.words,
        words=each.words,
        refused=each.refused,
        tombstones=each.tombstones,
    )


@get("/api/retention/due", guards=[overseer])
async def due_now(request: Call) -> DueNow:
    """What the rule would erase now, site by site. It goes through every line, so it is asked by itself."""
    store = store_of(request)
    async with store.one_state():
        rule = await store.retention()
        if rule is None or rule.years is None:
            return DueNow(before=None, sites=[])
        before = years_before(now_ms(), rule.years)
        cases, loose = await store.due_before(before), await store.loose_before(before)
        sites = await store.sites()
    found = {*(one.site for one in cases), *(one.site for one in loose)}
    return DueNow(
        before=before,
        sites=[
            _at_site(
                site,
                sites.get(site, site) or "this server",
                [one for one in cases if one.site == site],
                [one for one in loose if one.site == site],
            )
            for site in sorted(found)
        ],
    )


def _at_site(site: str, name: str, cases: Iterable[Due], loose: Iterable[Loose]) -> DueAtSite:
    cases, loose = list(cases), list(loose)
    going = [one for one in cases if one.held is None]
    free = [one for one in loose if one.held is None]
    held = [one.held for one in cases] + [one.held for one in loose]
    return DueAtSite(
        site=site,
        site_name=name,
        cases=len(going),
        bodies=sum(one.lines for one in going),
        loose=sum(len(one.lines) for one in free),
        words=sum(one.words for one in going) + sum(len(one.words) for one in free),
        refused=sum(one.refused for one in going) + sum(one.refused for one in free),
        oldest_at=min([one.last_at for one in cases] + [one.oldest_at for one in loose]),
        open_review=held.count("open_review"),
        not_passed_on=held.count("not_passed_on"),
        not_folded=held.count("not_folded"),
    )


ROUTES = [backup, retention, due_now]
