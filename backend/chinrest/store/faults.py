"""The one way in which the store says no."""


class StoreError(Exception):
    """What went wrong (`code`), where (a field or thing) and why, in words for the person who must act.

    Codes: not_enrolled, device_withdrawn, device_unknown, code_unknown, code_used, code_expired,
    device_taken, not_proved, token_taken, site_unknown, other_site (the caller sees another alone),
    name_taken, staff_unknown, pack_unknown, pack_recalled, draft_unknown, changed_meanwhile, value (a field
    is malformed), file (the database can't be opened).
    """

    def __init__(self, code: str, where: str, why: str) -> None:
        super().__init__(f"{code}: {where}: {why}")
        self.code = code
        self.where = where
        self.why = why
