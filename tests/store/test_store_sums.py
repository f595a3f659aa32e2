"""The kept sums and folds, line by line, are those that all lines give when everything is folded anew."""

from typing import Any

from invented import START, Phone
from stored import enrol, folds, opened, rows, runs, send

from chinrest.store import Store
from chinrest.store.counting import Period
from chinrest.store.engines import Place

DYE = {"dye": "fluorescein", "arm": "left", "route": "vein", "pressed_at": 0, "pressed_mono": 0}
FACE: dict[str, Any] = {
    "eye": "right",
    "pd_mm": 63.0,
    "exophthalmometry": "average",
    "nose": "medium",
    "brow": "medium",
    "neck": "free",
    "age_band": "40-59",
}
FRAME: dict[str, Any] = {
    "eye": "right",
    "optic": "wide",
    "modality": "fluorescein",
    "field": "f1",
    "gaze_deg": [0.0, 0.0],
    "outcome": "again",
    "reason": "blink",
}
# each changes a count, an incident or a case, and each comes alone
LATER: list[tuple[str, dict[str, Any]]] = [
    ("optic.chosen", {"optic": "wide"}),
    ("dye.injected", DYE),
    ("face.measured", FACE),
    ("pose.advised", {}),
    ("pose.found", {"touched": True, "outcome": "more", "by_deg": 4.0}),
    ("comfort.noted", {"score": 3, "bothers": []}),
    ("step.skipped", {"step": "hearing_aid", "reason": "not_needed"}),
    ("frame.taken", FRAME),
    ("series.laid", {"protocol": "p", "layout": "l", "eyes": ["right"]}),
    ("series.stopped", {"why": "nausea"}),
    ("reaction.started", {}),
    ("reaction.sign", {"sign": "nausea", "seen": True}),
    ("reaction.observed", {"saturation": 95}),
    ("safety.noted", {"what": "dye_reaction"}),
    ("reaction.ended", {"outcome": "case_goes_on"}),
    ("reaction.sign", {"sign": "vomiting", "seen": True}),
    ("reaction.observed", {"saturation": 91}),
    ("case.closed", {"outcome": "cancelled"}),
]


@runs
async def test_each_line_is_folded_as_it_comes(file: Place) -> None:
    """What comes after the end of a reaction, too: a reading may make its class another."""
    phone = Phone()
    async with opened(file, phone) as store:
        await send(store, phone, [phone.write("case.opened", "c1").raw])
        for type_, fields in LATER:
            before = folds(file)
            await send(store, phone, [phone.write(type_, "c1", **fields).raw])
            kept = folds(file)
            await store.refold()
            assert folds(file) == kept, type_
            if type_ not in ("face.measured", "pose.advised", "series.stopped"):
                assert kept != before, f"{type_} changes nothing, so that this shows nothing"


def summed(file: Place) -> dict[str, int]:
    """Of visits and uses of an optic."""
    found = rows(file, "SELECT kind, SUM(n) FROM sums WHERE kind IN ('visit', 'use') GROUP BY kind")
    return {kind: int(n) for kind, n in found}


@runs
async def test_the_last_word_of_a_mark_that_comes_and_goes_counts(file: Place) -> None:
    """Cancelled, practice and 'it did not happen' set by one amendment and taken off by another."""
    phone = Phone()
    async with opened(file, phone) as store:

        async def sent(type_: str, **fields: Any) -> str:
            line = phone.write(type_, "c1", **fields)
            await send(store, phone, [line.raw])
            assert all(n > 0 for _, n in rows(file, "SELECT kind, n FROM sums"))
            kept = folds(file)
            await store.refold()
            assert folds(file) == kept, (type_, fields)
            return line.envelope.id

        await sent("case.opened", practice=True)
        await sent("optic.chosen", optic="wide", practice=True)
        assert summed(file) == {}
        real = await sent("practice.ended")
        assert summed(file) == {"visit": 1, "use": 1}
        mistake = await sent("line.amended", line=real, body=None)
        assert summed(file) == {}
        await sent("line.amended", line=mistake, body=None)
        assert summed(file) == {"visit": 1, "use": 1}
        closing = await sent("case.closed", outcome="cancelled")
        assert summed(file) == {}
        mended = await sent("line.amended", line=closing, body={"outcome": "completed"})
        assert summed(file) == {"visit": 1, "use": 1}
        back = await sent("line.amended", line=mended, body=None)
        assert summed(file) == {}
        await sent("line.amended", line=back, body=None)
        assert summed(file) == {"visit": 1, "use": 1}


@runs
async def test_neither_a_renamed_site_nor_a_withdrawn_or_moved_phone_moves_what_was_counted(
    file: Place,
) -> None:
    phone = Phone()
    for line in (("case.opened", {}), ("dye.injected", DYE)):
        phone.write(line[0], "c1", **line[1])
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        counted = rows(file, "SELECT * FROM sums ORDER BY kind, key, sub")
        assert counted
    store = await Store.open(file, sites={"north": "Another name"})
    try:
        assert (await store.sites())["north"] == "Another name"
        assert rows(file, "SELECT * FROM sums ORDER BY kind, key, sub") == counted
        await enrol(store, phone, "south")
        optic = phone.write("optic.chosen", "c1", optic="wide")
        await send(store, phone, [optic.raw])
        assert rows(file, "SELECT DISTINCT site FROM sums") == [("north",)]
        kept = folds(file)
        await store.withdraw(phone.device, "lost", "o1", START)
        assert folds(file) == kept
        await store.refold()
        assert folds(file) == kept
        found = await store.counted("visit", "visit", Period(site="north"), ("none", "none"), START)
        assert found.all_events == 1
    finally:
        await store.close()


@runs
async def test_the_reactions_that_are_classed_are_those_that_the_rate_counts(file: Place) -> None:
    """Neither near misses nor what was taken back, one for each emergency, and drinks by themselves."""
    phone = Phone()
    for case, route in (("c1", "vein"), ("c2", "oral")):
        phone.write("case.opened", case)
        phone.write("dye.injected", case, **{**DYE, "route": route})
        phone.write("safety.noted", case, what="dye_reaction", signs=["nausea"])
    phone.write("safety.noted", "c1", what="dye_reaction", signs=["itching"], reached_patient=False)
    back = phone.write("safety.noted", "c1", what="dye_reaction", signs=["vomiting"])
    phone.write("line.amended", "c1", line=back.envelope.id, body=None)
    phone.at += 3_600_000
    opening = phone.write("reaction.started", "c1").envelope.id
    phone.write("reaction.observed", "c1", saturation=88)
    for harm in ("mild", "severe"):
        phone.write("safety.noted", "c1", what="dye_reaction", reaction=opening, harm=harm)
    async with opened(file, phone) as store:
        await send(store, phone, phone.raws)
        seen = [one.seen for one in await store.seen_reactions(Period(), oral=False)]
        assert [(one.signs, one.lowest, one.ended) for one in seen] == [
            (["nausea"], {}, True),
            ([], {"saturation": 88}, False),
        ]
        assert [one.seen.oral for one in await store.seen_reactions(Period(), oral=True)] == [True]
        for kind, oral in (("reaction", False), ("reaction_oral", True)):
            counted = dict(rows(file, "SELECT kind, SUM(n) FROM sums GROUP BY kind"))
            assert int(counted[kind]) == len(await store.seen_reactions(Period(), oral=oral))
