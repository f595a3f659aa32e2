"""Is what plans are asked for something that can be asked?"""

from collections import Counter
from collections.abc import Iterator

from chinrest.model.errors import InputError
from chinrest.model.fields.plan import check_asked

from .faults import PackFault
from .planned import Planning
from .regions import DrawnRegion, region_by_id

FILE = "planning.toml"


def planning_faults(planning: Planning, drawn: list[DrawnRegion]) -> Iterator[PackFault]:
    """Every fault of `planning.toml`."""
    for key, reason in _asked_faults(planning, ""):
        yield PackFault(file=FILE, key=key, reason=reason)
    for name, times in Counter(region.id for region in planning.regions).items():
        if times > 1:
            yield PackFault(file=FILE, key=f"regions[{name}].id", reason=f"is named {times} times")
    for region in planning.regions:
        key = f"regions[{region.id}]"
        try:
            region_by_id(region.id, drawn)
        except InputError as error:
            yield PackFault(file=FILE, key=f"{key}.id", reason=error.why)
        if region.coverage is None and region.overlap is None:
            continue
        for name, reason in _asked_faults(planning, region.id):
            yield PackFault(file=FILE, key=f"{key}.{name}", reason=reason)


def _asked_faults(planning: Planning, region: str) -> Iterator[tuple[str, str]]:
    try:
        check_asked(planning.asked(region))
    except InputError as error:
        yield error.field, error.why
