"""Exit 1 where two tables differ by more than 0.001 crank degrees, which is the rounding of their last decimal.

    same_table.py EXPORTED.csv OTHER.csv

The exported table has comments and a heading, the other none.
"""

import sys


def rows(path):
    with open(path, encoding="utf-8") as file:
        return [[float(cell) for cell in line.split(",")] for line in file if line[:1].isdigit()]


def main():
    exported, other = rows(sys.argv[1]), rows(sys.argv[2])
    if len(exported) < 10 or [len(row) for row in exported] != [len(row) for row in other]:
        raise SystemExit(f"{len(exported)} rows exported, {len(other)} worked out, or their lengths differ")
    cells = [(a, b) for one, two in zip(exported, other) for a, b in zip(one, two)]
    worst = max(abs(a - b) for a, b in cells)
    print(f"{len(cells)} cells, at most {worst:.4f} apart")
    if worst > 0.001001:
        raise SystemExit("the tables differ")


if __name__ == "__main__":
    main()
