"""Judges a large trace that is made on the fly, and prints how fast it went and what memory it took, beside `wc -l`.

    large.py BOBWEIGHT SHEET FOLDER MEGABYTES

Exit 1 where a large trace takes more memory than a small one, or the verdict on it is not the one that its making gives.
The engine idles in it for as long as it takes: four pulses in two turns at 650 crank rpm, the flank at 60 and the spark at 8 crank
degrees BTDC, as the demo's sheet has them; times in whole microseconds.
"""

import json
import os
import pathlib
import subprocess
import sys
import time

RPM, PULSES, FLANK, SPARK, SECOND = 650, 4, 60, 8, 8
PERIOD = 120e6 / (PULSES * RPM)
TO_SPARK = (FLANK - SPARK) / (6 * RPM) * 1e6
DWELL = 3_500
# A pulse of the small trace and one of the large are the same bytes but for their times, so both need the same memory.
SMALL_MEGABYTES = 2
# Pages that the system hands out in other portions.
SPARE_KILOBYTES = 4_096

HEAD = """$timescale 1 us $end
$scope module bench $end
$var wire 1 p pickup $end
$var wire 1 c coil $end
$var wire 8 b bus $end
$upscope $end
$enddefinitions $end
#0
1p 0c b0 b
"""


def make(path, megabytes):
    with open(path, "w", encoding="ascii") as file:
        written, pulse = file.write(HEAD), 1
        while written < megabytes * 1e6:
            lines = []
            for pulse in range(pulse, pulse + 5_000):
                flank = pulse * PERIOD
                spark = flank + TO_SPARK
                # A bus that the bench has nothing to do with makes up most of many a capture.
                other = "".join(f"#{flank + 100 * k:.0f}\nb{k:08b} b\n" for k in range(1, 9))
                lines.append(
                    f"#{flank:.0f}\n0p\n{other}#{spark - DWELL:.0f}\n1c\n#{spark:.0f}\n0c\n#{spark + 1:.0f}\n1p\n"
                )
            pulse += 1
            written += file.write("".join(lines))
    return path


def judged(bobweight, sheet, path):
    """Seconds, kilobytes of memory at most, and the result."""
    command = [bobweight, "bench", sheet, "--trace", path, "--pickup", "pickup", "--coil", "coil", "--json", "-"]
    begin = time.monotonic()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    out = process.stdout.read()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return time.monotonic() - begin, usage.ru_maxrss, json.loads(out)


def main():
    bobweight, sheet, folder, megabytes = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3]), int(sys.argv[4])
    small = make(folder / "small.vcd", SMALL_MEGABYTES)
    _, least, _ = judged(bobweight, sheet, small)
    large = make(folder / "large.vcd", megabytes)
    size = large.stat().st_size / 1e6
    seconds, memory, result = judged(bobweight, sheet, large)
    begin = time.monotonic()
    subprocess.run(["wc", "-l", large], check=True, stdout=subprocess.DEVNULL)
    counting = time.monotonic() - begin
    large.unlink()
    print(f"{size:.0f} MB judged in {seconds:.1f} s, {size / seconds:.0f} MB/s; wc -l {size / counting:.0f} MB/s")
    print(f"memory at most {memory} KB; {least} KB for a trace of {SMALL_MEGABYTES} MB")
    counts, points = result["counts"], result["test_points"]
    if memory > least + SPARE_KILOBYTES:
        raise SystemExit("the memory grows with the trace")
    if (counts["passed"], counts["failed"], counts["missing"], counts["extra"]) != (1, 0, 0, 0) or result["verdict"] != "undecided":
        raise SystemExit(f"one test point passes and all others are open; found {counts}, {result['verdict']}")
    error = points[0]["mean_error_crank_degrees_early"]
    # Each time is written to a microsecond.
    if abs(error) > 6 * RPM * 1e-6:
        raise SystemExit(f"the spark comes where the sheet wants it, and the error is said to be {error}")


if __name__ == "__main__":
    main()
