"""`bobweight bench --serial` against two simulated chips: the whole plan, and what is built wrong into it. One part by its name.

The bounds are those that the rig is held to: 0.3 crank degrees with equal clocks and with a crystal's error; with a resonator's 0.5 %, 0.3 crank degrees
more than the curve's slope times the speed error; one degree and 100 us within 5 %.
"""

import pathlib
import sys

from two_chips import Rig, bench, greatest_mean, passes, sheet_at

# The steepest ramp of the demo's curve: 12 crank degrees over 800 crank rpm.
SLOPE = 12 / 800


def crystal() -> None:
    """The ignition's clock is 0.01 % fast."""
    with Rig("--ppm", "100") as rig:
        result = bench(sheet_at("0.3"), rig.port)
    passes(result)
    print(f"greatest mean {greatest_mean(result):.3f} crank degrees")


def resonator() -> None:
    """The ignition's clock is 0.5 % slow: the speed that it believes in is out by as much."""
    with Rig("--ppm", "-5000") as rig:
        result = bench(sheet_at("0.6"), rig.port)
    passes(result)
    for point in result["test_points"]:
        bound = 0.3 + SLOPE * point["speed_crank_rpm"] * 0.005
        assert abs(point["mean_error_crank_degrees_early"]) <= bound, point
    print(f"greatest mean {greatest_mean(result):.3f} crank degrees")


def one_degree() -> None:
    """The ignition's pickup is set one crank degree wrong."""
    with Rig(ignition="ignition_one_degree.elf") as rig:
        result = bench(sheet_at("0.3"), rig.port)
    found(result, "offset")
    offset = result["regression"]["offset_crank_degrees_early"]["value"]
    assert abs(abs(offset) - 1) <= 0.05, offset


def late_wire() -> None:
    """The coil's wire is 100 us late."""
    with Rig("--coil-late", "100000") as rig:
        result = bench(sheet_at("0.3"), rig.port)
    found(result, "lag")
    lag = result["regression"]["lag_us"]["value"]
    assert abs(lag - 100) <= 5, lag


def found(result: dict, kind: str) -> None:
    assert result["verdict"] == "fail" and result["status"] == 1
    kinds = [finding["kind"] for finding in result["findings"]]
    assert kind in kinds, f"{kind} is not among {kinds}"


def fast() -> None:
    """Scatter at steady speed from 500 to 8 000 crank rpm."""
    with Rig(ignition="ignition_fast.elf") as rig:
        result = bench(sheet_at("0.3", pathlib.Path("tests/rig/fast.toml")), rig.port)
    passes(result)
    points = result["test_points"]
    speeds = [point["speed_crank_rpm"] for point in points]
    assert min(speeds) == 500 and max(speeds) == 8000, speeds
    scatter = max(point["scatter_crank_degrees"] for point in points)
    print(f"scatter {scatter:.4f} crank degrees at most")
    assert scatter <= 0.05


if __name__ == "__main__":
    {part.__name__: part for part in (crystal, resonator, one_degree, late_wire, fast)}[sys.argv[1]]()
