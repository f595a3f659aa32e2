"""A field that one view hands on to the next, as Preact does with like places: its limit goes with its view.

The real `ui/Field`, bundled by esbuild and drawn by the real Preact in the browser.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from playwright.sync_api import expect

from browsing import FRONT, Contexts

pytestmark = [pytest.mark.browser, pytest.mark.timeout(120)]

VIEWS = """
import { render } from "preact";
import { useState } from "preact/hooks";
import { TextArea, TextField } from "@src/ui/Field";

const LIMITS = [3, undefined, 5, undefined];
function Views() {
  const [view, turn] = useState(0);
  const [text, setText] = useState("");
  const most = LIMITS[view];
  const limit = most === undefined ? {} : { maxLength: most };
  const on = () => { setText(""); turn(view + 1); };
  return <>
    <TextField label="Line" value={text} onText={setText} {...limit} />
    <TextArea label="Lines" value={text} onText={setText} {...limit} />
    <button type="button" onClick={on}>Next view</button>
  </>;
}
render(<Views />, document.body);
"""


def bundled(folder: Path) -> str:
    entry, bundle = folder / "views.tsx", folder / "views.js"
    entry.write_text(VIEWS, "utf-8")
    command = [str(FRONT / "node_modules" / ".bin" / "esbuild"), str(entry), "--bundle", "--format=iife"]
    command += ["--jsx=automatic", "--jsx-import-source=preact", f"--alias:@src={FRONT / 'src'}"]
    bin_ = Path(sys.executable).parent
    environment = {**os.environ, "PATH": f"{bin_}{os.pathsep}{os.environ.get('PATH', '')}"}
    environment["NODE_PATH"] = str(FRONT / "node_modules")
    subprocess.run([*command, f"--outfile={bundle}", "--log-level=error"], check=True, env=environment)
    return bundle.read_text("utf-8")


@pytest.mark.parametrize("label", ["Line", "Lines"])
def test_a_limit_does_not_outlive_its_view(contexts: Contexts, tmp_path: Path, label: str) -> None:
    page = contexts.phone().new_page()
    page.set_content("<!doctype html><title>Fields</title><body></body>")
    page.add_script_tag(content=bundled(tmp_path))
    field = page.get_by_label(label, exact=True)
    for fits in ("abc", "abcdefgh", "abcde", "abcdefgh"):
        field.press_sequentially("abcdefgh")
        expect(field).to_have_value(fits)
        page.get_by_role("button", name="Next view").click()
