"""The one error that the model raises for what it is given."""


class InputError(ValueError):
    """A measure or a request that the model cannot answer: which field, and why."""

    def __init__(self, field: str, why: str) -> None:
        super().__init__(f"{field}: {why}")
        self.field = field
        self.why = why
