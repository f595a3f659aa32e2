"""Where the demo scenario is: in a checkout beside the code, in an installed package inside it."""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1]


def demo_folder() -> Path:
    """The demo scenario: `pack/` (the source of its guidance pack) and `staff.toml`.

    Raises FileNotFoundError, naming both places, where it is in neither.
    """
    inside, beside = PACKAGE / "demo", PACKAGE.parents[1] / "fixtures" / "demo"
    for folder in (inside, beside):
        if (folder / "pack").is_dir():
            return folder
    raise FileNotFoundError(f"the demo scenario is neither in {inside} nor in {beside}")


def demo_path() -> Path:
    """The source folder of the demo's guidance pack."""
    return demo_folder() / "pack"
