"""What phones are told of the last backup: this server's own word, or at a hub, the final server's as it
gave it."""

from msgspec.structs import replace

from chinrest.log.backed_up import BackupWord, backup_text
from chinrest.store import Store


async def own_word(store: Store, device: str, now: int) -> BackupWord | None:
    """Null where no backup that was read back holds a line of the device."""
    mark = await store.backup_mark(device)
    if mark is None:
        return None
    who = await store.identity()
    word = BackupWord(
        server=who.server,
        epoch=who.epoch,
        device=device,
        seq=mark.seq,
        head_sha256=mark.head_sha256,
        made_at=mark.made_at,
        at=now,
        signature="",
    )
    return replace(word, signature=await store.sign(backup_text(word)))


async def word_for(store: Store, device: str, kind: str, now: int) -> BackupWord | None:
    """The final server's word for a phone. A hub's own backups don't count: they are not where lines end."""
    if kind == "final":
        return await own_word(store, device, now)
    passed = await store.passed_of(device)
    return passed.backup if passed is not None and passed.kind == "final" else None
