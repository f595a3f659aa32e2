"""Asks the phone's own clock and next frame: the real front-end sources, bundled and run by Node."""

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
import { secondsSince } from "./clock.mjs";
import { nextFrames } from "./nextFrame.mjs";
import { checkSeries } from "./seriesVectors.mjs";
const { clocks, layouts, pace, moments, packs } = JSON.parse(readFileSync(process.argv[2], "utf8"));
const each = (list, work) => list.map((asked) => {
  const began = performance.now();
  try { return { answer: work(asked), ms: performance.now() - began }; }
  catch (error) { return { error: error.message }; }
});
writeFileSync(process.argv[3], JSON.stringify({
  clocks: each(clocks, ({ anchor, readings }) => secondsSince(anchor, readings)),
  next: each(moments, ({ layout, progress }) => nextFrames(layouts[layout], pace, progress)),
  faults: packs.map(checkSeries),
}));
"""


@cache
def _folder() -> Path:
    folder = Path(mkdtemp(prefix="chinrest-series-"))
    esbuild = FRONT / "node_modules" / ".bin" / "esbuild"
    assert esbuild.exists(), f"{esbuild} is missing: run `npm ci` in frontend (tests/run.py does it)"
    environment = {**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ.get('PATH', '')}"}
    for name in ("clock", "nextFrame", "seriesVectors"):
        command = [str(esbuild), str(FRONT / "src" / "kernel" / f"{name}.ts"), "--bundle", "--format=esm"]
        command += [f"--outfile={folder / name}.mjs", "--log-level=error"]
        subprocess.run(command, check=True, env=environment)
    (folder / "driver.mjs").write_text(DRIVER, "utf-8")
    return folder


def ask_series(
    clocks: list[Any] | None = None,
    layouts: list[Any] | None = None,
    pace: Any = None,
    moments: list[Any] | None = None,
    packs: list[Any] | None = None,
) -> dict[str, Any]:
    """{"clocks", "next": lists of {"answer", "ms"} or {"error"}, "faults": words of each pack's check}.

    A clock is {"anchor", "readings"}; a moment {"layout": its place in `layouts`, "progress"}.
    """
    folder = _folder()
    question, answer = folder / "question.json", folder / "answer.json"
    asked = {
        "clocks": clocks or [],
        "layouts": layouts or [],
        "pace": pace,
        "moments": moments or [],
        "packs": packs or [],
    }
    question.write_bytes(msgspec.json.encode(asked))
    subprocess.run([str(BIN / "node"), str(folder / "driver.mjs"), str(question), str(answer)], check=True)
    loaded: dict[str, Any] = json.loads(answer.read_text("utf-8"))
    return loaded
