"""The wire, written from `core/wire/README.md` alone: nothing of ours is imported. Stuffing by `cobs`, checksum by Python's `zlib`."""

import zlib
from dataclasses import dataclass

from cobs import cobs

EVENTS = [
    "Timing", "Second", "CoilOn", "CoilOff", "Begun", "RampEnded", "Finished", "LostTiming", "MovedTiming", "MovedSecond",
    "StrayTiming", "StraySecond", "Stopped", "HostSilent", "TimeMark",
]
REASONS = [
    "no pattern", "turning", "not turning", "not cranking", "pulses", "flank angle", "flanks too near", "speed",
    "too fast for the board", "rate", "ratio", "count", "depression", "upset", "halt", "a motion waits", "an upset waits",
    "no such output", "other role",
]


def number(value: int) -> bytes:
    """Seven bits to a byte, the lowest first."""
    out = bytearray()
    while value > 127:
        out.append(value & 127 | 128)
        value >>= 7
    return bytes(out + bytes([value]))


def signed(value: int) -> bytes:
    return number(2 * value if value >= 0 else -2 * value - 1)


def angle(crank_degrees: float) -> bytes:
    return signed(round(crank_degrees * 256))


def speed(crank_rpm: float) -> bytes:
    return number(round(crank_rpm * 256))


def frame(sequence: int, message: bytes) -> bytes:
    body = bytes([1, sequence]) + message
    return cobs.encode(body + zlib.crc32(body).to_bytes(4, "little")) + b"\0"


IDENTIFY, KEEP_ALIVE, STOP = b"\0", b"\1", b"\2"


def pattern(pulses: int, timing: float, second: float | None, falling: bool = True) -> bytes:
    option = b"\0" if second is None else b"\1" + angle(second)
    return bytes([3, pulses]) + angle(timing) + option + bytes([falling])


def steady(crank_rpm: float) -> bytes:
    return b"\4" + speed(crank_rpm)


def ramp(start: float, end: float, rate: float) -> bytes:
    return b"\5" + speed(start) + speed(end) + speed(rate)


def crank(mean: float, ratio: float) -> bytes:
    return b"\6" + speed(mean) + number(round(ratio * 256))


def run_for_sparks(count: int) -> bytes:
    return b"\7\0" + number(count)


def run_for_cycles(count: int) -> bytes:
    return b"\7\1" + number(count)


def lose(after: int) -> bytes:
    return b"\x08" + number(after) + b"\0"


def add(after: int, degrees: float) -> bytes:
    return b"\x08" + number(after) + b"\1" + angle(degrees)


def shift(after: int, early: float) -> bytes:
    return b"\x08" + number(after) + b"\2" + angle(early)


def halt(after: float, back: float) -> bytes:
    return b"\x09" + angle(after) + angle(back)


def intake(depression_kpa: float, throttle_closed: bool) -> bytes:
    return b"\x0a" + number(round(depression_kpa * 256)) + bytes([throttle_closed])


@dataclass
class Event:
    kind: str
    at: int
    """Ticks of the board's clock, not wrapped."""
    sequence: int | None = None


class Body:
    """Takes what a message consists of from the front of its bytes."""

    def __init__(self, data: bytes) -> None:
        self.data = data

    def byte(self) -> int:
        first, self.data = self.data[0], self.data[1:]
        return first

    def number(self) -> int:
        value, place = 0, 0
        while True:
            byte = self.byte()
            value |= (byte & 127) << place
            if byte < 128:
                return value
            place += 7


class Receiver:
    """From bytes to replies and events."""

    def __init__(self) -> None:
        self.bytes = b""
        self.now = 0
        self.next_batch: int | None = None
        self.lost = 0
        self.faults: list[str] = []
        self.replies: dict[int, object] = {}
        self.events: list[Event] = []

    def take(self, data: bytes) -> None:
        *frames, self.bytes = (self.bytes + data).split(b"\0")
        for stuffed in frames:
            if stuffed:
                self.read(stuffed)

    def read(self, stuffed: bytes) -> None:
        try:
            body = cobs.decode(stuffed)
        except cobs.DecodeError as error:
            self.faults.append(str(error))
            return
        if len(body) < 5 or zlib.crc32(body[:-4]) != int.from_bytes(body[-4:], "little") or body[0] != 1:
            self.faults.append(f"frame {stuffed.hex()}")
            return
        rest = Body(body[1:-4])
        kind = rest.number()
        if kind == 0:
            sequence = rest.byte()
            self.replies[sequence] = answer(rest)
        elif kind == 1:
            self.batch(rest)
        else:
            self.faults.append(f"the board could not read a frame: fault {rest.number()}")
        if rest.data:
            self.faults.append(f"bytes left over: {rest.data.hex()}")

    def batch(self, rest: Body) -> None:
        batch = rest.byte()
        if self.next_batch is not None and batch != self.next_batch:
            self.faults.append(f"batch {batch} where {self.next_batch} was to come")
        self.next_batch = (batch + 1) % 256
        self.lost += rest.byte()
        self.now += (rest.number() - self.now) % 2**32
        for _ in range(rest.number()):
            kind = EVENTS[rest.number()]
            sequence = rest.byte() if kind == "Begun" else None
            self.now += rest.number()
            self.events.append(Event(kind, self.now, sequence))


def answer(rest: Body) -> object:
    kind = rest.number()
    if kind == 0:
        return "accepted"
    if kind == 1:
        return f"refused: {REASONS[rest.number()]}"
    greeting = {"firmware": (rest.byte(), rest.byte(), rest.byte()), "tick_rate_hz": rest.number(), "tolerance_ppm": rest.number()}
    if rest.number() == 1:
        return greeting | {"role": "ignition"}
    return greeting | {
        "role": "stimulator", "shortest_interval": rest.number(), "shortest_pulse": rest.number(),
        "shortest_pulse_in_ramp": rest.number(), "shortest_pulse_cranking": rest.number(), "depression_step": rest.number(), "throttle": bool(rest.byte()),
    }
