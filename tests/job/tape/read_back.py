"""Reads a degree tape back from the picture that `pdftoppm` makes of its PDF, and holds it to geometry.

    read_back.py BOBWEIGHT      exit 1, and what differs, where a mark is not where it should be

Nothing of the tool's own numbers is used: the marks are ink, their degrees come from the numbers that `pdftotext -bbox` finds
beside them, and they belong at pi d a / 360 from top dead centre (geometry). On a pulley the degrees before top dead centre lie
ahead of it in the direction of rotation, on a plate behind it; seen from outside with the pulley end below, the rim of a pulley
that turns clockwise moves to the right at the top (geometry).
"""

import math
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from xml.etree import ElementTree

DPI = 1200
MM = 25.4
BOUND_MM = 0.05
PAGE_MM = (279.4, 210.0)
BOUND_PAGE_MM = 0.2


def draw(tool, out, diameter, ends, rotation, carrier):
    after, before = ends
    options = ["--diameter", diameter, "--from", f"{after} crank degrees ATDC", "--to", f"{before} crank degrees BTDC"]
    done = subprocess.run(
        [tool, "tape", *options, "--rotation", rotation, "--on", carrier, "--out", str(out)],
        capture_output=True, text=True, check=False,
    )
    if done.returncode:
        sys.exit(done.stderr)


