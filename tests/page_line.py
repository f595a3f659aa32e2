"""Writes a line as the app would, on this phone's own chain: what a test begins with, not what it tests."""

from __future__ import annotations

import json
from typing import Any

from phone_page import OPEN_LOG, Phone

WRITE = f"""async ([type, body, at, mono]) => {{ {OPEN_LOG}
  const hash = async (text) =>
    [...new Uint8Array(await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text)))]
      .map((byte) => byte.toString(16).padStart(2, "0")).join("");
  const later = (random, ms) => {{
    const time = Math.round(ms).toString(16).padStart(12, "0");
    return `${{time.slice(0, 8)}}-${{time.slice(8)}}-7${{random.slice(15)}}`;
  }};
  try {{
    const rows = await asked(db.transaction("lines").objectStore("lines").getAll());
    const device = (await asked(db.transaction("meta").objectStore("meta").get("device"))).id;
    const own = rows.filter((row) => row.device === device).sort((a, b) => a.seq - b.seq);
    const last = JSON.parse(own.at(-1).raw.split("\\t")[0]);
    const of = own.map((row) => JSON.parse(row.raw.split("\\t")[0])).filter((one) => one.case).at(-1);
    const text = JSON.stringify({{ salt: btoa("sixteen bytes ok"), ...body }});
    const head = await asked(db.transaction("meta").objectStore("meta").get("head"));
    const envelope = {{ ...of, id: later(crypto.randomUUID(), at), seq: head.seq + 1, prev: head.sha256,
      body_sha256: await hash(text), at: Math.round(at), mono: Math.round(mono), boot: last.boot, type }};
    const written = JSON.stringify(envelope);
    const tx = db.transaction(["lines", "meta"], "readwrite");
    const row = {{ device, seq: envelope.seq, id: envelope.id, case: envelope.case, form: "plain",
      raw: written + "\\t" + text }};
    tx.objectStore("lines").add(row);
    tx.objectStore("meta").put({{ seq: envelope.seq, sha256: await hash(written) }}, "head");
    await new Promise((ok, no) => {{ tx.oncomplete = ok; tx.onerror = () => no(tx.error); }});
    const channel = new BroadcastChannel("chinrest-log");
    channel.postMessage({{ lines: [[device, envelope.seq]] }});
    channel.close();
  }} finally {{ db.close(); }}
}}"""
NOW = "() => [Date.now(), Math.round(performance.now())]"


def write_line(phone: Phone, type_: str, body: dict[str, Any], *, ago_s: float = 0.0) -> None:
    """A line of the case whose line is the newest, `ago_s` seconds ago by both clocks of the page."""
    at, mono = phone.page.evaluate(NOW)
    phone.page.evaluate(WRITE, [type_, body, at - ago_s * 1000, mono - ago_s * 1000])


def inject(phone: Phone, dye: str, *, ago_s: float = 0.0) -> None:
    """The dye was given `ago_s` seconds ago, since the page was opened."""
    at, mono = phone.page.evaluate(NOW)
    pressed = {"pressed_at": round(at - ago_s * 1000), "pressed_mono": round(mono - ago_s * 1000)}
    body = {"dye": dye, "arm": "left", "route": "intravenous", **pressed}
    write_line(phone, "dye.injected", json.loads(json.dumps(body)))
