"""Asks the phone's own sealing: the real front-end sources, bundled and run by Node."""

import json
import os
import subprocess
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
FRONT = ROOT / "frontend"
BIN = ROOT / ".venv" / ("Scripts" if os.name == "nt" else "bin")

DRIVER = """
import { readFileSync, writeFileSync } from "node:fs";
import { sealBy } from "./hpke.mjs";
import { writeFile } from "./file.mjs";
const { header, key, parts, pair, sealed } = JSON.parse(readFileSync(process.argv[2], "utf8"));
const bytes = (text) => new Uint8Array(Buffer.from(text, "base64"));
const curve = { name: "ECDH", namedCurve: "P-256" };
const load = (jwk, uses) => crypto.subtle.importKey("jwk", jwk, curve, true, uses);
const sender = { privateKey: await load(pair, ["deriveBits"]),
  publicKey: await load({ kty: pair.kty, crv: pair.crv, x: pair.x, y: pair.y }, []) };
writeFileSync(process.argv[3], JSON.stringify({
  file: await writeFile(header, key, parts.map(bytes)),
  sealed: Buffer.from(
    await sealBy(sender, key, bytes(sealed.info), bytes(sealed.text), bytes(sealed.aad))).toString("base64"),
}));
"""


def bundled(folder: Path, *names: str) -> None:
    """Front-end sources of the log (paths below `log/`, without their ending) as modules that Node runs."""
    esbuild = FRONT / "node_modules" / ".bin" / "esbuild"
    assert esbuild.exists(), f"{esbuild} is missing: run `npm ci` in frontend (tests/run.py does it)"
    environment = {**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ.get('PATH', '')}"}
    for name in names:
        out = folder / f"{Path(name).name}.mjs"
        command = [str(esbuild), str(FRONT / "src" / "log" / f"{name}.ts"), "--bundle"]
        command += ["--format=esm", f"--outfile={out}", "--log-level=error"]
        subprocess.run(command, check=True, env=environment)


@cache
def _folder() -> Path:
    folder = Path(mkdtemp(prefix="chinrest-sealing-"))
    bundled(folder, "carry/hpke", "carry/file")
    (folder / "driver.mjs").write_text(DRIVER, "utf-8")
    return folder


def ask_sealing(question: dict[str, Any]) -> dict[str, str]:
    """`file`: one of `header` and sealed `parts` for `key`. `sealed`: one text by the sender's `pair` (JWK).
    Bytes go both ways in base64."""
    folder = _folder()
    asked, answer = folder / "question.json", folder / "answer.json"
    asked.write_text(json.dumps(question), "utf-8")
    subprocess.run([str(BIN / "node"), str(folder / "driver.mjs"), str(asked), str(answer)], check=True)
    told: dict[str, str] = json.loads(answer.read_text("utf-8"))
    return told
