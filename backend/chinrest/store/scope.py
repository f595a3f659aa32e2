"""Whose things somebody sees and changes: one site's, or all. The queries of the desk take it as an argument,
and the door (`Store.within`) gives each the caller's own."""

from msgspec import Struct
from sqlalchemy import ColumnElement, exists, or_, select
from sqlalchemy.ext.asyncio import AsyncConnection

from chinrest.store.faults import StoreError
from chinrest.store.tables import cases, incidents, lines


class Scope(Struct, frozen=True, kw_only=True):
    """`site`: the one that is seen; null for all of them."""

    site: str | None

    def sees(self, site: str | None) -> bool:
        return self.site is None or site == self.site

    def check(self, site: str | None) -> None:
        """Refuses another site than this one, in the same words whether there is such a site or not. Null
        means every site. Fault: other_site."""
        if not self.sees(site):
            why = f"you see and change what belongs to {self.site} alone; name that site"
            raise StoreError("other_site", "site", why)

    def narrowed(self, site: str | None) -> str | None:
        """The site to count at, where `site` is asked for (null for all that is seen). Fault: other_site."""
        if site is not None:
            self.check(site)
            return site
        return self.site

    def of(self, column: ColumnElement[str]) -> list[ColumnElement[bool]]:
        """What a query's rows must fulfil by their site."""
        return [] if self.site is None else [column == self.site]


EVERYWHERE = Scope(site=None)


def of_incidents(scope: Scope) -> list[ColumnElement[bool]]:
    """Of the list of incidents: those that a phone of the site reported, and those of a case that belongs to
    the site, whoever reported them."""
    if scope.site is None:
        return []
    of_own_case = exists().where(cases.c.case_id == incidents.c.case_id, cases.c.site == scope.site)
    return [or_(incidents.c.site == scope.site, of_own_case)]


async def sees_case(connection: AsyncConnection, scope: Scope, case: str) -> bool:
    """Whether there is such a case, and it is seen: one that belongs to the site, or in which a phone of the
    site wrote. A case that phones of two sites wrote in is seen by both, whole: what was done to a patient at
    one place has to be known at the other, and half a timeline misleads."""
    asked = select(lines.c.id).where(lines.c.case_id == case)
    if scope.site is not None:
        at_home = select(cases.c.case_id).where(cases.c.case_id == case, cases.c.site == scope.site)
        if (await connection.execute(at_home)).first() is not None:
            return True
        asked = asked.where(lines.c.site == scope.site)
    return (await connection.execute(asked.limit(1))).first() is not None


async def sees_incident(connection: AsyncConnection, scope: Scope, incident: str) -> bool:
    """Whether there is such an incident, and it is seen: one that a phone of the site reported, or one of a
    case that is seen."""
    asked = select(incidents.c.site, incidents.c.case_id).where(incidents.c.line == incident)
    row = (await connection.execute(asked)).first()
    if row is None:
        return False
    if scope.sees(row.site):
        return True
    return row.case_id is not None and await sees_case(connection, scope, row.case_id)
