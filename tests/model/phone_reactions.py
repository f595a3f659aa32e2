"""Asks the phone's own criteria: the real front-end source, bundled by esbuild and run by Node."""

import json
import os
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import msgspec
from phone_kernel import BIN, FRONT

DRIVER = """
import { readFileSync, writeFileSync } from "node:fs";
import { met } from "./tables.mjs";
const { tables, asked } = JSON.parse(readFileSync(process.argv[2], "utf8"));
const answers = asked.map((signs) => met(tables, new Set(signs)).map(({ id }) => id));
writeFileSync(process.argv[3], JSON.stringify(answers));
"""


def ask_criteria(tables: Any, asked: list[list[str]]) -> list[list[str]]:
    """For each list of signs, the ids of the criteria that the phone says are met."""
    source = FRONT / "src" / "chairside" / "reaction" / "tables.ts"
    esbuild = FRONT / "node_modules" / ".bin" / "esbuild"
    environment = {**os.environ, "PATH": f"{BIN}{os.pathsep}{os.environ.get('PATH', '')}"}
    with TemporaryDirectory(prefix="chinrest-criteria-") as name:
        folder = Path(name)
        command = [
            str(esbuild),
            str(source),
            "--bundle",
            "--format=esm",
            f"--outfile={folder / 'tables.mjs'}",
        ]
        subprocess.run([*command, "--log-level=error"], check=True, env=environment)
        (folder / "driver.mjs").write_text(DRIVER, "utf-8")
        question, answer = folder / "question.json", folder / "answer.json"
        question.write_bytes(msgspec.json.encode({"tables": tables, "asked": asked}))
        subprocess.run(
            [str(BIN / "node"), str(folder / "driver.mjs"), str(question), str(answer)], check=True
        )
        loaded: list[list[str]] = json.loads(answer.read_text("utf-8"))
    return loaded
