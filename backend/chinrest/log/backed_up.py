"""A final server's signed word of what its last backup holds: below that, a phone may clear its own lines."""

from msgspec import Struct

from chinrest.log.signing import is_signed


class BackupWord(Struct, frozen=True, kw_only=True):
    """The last backup of `server`, made at `made_at` and read back, holds the device's chain up to `seq`,
    whose envelope has the hash `head_sha256`. `at`: when this was said, so that an older word never stands in
    for a newer one. `signature`: by the server's key over `backup_text`. Hubs hand it on as it is."""

    server: str
    epoch: str
    device: str
    seq: int
    head_sha256: str
    made_at: int
    at: int
    signature: str


def backup_text(word: BackupWord) -> str:
    return (
        f"chinrest backup {word.server} {word.epoch} {word.device} {word.seq} {word.head_sha256}"
        f" {word.made_at} {word.at}"
    )


def is_backup_word(word: BackupWord, server_key: str) -> bool:
    return is_signed(server_key, backup_text(word), word.signature)
