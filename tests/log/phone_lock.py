"""Asks the phone's own keys: the real front-end sources, bundled and run by Node."""

import json
import subprocess
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

from phone_sealing import BIN, bundled

DRIVER = """
import { readFileSync, writeFileSync } from "node:fs";
import { newKeys, unlocked } from "./keys.mjs";
import { keep, readyOut, readySeals, sealRow } from "./rows.mjs";
const { device, sealKey, name, pin, lines } = JSON.parse(readFileSync(process.argv[2], "utf8"));
const { keys, opened } = await newKeys(device, sealKey, name, pin);
if (!(await unlocked(keys, name, pin))) throw new Error("the keys do not open");
const base64 = (bytes) => Buffer.from(bytes).toString("base64");
const rows = [];
for (const { raw, sha256, ...beside } of lines) {
  const row = { device, form: "plain", raw, ...beside };
  const kept = await keep(opened, row, sha256, await readyOut(keys));
  const sealed = await sealRow(await readySeals(keys), row, sha256);
  rows.push({ iv: base64(kept.iv), kept: base64(kept.text), sealed: base64(sealed.text),
    out: row.seq % 2 ? kept.out : sealed.out });
}
writeFileSync(process.argv[3], JSON.stringify({ keys, rows }));
"""


@cache
def _folder() -> Path:
    folder = Path(mkdtemp(prefix="chinrest-lock-"))
    bundled(folder, "lock/keys", "lock/rows")
    (folder / "driver.mjs").write_text(DRIVER, "utf-8")
    return folder


TOKENS_DRIVER = """
import { readFileSync, writeFileSync } from "node:fs";
import { requestOf } from "./provide.mjs";
const { device, signingKey, made } = JSON.parse(readFileSync(process.argv[2], "utf8"));
const how = { name: "ECDSA", namedCurve: "P-256" };
const pkcs8 = Buffer.from(signingKey, "base64");
const privateKey = await crypto.subtle.importKey("pkcs8", pkcs8, how, false, ["sign"]);
writeFileSync(process.argv[3], JSON.stringify(await requestOf(device, { privateKey }, made)));
"""


@cache
def _tokens_folder() -> Path:
    folder = Path(mkdtemp(prefix="chinrest-tokens-"))
    bundled(folder, "lock/provide")
    (folder / "driver.mjs").write_text(TOKENS_DRIVER, "utf-8")
    return folder


def ask_tokens(question: dict[str, Any]) -> dict[str, Any]:
    """What a phone (`device`: its `id`, and its `server`'s) tells of the tokens that it `made`, signed by its
    key (PKCS #8 in base64)."""
    return _ask(_tokens_folder(), question)


def ask_lock(question: dict[str, Any]) -> dict[str, Any]:
    """`keys` of a phone whose first person has this name and PIN, and what its `lines` become: `kept` by the
    data key (`iv` beside it), `sealed` for the phone, `out` for the server; bytes in base64."""
    return _ask(_folder(), question)


def _ask(folder: Path, question: dict[str, Any]) -> dict[str, Any]:
    asked, answer = folder / "question.json", folder / "answer.json"
    asked.write_text(json.dumps(question), "utf-8")
    subprocess.run([str(BIN / "node"), str(folder / "driver.mjs"), str(asked), str(answer)], check=True)
    told: dict[str, Any] = json.loads(answer.read_text("utf-8"))
    return told
