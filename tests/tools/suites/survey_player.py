"""Somebody at a terminal: with `bobweight survey` on it, who measures an invented distributor, or with a list of answers to whatever is asked. No real
engine is behind either."""

import os
import pty
import random
import re

INITIAL = 8.0
# Crank rpm and crank degrees where the centrifugal advance begins and ends.
CENTRIFUGAL = (1000.0, 0.0), (2600.0, 20.0)
# Depression, kPa, and crank degrees likewise.
VACUUM = (16.0, 0.0), (40.0, 10.0)
# What the mark shows at true top dead centre, crank degrees before it.
MARK = 0.75
# Standard deviation of a reading, crank degrees.
SCATTER = 0.4

FACTS = [
    ("numbers stamped", "31 B"),
    ("does it shake", "no"),
    ("where does the mark stand, such as 36.75 BTDC", f"{36 + MARK} BTDC"),
    ("where does the mark stand, such as 35.25 ATDC", f"{36 - MARK} ATDC"),
    ("how far does it dance", "1"),
    ("by how many per cent", "0.5"),
    ("vacuum", "17.5"),
    ("", "yes"),
]


def ramp(ends, at):
    (x0, y0), (x1, y1) = ends
    return y0 + (y1 - y0) * min(max((at - x0) / (x1 - x0), 0.0), 1.0)


class Reader:
    """Goes about where it is asked to, and reads what the light shows there."""

    def __init__(self):
        # Only `random()` of a seed is the same in every version of Python.
        self.random = random.Random(1).random
        self.speed = self.depression = 0.0

    def answer(self, question, said):
        if question.startswith("which speed"):
            return "4000" if "The highest speed" in said else "650"
        if question.startswith("speed"):
            self.speed = round((about(said, "crank rpm") + 60 * (self.random() - 0.5)) / 10) * 10
            self.depression = 0.0
            return str(self.speed)
        if question.startswith("depression"):
            self.depression = about(said, "kPa")
            return f"{self.depression:.0f}"
        if question.startswith("timing"):
            # Twelve uniform numbers less six have a standard deviation of 1.
            scatter = SCATTER * (sum(self.random() for _ in range(12)) - 6)
            shown = INITIAL + ramp(CENTRIFUGAL, self.speed) + ramp(VACUUM, self.depression) + MARK + scatter
            return f"{round(shown * 2) / 2:g}"
        return next(answer for begins, answer in FACTS if question.startswith(begins))


def about(said, unit):
    """The figure that was proposed last."""
    # Sentences wrap, and numbers stand in groups of three digits.
    said = " ".join(said.split())
    return float(re.findall(rf"about (\d[\d ]*) {unit}", said)[-1].replace(" ", ""))


def play(command, folder, answers=None):
    """What the command and its user say, and the exit status. Answers are typed in their order, and have to be as many as are asked for."""
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(folder)
        os.execvp(command[0], command)
    reader, said, heard = Reader(), "", 0
    typed = iter(answers or [])
    while True:
        try:
            part = os.read(terminal, 4096)
        except OSError:  # Linux's end of a terminal whose other side is closed.
            break
        if not part:
            break
        said += part.decode().replace("\r", "")
        new = said[heard:]
        if re.search(r"([:?]|\)) $", new):
            question = new.rsplit("\n", 1)[-1].strip()
            # The answer's echo belongs to what was said, and is no question.
            heard = len(said)
            if answers is not None:
                answer = next(typed, "stop")
            else:
                answer = "yes" if question.startswith("Type yes") else reader.answer(question, said)
            os.write(terminal, f"{answer}\n".encode())
    os.close(terminal)
    if left := list(typed):
        said += f"\nnobody asked for {left}\n"
    return said, os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
