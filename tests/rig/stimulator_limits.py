"""The stimulator's chip alone at its highest rate, 900 pulses a second, and when nobody speaks to it or it refuses; judged from its pins.

Held: every flank within one tick of an even crank, its speed within 0.01 % of the chip's clock, every coil edge told, every interrupt under
1 000 cycles; the crank stands and the vacuum rests after two seconds of silence and after a refusal (the pickup keeps its level: a change would be an
edge); more than the greeting allows is refused by name.
"""

import re

import wire_page as wire
from stimulator_chip import StimulatorChip

PULSES, CRANK_RPM = 12, 9000
PERIOD_NS = 120e9 / (PULSES * CRANK_RPM)
TICK_NS = 500.0
MOST_CYCLES = 1000
# The board's page: 185 of 225 steps of 5 V.
AT_REST_VOLTS = 185 / 45


def falls(chip: StimulatorChip) -> list[float]:
    return [ns for ns, level in chip.pickup if not level]


def rests(chip: StimulatorChip) -> None:
    """The atmosphere in the manifold, within a step, and the throttle closed."""
    assert abs(chip.volts - AT_REST_VOLTS) < 1 / 45, chip.volts
    assert chip.throttle[-1] == 1, chip.throttle


def at_the_highest_rate() -> None:
    chip = StimulatorChip()
    chip.tell("coil 200000 500000")
    chip.do(wire.pattern(PULSES, 40, 20))
    chip.do(wire.steady(CRANK_RPM))
    chip.run(3e9)
    seen = falls(chip)
    assert len(seen) > 2500, len(seen)
    period = (seen[-1] - seen[0]) / (len(seen) - 1)
    assert abs(period / PERIOD_NS - 1) < 1e-4, period
    # Against the even crank that lies best: half of the range to either side.
    off = [ns - i * period for i, ns in enumerate(seen)]
    worst = (max(off) - min(off)) / 2
    assert worst <= TICK_NS, worst
    chip.do(wire.STOP)
    kinds = [event.kind for event in chip.receiver.events]
    told = kinds.count("Timing"), kinds.count("CoilOn"), kinds.count("CoilOff")
    # The end may cut off one.
    assert all(abs(count - len(falls(chip))) <= 1 for count in told), (told, len(falls(chip)))
    assert chip.receiver.lost == 0 and not chip.receiver.faults, (chip.receiver.lost, chip.receiver.faults)
    said = chip.end()
    cycles = int(re.search(r"longest interrupt (\d+) cycles", said)[1])
    assert 0 < cycles < MOST_CYCLES, cycles
    print(f"{len(seen)} pulses, each within {worst:.0f} ns of an even crank, {period / PERIOD_NS - 1:+.1e} of the speed; {said}")


def idle_when_nobody_speaks() -> None:
    chip = StimulatorChip()
    chip.do(wire.pattern(4, 60, 8))
    chip.do(wire.intake(40, False))
    chip.do(wire.steady(2400))
    chip.run(1e9)
    assert chip.volts < AT_REST_VOLTS - 1, chip.volts
    heard = chip.now
    chip.let_pass(4e9)
    last = chip.pickup[-1][0] - heard
    print(f"the last flank came {last / 1e9:.2f} s after the last word of the host")
    assert 1.5e9 < last < 2.6e9, last
    rests(chip)
    chip.end()


def idle_when_it_refuses() -> None:
    chip = StimulatorChip()
    chip.do(wire.pattern(PULSES, 40, 20))
    chip.do(wire.intake(40, False))
    chip.do(wire.steady(3000))
    chip.run(1e9)
    assert chip.ask(wire.steady(CRANK_RPM + 100)) == "refused: too fast for the board"
    count = len(chip.pickup)
    chip.run(1e9)
    assert len(chip.pickup) == count, "it turns on after a refusal"
    rests(chip)
    chip.end()


def main() -> None:
    for part in (at_the_highest_rate, idle_when_nobody_speaks, idle_when_it_refuses):
        print(f"-- {part.__name__}")
        part()


if __name__ == "__main__":
    main()
