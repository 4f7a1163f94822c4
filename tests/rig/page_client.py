"""A client written from `core/wire/README.md` alone, with `pyserial` and `cobs`: greeting, pattern, speed, 100 sparks, stop.

It drives the stimulator on the rig through its serial port, and gets the angles that the host's tool gets: a second run at the same place of the
curve, 1 300 crank rpm without vacuum, by `bobweight bench`.
"""

import sys
import time

import serial
import wire_page as wire
from two_chips import Bench, Rig, sheet_at

CRANK_RPM, FLANK, SECOND, PULSES = 1300.0, 60.0, 8.0, 4


class Client:
    def __init__(self, path: str) -> None:
        self.port = serial.Serial(path, 250_000, timeout=0.05)
        self.receiver = wire.Receiver()
        self.sequence = 0
        self.alive = 0.0

    def send(self, message: bytes) -> int:
        self.sequence = (self.sequence + 1) % 256
        self.port.write(wire.frame(self.sequence, message))
        self.alive = time.monotonic()
        return self.sequence

    def listen(self) -> None:
        self.receiver.take(self.port.read(256))
        # Often enough for a board that lives faster than we do.
        if time.monotonic() - self.alive > 0.05:
            self.send(wire.KEEP_ALIVE)

    def ask(self, message: bytes) -> object:
        number = self.send(message)
        end = time.monotonic() + 3
        while number not in self.receiver.replies:
            assert time.monotonic() < end, "no answer"
            self.listen()
        return self.receiver.replies[number]

    def wait_for(self, kind: str) -> None:
        end = time.monotonic() + 20
        while not any(event.kind == kind for event in self.receiver.events):
            assert time.monotonic() < end, f"no {kind}"
            self.listen()


def angles(events: list[wire.Event]) -> list[float]:
    """Of every spark that has a timing flank before it and after it."""
    flanks = [event.at for event in events if event.kind == "Timing"]
    found = []
    for event in events:
        before = [at for at in flanks if at <= event.at]
        after = [at for at in flanks if at > event.at]
        if event.kind == "CoilOff" and before and after:
            found.append(FLANK - (event.at - before[-1]) / (after[0] - before[-1]) * 720 / PULSES)
    return found


def by_page(port: str) -> float:
    client = Client(port)
    greeting = client.ask(wire.IDENTIFY)
    print(greeting)
    assert greeting["role"] == "stimulator"
    assert client.ask(wire.STOP) == "accepted"
    assert client.ask(wire.pattern(PULSES, FLANK, SECOND)) == "accepted"
    assert client.ask(wire.steady(CRANK_RPM)) == "accepted"
    # Time to start and to settle, by the board's own clock.
    end = time.monotonic() + 60
    while not client.receiver.events or client.receiver.now - client.receiver.events[0].at < 2 * greeting["tick_rate_hz"]:
        assert time.monotonic() < end, "two seconds of the board's clock did not pass in 60 of ours"
        client.listen()
    client.receiver.events.clear()
    assert client.ask(wire.run_for_sparks(100)) == "accepted"
    client.wait_for("Finished")
    client.listen()
    assert client.ask(wire.STOP) == "accepted"
    client.port.close()
    assert not client.receiver.faults and client.receiver.lost == 0, (client.receiver.faults, client.receiver.lost)
    found = angles(client.receiver.events)
    assert len(found) >= 98, len(found)
    print(f"{len(found)} sparks from {min(found):.4f} to {max(found):.4f} crank degrees BTDC")
    return sum(found) / len(found)


def main() -> None:
    with Rig() as rig:
        mean = by_page(rig.port)
        run = Bench(sheet_at("0.3"), rig.port).end()
    assert run.status == 0, run.err
    point = next(p for p in run.result()["test_points"] if p["speed_crank_rpm"] == CRANK_RPM and p["depression_kpa"] == 0)
    told = point["wanted_crank_degrees"] + point["mean_error_crank_degrees_early"]
    tick = 6 * CRANK_RPM / 2e6
    print(f"mean {mean:.4f} by the page, {told:.4f} by the tool; one tick is {tick:.4f}")
    assert abs(mean - told) <= tick


if __name__ == "__main__":
    sys.exit(main())