def words(pdf):
    """Of each page its size and its words: text, left, top, right, bottom, all mm."""
    html = subprocess.run(["pdftotext", "-bbox", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
    pages = []
    for page in re.split(r"<page ", html)[1:]:
        size = [float(value) / 72 * MM for value in re.search(r'width="([\d.]+)" height="([\d.]+)"', page).groups()]
        found = re.findall(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>', page)
        pages.append((size, [(text, *[float(value) / 72 * MM for value in box]) for *box, text in found]))
    return pages


def row_of_ink(pdf, page, y_mm):
    """Middles of the runs of ink along one row of pixels, mm from the left, with their widths."""
    y = round(y_mm / MM * DPI)
    width = round(PAGE_MM[0] / MM * DPI)
    options = ["-gray", "-r", str(DPI), "-f", str(page), "-l", str(page), "-x", "0", "-y", str(y), "-W", str(width), "-H", "1"]
    picture = subprocess.run(["pdftoppm", *options, str(pdf)], capture_output=True, check=True).stdout
    header = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", picture)
    row = picture[header.end() :]
    runs, start = [], None
    for x, value in enumerate(row + b"\xff"):
        if value < 128 and start is None:
            start = x
        elif value >= 128 and start is not None:
            runs.append(((start + x) / 2 / DPI * MM, (x - start) / DPI * MM))
            start = None
    return runs


def strips(page_words):
    """The strips of a page by their `pulley end` labels: y of the label's top, and the words above it."""
    tops = sorted(top for text, _, top, _, _ in page_words if text == "pulley")
    # The head names the pulley end too.
    tops = [top for top in tops if top > 50]
    above = lambda top: [word for word in page_words if top - 22 < word[2] < top - 2]
    return [(top, above(top)) for top in tops]


def signed(label_words, x):
    """The degree that a number at x stands for, by the BTDC or ATDC below it."""
    side = min((word for word in label_words if word[0] in ("BTDC", "ATDC")), key=lambda w: abs((w[1] + w[3]) / 2 - x))
    return 1 if side[0] == "BTDC" else -1


class Judge:
    def __init__(self):
        self.passed = self.failed = 0
        self.worst = 0.0

    def holds(self, right, what):
        if right:
            self.passed += 1
        else:
            self.failed += 1
            print(f"FAILED: {what}")


def judge_strip(judge, name, pdf, page, top, label_words, diameter_mm, before_is_right):
    pitch = math.pi * diameter_mm / 360
    # Just above the lower edge of the tape every mark has ink.
    marks = [middle for middle, width in row_of_ink(pdf, page, top - 2.0) if width < 1]
    zero = [word for word in label_words if word[0] == "0"]
    numbers = {}
    for text, left, _, right, _ in label_words:
        if text.isdigit() and text != "0":
            middle = (left + right) / 2
            numbers[min(marks, key=lambda mark: abs(mark - middle))] = int(text) * signed(label_words, middle)
    if zero:
        # Its number stands right of it.
        numbers[max(mark for mark in marks if mark < zero[0][1])] = 0
    judge.holds(len(numbers) >= 2, f"{name}: fewer than two numbers on the strip")
    sign = 1 if before_is_right else -1
    anchor, degree = min(numbers.items(), key=lambda item: abs(item[1]))
    step = 1 if pitch >= 0.8 else 2
    for mark, number in numbers.items():
        error = abs((mark - anchor) * sign - (number - degree) * pitch)
        judge.worst = max(judge.worst, error)
        judge.holds(error <= BOUND_MM, f"{name}: {number} crank degrees lies {error:.3f} mm off")
    for mark in marks:
        from_anchor = (mark - anchor) / (pitch * step)
        error = abs(from_anchor - round(from_anchor)) * pitch * step
        judge.worst = max(judge.worst, error)
        judge.holds(error <= BOUND_MM, f"{name}: a mark {mark - anchor:.3f} mm from {degree} is {error:.3f} mm off")
    gaps = [b - a for a, b in zip(marks, marks[1:])]
    judge.holds(all(abs(gap - pitch * step) <= BOUND_MM for gap in gaps), f"{name}: a mark is missing or one too many")
    degrees = sorted(round(degree + sign * (mark - anchor) / pitch) for mark in marks)
    return degrees, {letter: ((x - anchor) * sign / pitch) + degree for letter, x in joins(pdf, page, top, label_words)}


def joins(pdf, page, top, label_words):
    """The join marks of a strip: letter and place."""
    found = []
    for index, word in enumerate(label_words):
        if word[0] == "join":
            letter = label_words[index + 1]
            middle = (word[1] + letter[3]) / 2
            # Between the label and the tape's upper edge.
            ink = row_of_ink(pdf, page, letter[4] + 1.4)
            found.append((letter[0], min((x for x, _ in ink), key=lambda x: abs(x - middle))))
    return found


def judge_tape(judge, tool, folder, diameter, diameter_mm, ends, rotation, carrier):
    name = f"{diameter}, {ends[0]} ATDC to {ends[1]} BTDC, {rotation}, {carrier}"
    pdf = Path(folder) / "tape.pdf"
    draw(tool, pdf, diameter, ends, rotation, carrier)
    before_is_right = (rotation == "clockwise") == (carrier == "pulley")
    held, joined = set(), {}
    for page, (size, page_words) in enumerate(words(pdf), 1):
        judge.holds(all(abs(a - b) <= BOUND_PAGE_MM for a, b in zip(size, PAGE_MM)), f"{name}: page of {size} mm")
        judge_check_bar(judge, name, pdf, page, page_words)
        judge_arrow(judge, name, pdf, page, page_words, rotation)
        for top, label_words in strips(page_words):
            degrees, letters = judge_strip(judge, name, pdf, page, top, label_words, diameter_mm, before_is_right)
            judge.holds(not held or held & set(degrees), f"{name}: a strip repeats no mark of the one before")
            held |= set(degrees)
            for letter, place in letters.items():
                joined.setdefault(letter, []).append(place)
    step = 1 if math.pi * diameter_mm / 360 >= 0.8 else 2
    wanted = {degree for degree in range(-ends[0], ends[1] + 1) if degree % step == 0}
    judge.holds(held == wanted, f"{name}: degrees {sorted(wanted ^ held)} are missing or too many")
    for letter, places in joined.items():
        apart = abs(places[0] - places[-1]) * math.pi * diameter_mm / 360
        judge.holds(len(places) == 2 and apart <= BOUND_MM, f"{name}: join {letter} lies at {places} crank degrees")


def judge_check_bar(judge, name, pdf, page, page_words):
    """Its two ends, measured over all."""
    label = next(word for word in page_words if word[0] == "100" and word[3] < 100)
    y = label[4] + 2.2
    ends = row_of_ink(pdf, page, y)[:2]
    length = ends[1][0] + ends[1][1] / 2 - (ends[0][0] - ends[0][1] / 2)
    judge.holds(abs(length - 100) <= BOUND_MM, f"{name}: the check bar is {length:.3f} mm long")


def judge_arrow(judge, name, pdf, page, page_words, rotation):
    """The head is the thick end of the arrow: 1 mm above its shaft only the head has ink."""
    text = next(word for word in page_words if word[0] == "The" and word[1] > 120)
    heads = [x for y in (3.0, 3.4, 3.8) for x, _ in row_of_ink(pdf, page, text[2] + y + 2.0) if x > 130]
    shaft = [x for x, width in row_of_ink(pdf, page, text[2] + 6.6) if width > 30 and x > 130]
    right = len(set(heads)) > 0 and len(shaft) > 0 and (heads[0] > shaft[0]) == (rotation == "clockwise")
    judge.holds(right, f"{name}: the arrow does not point {rotation} (head {heads}, shaft {shaft})")


def judge_svg(judge, tool, folder):
    """The SVG holds the same bars at the same places, a user unit being a millimetre."""
    svg = Path(folder) / "tape.svg"
    draw(tool, svg, "152 mm", (10, 50), "clockwise", "pulley")
    root = ElementTree.parse(svg).getroot()
    sizes = [float(root.get(key).removesuffix("mm")) for key in ("width", "height")]
    judge.holds(root.get("viewBox") == f"0 0 {sizes[0]:g} {sizes[1]:g}", "a user unit of the SVG is no millimetre")
    space = "{http://www.w3.org/2000/svg}"
    bars = [[float(bar.get(key)) for key in ("x", "y", "width", "height")] for bar in root.iter(f"{space}rect")]
    marks = sorted(x + width / 2 for x, y, width, height in bars if height >= 2.9 and width < 0.5 and y > 48)
    pitch = math.pi * 152 / 360
    judge.holds(len(marks) == 61, f"the SVG has {len(marks)} marks")
    judge.holds(
        all(abs(mark - marks[0] - index * pitch) <= BOUND_MM for index, mark in enumerate(marks)), "a mark of the SVG is off"
    )


def main(tool):
    judge = Judge()
    with tempfile.TemporaryDirectory() as folder:
        for rotation in ("clockwise", "anticlockwise"):
            for carrier in ("pulley", "plate"):
                judge_tape(judge, tool, folder, "152 mm", 152.0, (10, 50), rotation, carrier)
        judge_tape(judge, tool, folder, "6 in", 152.4, (30, 60), "clockwise", "pulley")
        judge_tape(judge, tool, folder, "300 mm", 300.0, (180, 180), "anticlockwise", "plate")
        judge_tape(judge, tool, folder, "60 mm", 60.0, (20, 60), "clockwise", "plate")
        judge_svg(judge, tool, folder)
    print(f"greatest departure of a mark: {judge.worst:.4f} mm")
    print(f"{judge.passed} passed, {judge.failed} failed")
    return judge.failed == 0


if __name__ == "__main__":
    sys.exit(0 if main(sys.argv[1]) else 1)
