"""Asks the phone's own dose arithmetic: the real front-end sources, bundled by esbuild and run by Node."""

import json
import os
import subprocess
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import msgspec
from phone_kernel import BIN, FRONT

DRIVER = """
import { readFileSync, writeFileSync } from "node:fs";
import { workDose } from "./dose.mjs";
import { checkDoses } from "./dosecheck.mjs";
const { packs, checked } = JSON.parse(readFileSync(process.argv[2], "utf8"));
const answers = packs.map(({ pack, requests }) => requests.map((request) => {
  try { return { answer: workDose(pack, request) }; }
  catch (error) { return { refused: [error.field, error.why], name: error.name }; }
}));
writeFileSync(process.argv[3], JSON.stringify({ answers, faults: checked.map(checkDoses) }));
"""


@cache
def _folder() -> Path:
    folder = Path(mkdtemp(prefix="chinrest-doses-"))
    esbuild = FRONT / "node_modules" / ".bin" / "esbuild"
    assert esbuild.exists(), f"{esbuild} is missing: run `npm ci` in frontend (tests/run.py does it)"
    environment = {**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ.get('PATH', '')}"}
    for name in ("dose", "dosecheck"):
        command = [str(esbuild), str(FRONT / "src" / "kernel" / f"{name}.ts"), "--bundle", "--format=esm"]
        command += [f"--outfile={folder / name}.mjs", "--log-level=error"]
        subprocess.run(command, check=True, env=environment)
    (folder / "driver.mjs").write_text(DRIVER, "utf-8")
    return folder


def ask_doses(packs: list[tuple[Any, list[Any]]], checked: list[Any] | None = None) -> dict[str, Any]:
    """{"answers": for each pack a list of {"answer"} or {"refused", "name"}, "faults": of each check}."""
    folder = _folder()
    question, answer = folder / "question.json", folder / "answer.json"
    asked = [{"pack": pack, "requests": requests} for pack, requests in packs]
    question.write_bytes(msgspec.json.encode({"packs": asked, "checked": checked or []}))
    subprocess.run([str(BIN / "node"), str(folder / "driver.mjs"), str(question), str(answer)], check=True)
    loaded: dict[str, Any] = json.loads(answer.read_text("utf-8"))
    return loaded
