"""Asks the phone's own kernel: the real front-end sources, bundled by esbuild and run by Node."""

import json
import os
import subprocess
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import msgspec

ROOT = Path(__file__).resolve().parents[2]
FRONT = ROOT / "frontend"
BIN = ROOT / ".venv" / ("Scripts" if os.name == "nt" else "bin")
DRIVER = """
import { readFileSync, writeFileSync } from "node:fs";
import { checkVectors, fit } from "%s";
const { pack, requests, vectors } = JSON.parse(readFileSync(process.argv[2], "utf8"));
const answers = requests.map((request) => {
  const began = performance.now();
  try { return { answer: fit(pack, request), ms: performance.now() - began }; }
  catch (error) { return { error: { name: error.name, field: error.field, why: error.why } }; }
});
writeFileSync(process.argv[3], JSON.stringify({ answers, faults: vectors ? checkVectors(pack) : null }));
"""


@cache
def _folder() -> Path:
    """A folder with the bundled kernel and the driver; made once a run."""
    folder = Path(mkdtemp(prefix="chinrest-kernel-"))
    esbuild = FRONT / "node_modules" / ".bin" / "esbuild"
    assert esbuild.exists(), f"{esbuild} is missing: run `npm ci` in frontend (tests/run.py does it)"
    entry, bundle = FRONT / "src" / "kernel" / "index.ts", folder / "kernel.mjs"
    environment = {**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ.get('PATH', '')}"}
    subprocess.run(
        [str(esbuild), str(entry), "--bundle", "--format=esm", f"--outfile={bundle}", "--log-level=error"],
        check=True,
        env=environment,
    )
    (folder / "driver.mjs").write_text(DRIVER % "./kernel.mjs", "utf-8")
    return folder


def ask_kernel(pack: Any, requests: list[Any], vectors: bool = False) -> dict[str, Any]:
    """{"answers": [{"answer", "ms"} or {"error"}], "faults": words of checkVectors or None}."""
    folder = _folder()
    question, answer = folder / "question.json", folder / "answer.json"
    question.write_bytes(msgspec.json.encode({"pack": pack, "requests": requests, "vectors": vectors}))
    subprocess.run([str(BIN / "node"), str(folder / "driver.mjs"), str(question), str(answer)], check=True)
    loaded: dict[str, Any] = json.loads(answer.read_text("utf-8"))
    return loaded
