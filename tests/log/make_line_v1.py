"""Wrote fixtures/formats/line-v1 once, when format 1 was released. Kept to show how; never run to overwrite.

    python tests/log/make_line_v1.py FOLDER

The case is invented: no such patient, clinic or optic. It has every event type, amendments, a type and a
field that this format does not know, text beyond ASCII, half an emoji, and a second device whose clock is set
back.
"""

import base64
import json
import sys
from pathlib import Path

import msgspec
from invented import START, Phone, digest, kept

from chinrest.log.amendments import stand
from chinrest.log.cases import fold_case
from chinrest.log.incidents import fold_incidents

CASE = "018f2c1e-5b7a-7c3d-9e21-6a4f0c8d1b37"
PACK = digest("an invented pack").hex()


def salt(number: int) -> str:
    return base64.b64encode(digest("raw salt", number)[:16]).decode()


def first_phone() -> Phone:
    phone = Phone("first phone", START)
    phone.actor = None
    phone.write("device.enrolled", public_key="AAAA", label="Room 2", site="north")
    phone.write("storage.asked", answer="granted", quota_bytes=6_000_000_000)
    phone.write("pack.refused", sha256=digest("a bad pack").hex(), faults=["fit vector 3: clearance differs"])
    phone.write("pack.taken", sha256=PACK, vectors=64)
    phone.actor, phone.pack = "AB", PACK
    phone.write(
        "case.opened",
        CASE,
        code="T-0412",
        eyes=["right", "left"],
        study_eye="left",
        modalities=["colour", "fluorescein"],
        cross_sections=True,
        flags=["glasses"],
        note="Prüfung nach Plan – 眼科, ≥ 60°",
    )
    phone.write("case.flagged", CASE, flags=["glasses", "tremor"], study_eye="left")
    phone.write("step.done", CASE, step="identifiers", value="two matched")
    skipped = phone.write("step.skipped", CASE, step="hearing_aid", reason="not_needed", note="none worn")
    phone.write("optic.chosen", CASE, optic="ultra", reason="far periphery asked for")
    phone.write(
        "face.measured",
        CASE,
        eye="left",
        pd_mm=62.5,
        exophthalmometry=15.0,
        nose="high",
        brow="medium",
        neck="limited",
        age_band="60-69",
    )
    phone.write(
        "face.measured",
        CASE,
        eye="right",
        pd_mm=62.5,
        exophthalmometry="deep-set",
        nose="high",
        brow="medium",
        neck="limited",
        age_band="60-69",
        unusual="swelling",
    )
    phone.write("pupil.measured", CASE, eye="left", pupil_mm=6.5, dilated=True)
    phone.write("fixation.chosen", CASE, eye="left", method="outside", imaged_sees=True, fellow_sees=True)
    phone.write(
        "pose.advised",
        CASE,
        eye="left",
        optic="ultra",
        gaze_deg=[0.0, 0.0],
        yaw_deg=14.0,
        pitch_deg=-2.5,
        working_distance_mm=9.5,
        clearance_mm=3.1,
        nearest="nasal_flank",
        field_deg=148.0,
        words="close",
    )
    phone.write(
        "pose.found",
        CASE,
        eye="left",
        optic="ultra",
        gaze_deg=[0.0, 0.0],
        outcome="more",
        by_deg=4.0,
        nearest="lateral_brow",
        touched=True,
    )
    phone.write(
        "pose.advised",
        CASE,
        eye="right",
        optic="ultra",
        gaze_deg=[0.0, 0.0],
        reason="unusual_face",
        yaw_deg=None,
        pitch_deg=None,
        working_distance_mm=None,
        clearance_mm=None,
        nearest=None,
        field_deg=None,
        words=None,
    )
    phone.write(
        "frame.taken",
        CASE,
        eye="left",
        optic="ultra",
        modality="colour",
        field="posterior_pole",
        gaze_deg=[0.0, 0.0],
        outcome="again",
        reason="blink",
    )
    phone.write("comfort.noted", CASE, score=6, bothers=["closeness"], note='says "too near" \\ pulls back')
    phone.write("pause.noted", CASE, state="started", why="closeness")
    phone.write("pause.noted", CASE, state="ended")
    near_miss = phone.write(
        "safety.noted",
        CASE,
        what="optic_not_latched",
        reached_patient=None,
        harm=None,
        signs=[],
        done=["caught"],
        told=["nurse"],
        optic="ultra",
        step="latch",
    )
    phone.write(
        "line.amended",
        CASE,
        line=near_miss.envelope.id,
        why="it was caught before it fell",
        body={
            "what": "optic_not_latched",
            "reached_patient": False,
            "harm": "none",
            "signs": [],
            "done": ["caught"],
            "told": ["nurse", "lead"],
            "note": "held from below",
            "step": "latch",
            "optic": "ultra",
            "eye": None,
        },
    )
    phone.write("line.amended", CASE, line=skipped.envelope.id, why="it was worn after all", body=None)
    later = {"salt": salt(1), "colour": "blue", "nested": {"list": [1, 2.5, None, True, "\u2028"]}}
    phone.write_raw("balloon.released", json.dumps(later, separators=(",", ":")).encode(), CASE)
    phone.write_raw(
        "comfort.noted",
        json.dumps({"salt": salt(2), "level": "fine"}, separators=(",", ":")).encode(),
        CASE,
        v=2,
    )
    phone.write_raw(
        "comfort.noted",
        json.dumps(
            {"salt": salt(3), "score": 2, "bothers": [], "note": "half \ud83d", "later_field": {"a": 1}},
            separators=(",", ":"),
        ).encode(),
        CASE,
    )
    phone.write("case.handed_over", CASE, to="room 3", note="left eye still to do")
    return phone


