"""From a sound source to the bytes that a phone takes: all that is heavy is computed here, once."""

from chinrest.model.dye.vectors import dose_vectors
from chinrest.model.series.clock_vectors import clock_vectors
from chinrest.model.series.next_frame_vectors import next_frame_vectors
from chinrest.model.tables import pupil_table, touch_table
from chinrest.model.vectors import fit_vectors

from .compiled import FORMAT, canonical
from .layouts import layouts
from .plan_cache import PlanCache, caches_for
from .plans import planned
from .regions import retina_parts
from .schema import Pack
from .source import Source


def compile_pack(source: Source, cache: PlanCache | None = None) -> bytes:
    """The compiled pack, canonical: the same source always makes the same bytes.

    Plans are taken from the cache (the demo's, where none is given) as far as it has them.
    """
    return canonical(build(source, cache))


def build(source: Source, cache: PlanCache | None = None) -> Pack:
    """Adds the tables and check vectors that are computed from the source."""
    cache = caches_for(None) if cache is None else cache
    found = planned(source, cache)
    given = {name: getattr(source, name) for name in source.__struct_fields__}
    optics, faces, limits = source.optics, source.faces, source.limits
    seen = retina_parts(source.own_regions)
    laid = layouts(source, found.plans, cache)
    return Pack(
        format=FORMAT,
        pupil=pupil_table(),
        touch=touch_table(optics, faces, limits),
        fit_vectors=fit_vectors(optics, faces, limits),
        clock_vectors=clock_vectors(),
        layouts=laid,
        next_frame_vectors=next_frame_vectors(laid, source.pace),
        dose_vectors=dose_vectors(source.dyes, source.dosing),
        retina=seen.retina,
        regions=seen.regions,
        cell_vectors=seen.cell_vectors,
        **found._asdict(),
        **given,
    )
