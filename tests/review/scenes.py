"""Invented cases for the desk to show, written by invented phones. Nothing here was measured."""

from typing import Any

import httpx
from carrier import Carrier

from serving import Server

DAY_MS = 86_400_000
JUDGED: dict[str, Any] = {
    "harm": "none",
    "preventable": "no",
    "factors": ["latch worn"],
    "reaction": None,
    "note": "",
}
ADVICE: dict[str, Any] = {
    "eye": "right",
    "gaze_deg": [0.0, 0.0],
    "reason": None,
    "yaw_deg": 14.0,
    "pitch_deg": -2.0,
    "working_distance_mm": 9.5,
    "clearance_mm": 3.2,
    "nearest": "nasal_flank",
    "field_deg": 128.0,
    "words": "close",
}


def full_case(phone: Carrier, pack: dict[str, Any], sha256: str, case: str, code: str) -> dict[str, str]:
    """One case from start to finish, with a near miss, an event, amendments and a type from the future.

    Returns the ids of the lines that tests look for.
    """
    phone.pack = sha256
    optic = max(pack["optics"], key=lambda o: o["field_deg"])["id"]
    steps = [step["id"] for step in pack["steps"]]
    whats = [what["id"] for what in pack["choices"]["safety_what"]]
    signs = [sign["id"] for sign in pack["choices"]["signs"]]
    bothers = [bother["id"] for bother in pack["choices"]["bothers"]]
    done = [choice["id"] for choice in pack["choices"]["safety_done"]]
    told = [choice["id"] for choice in pack["choices"]["told"]]
    skip = pack["choices"]["skip_reasons"][0]["id"]

    def write(type_: str, wait_s: int = 20, **fields: Any) -> str:
        phone.at += (wait_s - 1) * 1000
        return phone.write(type_, case, **fields).envelope.id

    phone.write("pack.taken", sha256=sha256, vectors=len(pack["fit_vectors"]))
    write("case.opened", code=code, modalities=["colour", "fluorescein"])
    write("optic.chosen", optic=optic, reason="widest field asked for")
    write("step.done", step=steps[0])
    write("step.done", step=steps[1])
    write("step.skipped", step=steps[2], reason=skip, note="interpreter on the way")
    write(
        "face.measured",
        eye="right",
        pd_mm=62.0,
        exophthalmometry="deep-set",
        nose="high",
        brow="medium",
        neck="free",
        age_band="60-79",
    )
    write("pupil.measured", eye="right", pupil_mm=6.5, dilated=True)
    advised = write("pose.advised", 40, **ADVICE, optic=optic)
    near_miss = write(
        "safety.noted",
        90,
        what=whats[0],
        reached_patient=False,
        harm=None,
        note="caught on the way in, from the side",
        optic=optic,
        eye="right",
    )
    found = write(
        "pose.found",
        eye="right",
        optic=optic,
        gaze_deg=[0.0, 0.0],
        outcome="more",
        by_deg=4.0,
        nearest="brow",
    )
    comfort = write("comfort.noted", 200, score=2, bothers=bothers[:1])
    amended = write(
        "line.amended", line=comfort, body={"score": 6, "bothers": bothers[:2], "note": ""}, why="wrong key"
    )
    event = write(
        "safety.noted",
        what=whats[1],
        reached_patient=True,
        harm="mild",
        signs=signs[:2],
        done=done[:2],
        told=told[:1],
        note="settled after ten minutes",
    )
    odd = phone.write_raw("focus.noted", b'{"salt":"AAAAAAAAAAAAAAAAAAAAAA==","step":3}', case).envelope.id
    write("case.closed", outcome="completed")
    return {
        "advised": advised,
        "near_miss": near_miss,
        "found": found,
        "comfort": comfort,
        "amended": amended,
        "event": event,
        "odd": odd,
    }


def small_case(phone: Carrier, sha256: str, case: str, code: str, what: str, **fields: Any) -> str:
    """A case with one safety event; returns the event's line."""
    phone.pack = sha256
    practice = fields.pop("practice", False)
    phone.write("case.opened", case, code=code, practice=practice)
    line = phone.write("safety.noted", case, what=what, practice=practice, **fields).envelope.id
    phone.write("case.closed", case, practice=practice)
    return line


class Scene:
    """Three phones at three sites. `full` has the ids of the lines of the one full case."""

    def __init__(self, server: Server) -> None:
        self.server = server
        self.phones: list[Carrier] = []
        self.lead = httpx.Client(base_url=server.origin, headers={"X-Chinrest": "1"}, timeout=30)
        name, password = server.sign_in("lead")
        signed = self.lead.post("/api/session", json={"name": name, "password": password})
        assert signed.status_code == 200, signed.text
        self.sha256: str = self.lead.get("/api/packs").json()[0]["sha256"]
        self.pack: dict[str, Any] = self.lead.get(f"/api/packs/{self.sha256}").json()
        self.site_names = {site["id"]: site["name"] for site in self.lead.get("/api/sites").json()}
        self.sites = list(self.site_names)
        self.whats = {what["id"]: what["text"] for what in self.pack["choices"]["safety_what"]}

        self.near = self.phone(self.sites[0], "Phone 3", behind_ms=3_600_000)
        self.full = full_case(self.near, self.pack, self.sha256, "case-full", "HR-2041")
        self.near.carry()

        what = list(self.whats)
        self.far = self.phone(self.sites[-1], "Satellite 1", behind_ms=3 * DAY_MS)
        small = {"phone": self.far, "sha256": self.sha256}
        small_case(**small, case="c2", code="LH-7", what=what[2], reached_patient=True, harm="severe")
        small_case(**small, case="c3", code="LH-8", what=what[3], reached_patient=None, harm=None)
        small_case(
            **small, case="c4", code="LH-9", what=what[3], reached_patient=True, harm="mild", practice=True
        )
        gone = small_case(**small, case="c5", code="LH-10", what=what[4], reached_patient=False, harm=None)
        self.far.write("line.amended", "c5", line=gone, body=None, why="wrong case")
        self.far.carry(clock_ms=-190_000)

        self.torn = self.phone(self.sites[1], "Phone 9")
        self.torn.carry()
        small_case(self.torn, self.sha256, "c6", "HI-1", what=what[0], reached_patient=True, harm="none")
        self.torn.carry(skip=1)

    def phone(self, site: str, label: str, *, behind_ms: int = 0) -> Carrier:
        code = self.lead.post("/api/enrolment-codes", json={"site": site, "label": label}).json()["code"]
        self.phones.append(Carrier(self.server.origin, code, label, behind_ms=behind_ms))
        return self.phones[-1]

    def decide(self, line: str, what: str, **fields: Any) -> Any:
        """As the lead decides, somewhere else, about the incident of a line; how the review stands then."""
        count = self.lead.get(f"/api/incidents/{line}").json()["review"]["count"]
        answer = self.lead.post(f"/api/incidents/{line}/{what}", json={"seen": count, **fields})
        assert answer.status_code == 200, answer.text
        return answer.json()

    def what(self, number: int) -> str:
        return list(self.whats.values())[number]

    def close(self) -> None:
        for client in (self.lead, *(phone.http for phone in self.phones)):
            client.close()
