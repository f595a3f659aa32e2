"""Who has which guidance pack, by site."""

from litestar import get

from chinrest.server.context import Call, now_ms, store_of
from chinrest.server.guards import lead
from chinrest.server.rollout_wire import PhoneStands, PhoneWithPack, Rollout, SiteRollout
from chinrest.server.scope import WITHIN
from chinrest.store.rows import DeviceSummary, InForce, PackRecall


def stands(
    pack: str | None, spans: list[InForce], recalls: dict[str, PackRecall]
) -> tuple[PhoneStands, int | None, str]:
    """How a phone with this pack stands at a site with these packs in force one after the other, since when
    it is behind, and why the pack was recalled."""
    last = spans[-1] if spans else None
    current = last if last and last.until is None else None
    if pack in recalls:
        return "recalled", recalls[pack].at, recalls[pack].why
    if current is None:
        return "none_in_force", None, ""
    if pack is None:
        return "no_pack", current.since, ""
    if pack == current.sha256:
        return "current", None, ""
    left = [span.until for span in spans if span.sha256 == pack and span.until is not None]
    return ("behind", max(left), "") if left else ("never_here", current.since, "")


@get("/api/rollout", guards=[lead], opt=WITHIN)
async def rollout(request: Call) -> Rollout:
    """For each site the pack in force, and for each of its phones the one that it says it took."""
    store = store_of(request)
    sites, spans, devices = await store.sites(), await store.packs_over_time(), await store.devices()
    versions = {row.sha256: row.version for row in await store.packs()}
    recalls = {recall.sha256: recall for recall in await store.recalls()}
    names = {person.id: person.name for person in await store.staff()}

    def phone(device: DeviceSummary) -> PhoneWithPack:
        how, since, why = stands(device.pack, spans.get(device.site, []), recalls)
        return PhoneWithPack(
            device=device.id,
            label=device.label,
            last_heard_at=device.last_heard_at,
            pack=device.pack,
            version=None if device.pack is None else versions.get(device.pack),
            stands=how,
            behind_since=since,
            why=why,
        )

    def site_row(site: str, name: str) -> SiteRollout:
        here = [device for device in devices if device.site == site]
        last = spans[site][-1] if spans.get(site) else None
        current = last if last and last.until is None else None
        return SiteRollout(
            site=site,
            name=name,
            pack=current.sha256 if current else None,
            version=versions.get(current.sha256) if current else None,
            since=current.since if current else None,
            approved_by=names.get(current.by, current.by) if current else "",
            recalled=last is not None and current is None,
            phones=[phone(device) for device in here if not device.withdrawn],
            withdrawn=sum(device.withdrawn for device in here),
        )

    return Rollout(at=now_ms(), sites=[site_row(site, name) for site, name in sites.items()])


ROUTES = [rollout]
