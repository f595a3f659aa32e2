"""What a server needs before anyone can work with it: people, sites, a first phone."""

from chinrest.server.context import now_ms
from chinrest.server.demo import SignIn, prepare_demo, random_password
from chinrest.server.keeping import backup_standing
from chinrest.server.lead import CODE_LIVES_MS
from chinrest.server.settings import Settings
from chinrest.server.wire import EnrolmentCode
from chinrest.store import Store

from .banner import Started, Trust


async def make_ready(store: Store, settings: Settings, trust: Trust | None, *, opened: bool) -> Started:
    """Sees to sign-ins and a code for the first phone. `opened`: to a network, so no sign-in is public."""
    if settings.demo:
        sign_ins = await prepare_demo(store, settings.data, random_sign_ins=opened)
    else:
        sign_ins = await _first_sign_ins(store) if opened else []
    site, enrolment = await _first_code(store, settings.demo, str(settings.origin))
    return Started(
        origin=str(settings.origin),
        data=settings.data,
        demo=settings.demo,
        sign_ins=sign_ins,
        public_sign_ins=settings.demo and not opened,
        enrolment=enrolment,
        enrolment_site=site,
        trust=trust,
        hints=await _hints(store, settings),
    )


async def _first_sign_ins(store: Store) -> list[SignIn]:
    """A lead, an officer and an admin for a server that has nobody yet."""
    if await store.staff():
        return []
    made = [
        SignIn(role="lead", name="lead", password=random_password()),
        SignIn(role="officer", name="officer", password=random_password()),
        SignIn(role="admin", name="admin", password=random_password()),
    ]
    for who in made:
        await store.add_staff(who.name, who.password, who.role, now_ms())
    return made


async def _first_code(store: Store, demo: bool, origin: str) -> tuple[str | None, EnrolmentCode | None]:
    """A code for the first phone; in the demo at every start, since its phones come and go."""
    sites = await store.sites()
    if not sites or (not demo and any(not device.withdrawn for device in await store.devices())):
        return None, None
    site, now = next(iter(sites)), now_ms()
    made = await store.add_code(site, "First phone", now, now + CODE_LIVES_MS)
    url = f"{origin}/#enrol={made.code}"
    return sites[site], EnrolmentCode(code=made.code, expires_at=made.expires_at, url=url)


async def _hints(store: Store, settings: Settings) -> list[str]:
    """What a server still lacks before anyone can work with it, or before it can be lost."""
    hints = []
    standing = await backup_standing(store, settings, now_ms())
    if standing.state == "never":
        hints.append("No backup holds what phones sent; they keep it until one does: chinrest backup")
    elif standing.state == "old":
        days = f"{standing.limit_days} {'day' if standing.limit_days == 1 else 'days'}"
        hints.append(f"No backup for more than {days}; phones keep their lines until then: chinrest backup")
    if not await store.staff():
        hints.append("Nobody may sign in yet: chinrest people add --name NAME --role lead")
    if not await store.sites():
        hints.append("There is no site yet: chinrest sites add ID NAME")
    hints.append("Another phone: chinrest enrol --site ID --label TEXT")
    return hints
