"""Holds the outputs that README.md, the manual and the page of changed engines quote to what the commands print.

A quote is

    <!-- quote: LABEL; exit N; COMMAND -->
    ```text
    lines of the command's standard output
    ...
    more lines of it, further down
    ```

A line of three dots stands for what was left out; the lines between two such lines follow each other in the output.

    readme_quotes.py --list     the labels
    readme_quotes.py LABEL      exit 1, and what differs, where the quote is not current
    readme_quotes.py --write    puts the most similar lines of today's output in the place of the quoted ones; read the result
"""

import difflib
import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
PAGES = [ROOT / "README.md", ROOT / "bench-cli/README.md", ROOT / "bench-cli/CHANGED.md"]
QUOTE = re.compile(r"<!-- quote: (?P<label>[\w-]+); exit (?P<exit>\d+); (?P<command>[^\n]*?) -->\n```text\n(?P<text>.*?)\n```", re.S)


def quotes():
    found = {}
    for page in PAGES:
        on_page = {match["label"]: match for match in QUOTE.finditer(page.read_text(encoding="utf-8"))}
        if not on_page or on_page.keys() & found.keys():
            sys.exit(f"{page} quotes no output, or one with another's label")
        found |= on_page
    return found


def first_missing(quoted, printed):
    """The first run of quoted lines that does not follow in the printed ones, or None."""
    start = 0
    for run in re.split(r"(?m)^ *\.\.\.$\n?", quoted):
        lines = run.rstrip("\n").split("\n")
        if lines == [""]:
            continue
        for at in range(start, len(printed) - len(lines) + 1):
            if printed[at : at + len(lines)] == lines:
                start = at + len(lines)
                break
        else:
            return lines
    return None


def built(command):
    """The command as a reader gives it, with the tool that is built already in the place of cargo's."""
    tool = os.environ.get("BOBWEIGHT")
    return command.replace("cargo run --quiet --", tool) if tool else command


def run(quote):
    """What the quote's command prints today, and how it ends."""
    done = subprocess.run(built(quote["command"]), shell=True, cwd=ROOT, capture_output=True, text=True, check=False)
    return [line.rstrip() for line in done.stdout.split("\n")], done


def renewed(quoted, printed):
    """The quote with each run of lines replaced by the printed ones from the most similar to its first to that to its last."""
    start, lines = 0, []
    for run in re.split(r"(?m)^( *\.\.\.)$\n?", quoted):
        if run.strip() in ("", "..."):
            lines += [run] if run.strip() else []
            continue
        old = run.rstrip("\n").split("\n")
        likeness = lambda line, among: max(  # noqa: E731
            among, key=lambda i: (difflib.SequenceMatcher(None, line, printed[i]).ratio(), -i), default=None
        )
        first = likeness(old[0], range(start, len(printed)))
        if first is None:
            continue
        last = likeness(old[-1], range(first, min(len(printed), first + 2 * len(old) + 1)))
        lines += printed[first : last + 1]
        start = last + 1
    return "\n".join(lines)


def write():
    for quote in quotes().values():
        text, new = quote["text"], renewed(quote["text"], run(quote)[0])
        for page in PAGES:
            page.write_text(page.read_text(encoding="utf-8").replace(text, new), encoding="utf-8")


def main(label):
    quote = quotes()[label]
    printed, done = run(quote)
    print(f"$ {quote['command']}", *printed, sep="\n")
    print(done.stderr)
    if done.returncode != int(quote["exit"]):
        sys.exit(f"exit {done.returncode}; the page says {quote['exit']}")
    missing = first_missing(quote["text"], printed)
    if missing is not None:
        sys.exit("\n".join(["these quoted lines are not, in this order, in the output above:", *missing]))


if __name__ == "__main__":
    if sys.argv[1:] == ["--list"]:
        print("\n".join(quotes()))
    elif sys.argv[1:] == ["--write"]:
        write()
    else:
        main(sys.argv[1])
