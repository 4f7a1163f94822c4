"""Lists every public function of the crates that a chip links, as a Rust file that links them all.

    public_functions.py            exit 1, and the difference, where src/public_functions.rs is not current
    public_functions.py --write    writes it

The list is the compiler's own (rustdoc's JSON), so a function cannot be forgotten. What a trait adds to a type is
listed for `Default` and `From`; serde's traits are reached through the functions that frame a message. `Display` is for
the host: Rust's own library writes numbers by code in which a panic can be reached, on both chips. A chip has `message`.
"""

import difflib
import json
import subprocess
import sys
from pathlib import Path

CHIP = Path(__file__).resolve().parent
OUTPUT = CHIP / "src" / "public_functions.rs"
CRATES = ["bobweight", "bobweight-wire", "bobweight-stimulator"]
TRAITS = {"Default": "Default", "From": "From"}

# A type with a size of its own, by the name of the one that is linked.
ALIASES = {"bobweight_wire::DecoderOf": "bobweight_wire::Decoder"}

# A generic function is linked once for each of these; without an entry the script refuses.
INSTANCES = {
    "bobweight::store::Slots::open": ["bobweight::store::Slots::open::<crate::Memory>"],
    "bobweight::store::Slots::byte": ["bobweight::store::Slots::byte::<crate::Memory>"],
    "bobweight::store::Slots::write": ["bobweight::store::Slots::write::<crate::Memory>"],
    "bobweight::store::Slots::written": ["bobweight::store::Slots::written::<crate::Memory>"],
    "bobweight::store::Slots::commit": ["bobweight::store::Slots::commit::<crate::Memory>"],
    "bobweight_wire::Decoder::push": [
        "bobweight_wire::Decoder::push::<bobweight_wire::Request>",
        "bobweight_wire::Decoder::push::<bobweight_wire::BoardMessage>",
        "bobweight_wire::Decoder::push::<bobweight_wire::IgnitionRequest>",
        "bobweight_wire::Decoder::push::<bobweight_wire::FromIgnition>",
    ],
    "bobweight_wire::Frame::of": [
        "bobweight_wire::Frame::of::<bobweight_wire::Request>",
        "bobweight_wire::Frame::of::<bobweight_wire::BoardMessage>",
        "bobweight_wire::Frame::of::<bobweight_wire::IgnitionRequest>",
        "bobweight_wire::Frame::of::<bobweight_wire::FromIgnition>",
    ],
}

HEADER = """\
//! Every public function of the crates that a chip links. Written by public_functions.py; do not edit.

use crate::link;

/// Links them all.
pub fn link_all() {
"""


def documentation(crate):
    """The compiler's description of a crate's public items."""
    command = ["./toolchain.sh", "host", "rustdoc", "--quiet", "-p", crate, "--lib", "--target-dir", "target/json"]
    command += ["--", "-Z", "unstable-options", "--output-format", "json", "--cap-lints", "allow"]
    subprocess.run(command, cwd=CHIP, check=True)
    return json.loads((CHIP / "target/json/doc" / f"{crate.replace('-', '_')}.json").read_text())


class Crate:
    """Writes paths and types of one crate's items as Rust."""

    def __init__(self, name):
        described = documentation(name)
        self.index, self.paths, self.root = described["index"], described["paths"], described["root"]
        self.public = {}
        self.modules(self.root, name.replace("-", "_"))

    def modules(self, module, path):
        """Finds by which public path each item can be named."""
        for item in (self.index[str(i)] for i in self.index[str(module)]["inner"]["module"]["items"]):
            if "use" in item["inner"]:
                used = item["inner"]["use"]
                target = self.index.get(str(used["id"]))
                if target and used["is_glob"]:
                    self.modules(used["id"], path)
                elif target:
                    self.public.setdefault(target["id"], f"{path}::{used['name']}")
            elif "module" in item["inner"]:
                self.modules(item["id"], f"{path}::{item['name']}")
            else:
                self.public.setdefault(item["id"], f"{path}::{item['name']}")

    def type(self, described):
        """A type as Rust writes it."""
        if "primitive" in described:
            return described["primitive"]
        if "resolved_path" in described:
            of = described["resolved_path"]
            path = self.public.get(of["id"]) or "::".join(self.paths[str(of["id"])]["path"])
            arguments = [self.type(a["type"]) for a in ((of["args"] or {}).get("angle_bracketed") or {}).get("args", []) if "type" in a]
            return path + (f"<{', '.join(arguments)}>" if arguments else "")
        raise SystemExit(f"public_functions.py cannot write this type yet: {described}")

    def functions(self):
        """Yields each public function: how it is named, the number of its arguments."""
        for item in self.index.values():
            inner = item["inner"]
            if "impl" in inner and not inner["impl"]["is_synthetic"] and not inner["impl"]["blanket_impl"]:
                yield from self.of_impl(inner["impl"])
            elif "function" in inner and item["id"] in self.public:
                yield from self.instances(self.public[item["id"]], inner["function"])

    def of_impl(self, block):
        trait = block["trait"]
        name = trait and trait["path"].split("::")[-1]
        if trait and name not in TRAITS:
            return
        of = block["for"]
        if "resolved_path" not in of or of["resolved_path"]["id"] not in self.public:
            return
        written = ALIASES.get(self.type(of), self.type(of))
        for function in (self.index[str(i)] for i in block["items"]):
            if "function" not in function["inner"]:
                continue
            if trait:
                arguments = [self.type(a["type"]) for a in ((trait["args"] or {}).get("angle_bracketed") or {}).get("args", [])]
                as_trait = TRAITS[name] + (f"<{', '.join(arguments)}>" if arguments else "")
                yield from self.instances(f"<{written} as {as_trait}>::{function['name']}", function["inner"]["function"])
            elif function["visibility"] == "public":
                path = f"<{written}>" if "<" in written else written
                yield from self.instances(f"{path}::{function['name']}", function["inner"]["function"])

    @staticmethod
    def instances(path, function):
        count = len(function["sig"]["inputs"])
        if any("type" in p["kind"] for p in function["generics"]["params"]):
            if path not in INSTANCES:
                raise SystemExit(f"{path} is generic: name in INSTANCES of public_functions.py what a chip uses it for")
            for instance in INSTANCES[path]:
                yield instance, count
        else:
            yield path, count


def listed():
    """The file's text."""
    lines = sorted({line for crate in CRATES for line in Crate(crate).functions()})
    calls = [f"    link({path} as fn({', '.join('_' * count)}) -> _);\n" for path, count in lines]
    text = HEADER + "".join(calls) + "}\n"
    formatted = subprocess.run(["rustfmt", "--edition", "2024"], cwd=CHIP, input=text, capture_output=True, text=True, check=True)
    return formatted.stdout, len(lines)


def main():
    text, count = listed()
    print(f"{count} public functions")
    if sys.argv[1:] == ["--write"]:
        OUTPUT.write_text(text)
        return
    current = OUTPUT.read_text()
    if text != current:
        print(*difflib.unified_diff(current.splitlines(), text.splitlines(), "committed", "found", lineterm=""), sep="\n")
        raise SystemExit("src/public_functions.rs is behind; python3 tests/tools/chip/public_functions.py --write")


if __name__ == "__main__":
    main()
