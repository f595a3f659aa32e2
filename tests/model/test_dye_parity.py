"""The phone's dose arithmetic against the reference: every text of every answer must be the same."""

import random
from collections import Counter
from typing import Any

import msgspec
from dye_rules import DOSING, DYES, random_dye, random_question
from phone_doses import ask_doses

from chinrest.model.dye.dose import DoseRequest
from chinrest.model.dye.rule import Dye
from chinrest.model.dye.vectors import dose_vectors
from chinrest.model.dye.work import work_dose
from chinrest.model.errors import InputError

PACKS = 100
PER_PACK = 100
"""Ten thousand questions in all."""
KINDS = """worked, capped, held, too_small, weight_unlikely, not_below_per_kg, not_below_total, past_use_by,
not_approved, not_yet_valid, out_of_date, refused weight_kg, refused dye, refused concentration_mg_ml,
refused with_dye, refused on, refused band, refused made_up_min""".replace("\n", " ").split(", ")


def reference(request: DoseRequest, dyes: list[Dye]) -> dict[str, Any]:
    try:
        return {"answer": msgspec.to_builtins(work_dose(request, dyes, DOSING))}
    except InputError as error:
        return {"refused": [error.field, error.why], "name": "InputError"}


def kind_of(row: dict[str, Any]) -> str:
    if "refused" in row:
        return f"refused {row['refused'][0]}"
    answer = row["answer"]
    if answer["stop"]:
        return str(answer["stop"]["code"])
    held = "rounded down" in answer["working"]
    return "held" if held else "capped" if answer["capped"] else "worked"


def test_ten_thousand_random_questions_agree() -> None:
    rng = random.Random(20261125)
    packs = []
    for _ in range(PACKS):
        dyes = [random_dye(rng, name) for name in ("one", "two", "three")]
        packs.append((dyes, [random_question(rng, dyes) for _ in range(PER_PACK)]))
    asked = [({"dosing": DOSING, "dyes": dyes}, requests) for dyes, requests in packs]
    answers = ask_doses(asked)["answers"]
    seen: Counter[str] = Counter()
    for (dyes, requests), rows in zip(packs, answers, strict=True):
        for request, row in zip(requests, rows, strict=True):
            wanted = reference(request, dyes)
            if "answer" in wanted:  # JSON knows one kind of number only
                wanted = msgspec.json.decode(msgspec.json.encode(wanted))
            assert row == wanted, request
            seen[kind_of(row)] += 1
    assert sum(seen.values()) == PACKS * PER_PACK
    # each way to end is really gone through, and not by a handful
    for kind in KINDS:
        assert seen[kind] >= 10, (kind, seen)


def test_the_demo_pack_proves_the_phone() -> None:
    vectors = dose_vectors(DYES, DOSING)
    sound = {"dosing": DOSING, "dyes": DYES, "dose_vectors": vectors}
    first = next(i for i, vector in enumerate(vectors) if vector.dose_mg is not None)
    spoiled = list(vectors)
    spoiled[first] = msgspec.structs.replace(vectors[first], volume_ml="1.4")
    faults = ask_doses(
        [],
        [sound, {**sound, "dose_vectors": spoiled}, {**sound, "dose_vectors": []}, {}],
    )["faults"]
    assert faults[0] == []
    assert len(faults[1]) == 1
    assert faults[1][0].startswith(f"dose, check {first + 1}: ")
    assert faults[2] == ["the pack carries no check vectors for the dose"]
    assert faults[3] == []  # a pack from before there were doses
