"""Asks the phone's own kernel about fields on the retina: the real front-end sources, run by Node."""

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
import { checkVectors, fieldOutline, mapPoint, unionOf } from "./kernel.mjs";
const { pack, sets, vectors } = JSON.parse(readFileSync(process.argv[2], "utf8"));
const answers = sets.map((fields) => ({
  ...unionOf(pack.retina, pack.regions, fields),
  outline: fieldOutline(pack.retina, fields[0], 24),
  middle: mapPoint(pack.retina, fields[0][1], fields[0][2]),
}));
const faults = vectors ? checkVectors({ ...pack, cell_vectors: vectors }) : null;
writeFileSync(process.argv[3], JSON.stringify({ answers, faults }));
"""


@cache
def _folder() -> Path:
    folder = Path(mkdtemp(prefix="chinrest-cells-"))
    esbuild = FRONT / "node_modules" / ".bin" / "esbuild"
    assert esbuild.exists(), f"{esbuild} is missing: run `npm ci` in frontend (tests/run.py does it)"
    entry, bundle = FRONT / "src" / "kernel" / "index.ts", folder / "kernel.mjs"
    subprocess.run(
        [str(esbuild), str(entry), "--bundle", "--format=esm", f"--outfile={bundle}", "--log-level=error"],
        check=True,
        env={**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ.get('PATH', '')}"},
    )
    (folder / "driver.mjs").write_text(DRIVER, "utf-8")
    return folder


def ask_cells(pack: Any, sets: list[Any], vectors: Any = None) -> dict[str, Any]:
    """{"answers": [a union with "outline" and "middle" of its first field], "faults": words or None}."""
    folder = _folder()
    question, answer = folder / "question.json", folder / "answer.json"
    question.write_bytes(msgspec.json.encode({"pack": pack, "sets": sets, "vectors": vectors}))
    subprocess.run([str(BIN / "node"), str(folder / "driver.mjs"), str(question), str(answer)], check=True)
    loaded: dict[str, Any] = json.loads(answer.read_text("utf-8"))
    return loaded
