"""What can be wrong with a pack's source: always the file, the key and the reason, and always all of them."""

from collections.abc import Sequence

from msgspec import Struct


class PackFault(Struct, frozen=True, kw_only=True):
    """One fault. `file` is relative to the source folder, `key` a path such as `steps[identity].weight`."""

    file: str
    key: str
    reason: str

    def __str__(self) -> str:
        return f"{self.file}: {self.key}: {self.reason}" if self.key else f"{self.file}: {self.reason}"


class PackFaults(Exception):  # noqa: N818 -- it carries several faults, and its name says so
    """The source has faults; `faults` holds every one that was found, never only the first."""

    def __init__(self, faults: Sequence[PackFault]) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults = list(faults)
