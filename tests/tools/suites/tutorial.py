"""Plays bench-cli/TUTORIAL.md from the survey to the report, and holds the outputs that it gives to what the commands print.

A step is a command and the lines of what it says, on both outputs, as in readme_quotes.py:

    <!-- step: LABEL; exit N -->
    ```
    COMMAND
    ```

    ```text
    lines that it says
    ...
    ```

What asks is played on a pseudo-terminal by survey_player.py: a survey by somebody who measures, `begin` by whoever types what stands, in its order,
behind `answers:` of the step, parted by ` | `. What is typed into the sheet is

    <!-- typed into: FILE -->
    ```toml
    key = value
    ```

where each line takes the place of the one that asks for it. A step that needs boards is a `step on boards`; one that says
something else where there are boards is a `step without boards`. A command that needs an engine stands below
`<!-- not run: WHY -->`. Every other line that begins with `bobweight` in a block has to be a step.

    tutorial.py             exit 1, and what differs, where a step does not say what the tutorial gives
    tutorial.py --boards    the steps on boards as well, on the two simulated chips that `tests/rig/firmware.sh` has built
    tutorial.py --write     puts the most similar lines of today's outputs in their place; read the result
"""

import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

from readme_quotes import ROOT, first_missing, renewed
from survey_player import play

TUTORIAL = ROOT / "bench-cli/TUTORIAL.md"
STEP = re.compile(
    r"<!-- step(?: (?P<where>on|without) boards)?: (?P<label>[\w-]+); exit (?P<exit>\d+)(?:; answers: (?P<answers>[^\n]*?))? -->\n```\n(?P<command>.*?)\n```\n(?:\n```text\n(?P<text>.*?)\n```\n)?"
    r"|<!-- typed into: (?P<file>\S+) -->\n```toml\n(?P<typed>.*?)\n```\n",
    re.S,
)
# Commands that ask somebody something.
ASKS = re.compile(r"^bobweight (survey|begin)|--first-start|--serial")
# A terminal gets colours, of which the page has none (ECMA-48, select graphic rendition).
COLOUR = re.compile(r"\x1b\[[0-9;]*m")
# What the tutorial calls the serial ports of the ignition and of the stimulator.
IGNITION, STIMULATOR = "/dev/ttyACM0", "/dev/ttyACM1"
BLOCK = re.compile(r"(?P<before>[^\n]*)\n```\n(?P<text>.*?)\n```\n", re.S)


def type_into(path, typed):
    """Each line of `typed` in the place of the line of its table that waits for it."""
    lines = path.read_text(encoding="utf-8").split("\n")
    at, table = 0, ""
    for line in filter(None, typed.split("\n")):
        if line.startswith("["):
            table = line
            at = next(i for i, found in enumerate(lines) if found in (table, f"# {table}"))
            lines[at] = table
            continue
        key = line.split(" = ")[0]
        while not lines[at].startswith(f"# {key} = "):
            at += 1
            if at == len(lines) or lines[at].startswith("["):
                sys.exit(f"no line of {table or 'the sheet'} asks for {key}")
        lines[at] = line
    path.write_text("\n".join(lines), encoding="utf-8")


def run(command, folder, answers=None):
    """What a command says, on both outputs together, and its exit status."""
    if ASKS.search(command):
        said, status = play(command.split(), folder, answers and answers.split(" | "))
        return COLOUR.sub("", said), status
    done = subprocess.run(
        command, shell=True, cwd=folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        text=True, check=False,
    )  # fmt: skip
    return done.stdout, done.returncode


def run_on_boards(command, folder):
    """As `run`, on two chips that are switched on for it; the ignition keeps its store from one step to the next."""
    sys.path.insert(0, str(ROOT / "tests/rig"))
    from two_chips import Rig

    with Rig("--eeprom", str(Path(folder, "store.bin")), ignition="ignition_stored.elf") as boards:
        ports = {IGNITION: boards.ignition_port, STIMULATOR: boards.port}
        for name, port in ports.items():
            command = command.replace(name, port)
        said, status = run(command, folder)
        for name, port in ports.items():
            said = said.replace(port, name)
    return said, status


def left_out(text):
    """Commands of blocks that are no step and not said to be not run."""
    for block in BLOCK.finditer(text):
        if not re.match(r"<!-- (step( (on|without) boards)?|not run): ", block["before"]):
            yield from (line for line in block["text"].split("\n") if line.startswith("bobweight"))


def main(write, boards):
    text = TUTORIAL.read_text(encoding="utf-8")
    if forgotten := list(left_out(text)):
        sys.exit("\n".join(["these commands are no steps of the tutorial's test:", *forgotten]))
    os.environ["PATH"] = f"{Path(os.environ.get('BOBWEIGHT', ROOT / 'target/debug/bobweight')).parent}{os.pathsep}{os.environ['PATH']}"
    wrong = []
    with tempfile.TemporaryDirectory() as folder:
        steps = list(STEP.finditer(text))
        if not any(step["text"] for step in steps):
            sys.exit(f"{TUTORIAL} gives no output")
        for step in steps:
            if step["file"]:
                type_into(Path(folder, step["file"]), step["typed"])
                continue
            if step["where"] == ("without" if boards else "on"):
                continue
            if "--serial" in step["command"]:
                said, status = run_on_boards(step["command"], folder)
            else:
                said, status = run(step["command"], folder, step["answers"])
            printed = [line.rstrip() for line in said.split("\n")]
            print(f"$ {step['command']}", *printed, sep="\n")
            if status != int(step["exit"]):
                sys.exit(f"{step['label']}: exit {status}; the tutorial says {step['exit']}")
            if step["text"] is None:
                continue
            if write:
                text = text.replace(step["text"], renewed(step["text"], printed))
            elif missing := first_missing(step["text"], printed):
                wrong += [f"{step['label']}: these lines are not, in this order, in the output above:", *missing]
    if write:
        TUTORIAL.write_text(text, encoding="utf-8")
    sys.exit("\n".join(wrong) or None)


if __name__ == "__main__":
    main("--write" in sys.argv[1:], "--boards" in sys.argv[1:])
