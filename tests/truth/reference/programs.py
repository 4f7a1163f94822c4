"""Commands of the programs that the scripts ask: as the suites have built them, or by cargo where nobody has."""

import os
import pathlib

TOOL = os.environ.get("BOBWEIGHT")


def tool():
    """The host's tool, without arguments."""
    return [TOOL] if TOOL else ["cargo", "run", "--quiet", "--"]


def example(name):
    """A program of tests/Cargo.toml that is not a test of itself."""
    if TOOL:
        return [pathlib.Path(TOOL).parent / "examples" / name]
    return ["cargo", "run", "--quiet", "-p", "bobweight-tests", "--example", name, "--"]
