"""Runs a few lines against the phone's own front-end sources: bundled by esbuild, run by Node."""

import json
import os
import subprocess
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import msgspec
from phone_kernel import BIN, FRONT

ENDS = """
import { readFileSync, writeFileSync } from "node:fs";
const asked = JSON.parse(readFileSync(process.argv[2], "utf8"));
writeFileSync(process.argv[3], JSON.stringify(answer(asked)));
"""


def ask_phone_code(lines: str, asked: Any) -> Any:
    """What `answer(asked)` gives: TypeScript `lines` define it, and import from `@src/...`."""
    folder = Path(mkdtemp(prefix="chinrest-phone-"))
    esbuild = FRONT / "node_modules" / ".bin" / "esbuild"
    assert esbuild.exists(), f"{esbuild} is missing: run `npm ci` in frontend (tests/run.py does it)"
    entry, bundle = folder / "entry.ts", folder / "entry.mjs"
    question, answer = folder / "question.json", folder / "answer.json"
    entry.write_text(lines + ENDS, "utf-8")
    question.write_bytes(msgspec.json.encode(asked))
    command = [str(esbuild), str(entry), "--bundle", "--format=esm", "--platform=node"]
    command += [f"--alias:@src={FRONT / 'src'}", f"--outfile={bundle}", "--log-level=error"]
    environment = {**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ.get('PATH', '')}"}
    environment["NODE_PATH"] = str(FRONT / "node_modules")
    subprocess.run(command, check=True, env=environment, cwd=FRONT)
    subprocess.run([str(BIN / "node"), str(bundle), str(question), str(answer)], check=True)
    return json.loads(answer.read_text("utf-8"))