def second_phone(seen: int) -> Phone:
    phone = Phone("second phone", START + 60_000)
    phone.actor = None
    phone.write("device.enrolled", public_key="BBBB", label="Room 3", site="north")
    phone.actor, phone.pack = "CD", PACK
    phone.write("case.taken", CASE, seen=seen)
    phone.at -= 45_000  # its clock is set back in mid-case
    event = phone.write(
        "safety.noted",
        CASE,
        what="faint",
        reached_patient=True,
        harm="mild",
        signs=["pale", "sweating"],
        done=["lights_on", "laid_down"],
        told=["doctor"],
        note="came round within a minute",
        eye="left",
    )
    closing = phone.write("case.closed", CASE, outcome="completed")
    withdrawal = phone.write("line.amended", CASE, line=closing.envelope.id, why="one frame more", body=None)
    phone.write(
        "frame.taken",
        CASE,
        eye="left",
        optic="ultra",
        modality="fluorescein",
        field="posterior_pole",
        gaze_deg=[0.0, 0.0],
        outcome="taken",
    )
    phone.write("line.amended", CASE, line=withdrawal.envelope.id, why="it was closed after all", body=None)
    phone.write(
        "line.amended",
        CASE,
        line=event.envelope.id,
        why="signs put right",
        body={
            "what": "faint",
            "reached_patient": True,
            "harm": "mild",
            "signs": ["pale"],
            "done": ["lights_on", "laid_down"],
            "told": ["doctor"],
            "note": "came round within a minute",
            "step": None,
            "optic": None,
            "eye": "left",
        },
    )
    phone.write("case.closed", CASE, outcome="stopped", note="patient tired")
    return phone


def main(folder: Path) -> None:
    folder.mkdir(parents=True)
    first = first_phone()
    second = second_phone(len(first.lines))
    for name, phone in (("device", first), ("second-device", second)):
        (folder / f"{name}.ndjson").write_bytes(b"".join(raw + b"\n" for raw in phone.raws))
    lines = [line for line in first.lines + second.lines if line.envelope.case == CASE]
    standing = stand(map(kept, lines))
    expected = {
        "about": "An invented case. What any reader of line format 1 must find in the files beside this.",
        "heads": {phone.device: phone.chain.head for phone in (first, second)},
        "order": [line.kept.envelope.id for line in standing],
        "unknown": [line.kept.envelope.id for line in standing if not line.known],
        "amended": {
            line.kept.envelope.id: {"by": line.amended_by, "withdrawn": line.withdrawn}
            for line in standing
            if line.amended_by is not None
        },
        "case": {
            name: value
            for name, value in msgspec.to_builtins(fold_case(CASE, standing)).items()
            if name != "site"
        },
        "incidents": [
            {
                name: value
                for name, value in msgspec.to_builtins(fact).items()
                if name not in ("received_at", "site")
            }
            for fact in fold_incidents(standing)
        ],
    }
    (folder / "expected.json").write_text(json.dumps(expected, indent=1, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
