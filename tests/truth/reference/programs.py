"""Commands of the programs that the scripts ask: as the suites have built them, or by cargo where nobody has."""

import json
import os
import pathlib
import subprocess

TOOL = os.environ.get("BOBWEIGHT")


def tool():
    """The host's tool, without arguments."""
    return [TOOL] if TOOL else ["cargo", "run", "--quiet", "--"]


def example(name):
    """A program of tests/Cargo.toml that is not a test of itself."""
    if TOOL:
        return [pathlib.Path(TOOL).parent / "examples" / name]
    return ["cargo", "run", "--quiet", "-p", "bobweight-tests", "--example", name, "--"]


def printed(name, arguments):
    """The JSON that such a program prints, or that of the file which is named in its place."""
    if arguments:
        return json.loads(pathlib.Path(arguments[0]).read_text())
    root = pathlib.Path(__file__).resolve().parents[3]
    return json.loads(subprocess.run(example(name), cwd=root, check=True, stdout=subprocess.PIPE).stdout)
