"""The bytes of an image of versions 1 and 2, built from the table of core/src/image.rs alone, with Python's struct and binascii."""

import binascii
import struct

DEGREES = KPA = SENSOR_VOLTS = DUTY = 65_536
RPM = VOLTS = 256


def whole(*values):
    return b"".join(struct.pack("<i" if value < 0 else "<I", value) for value in values)


def curve(breakpoints, x_step, x_bytes, y_step, y_bytes):
    body = bytes([len(breakpoints)])
    for x, y in breakpoints:
        for value, count in [(round(x * x_step), x_bytes), (round(y * y_step), y_bytes)]:
            body += value.to_bytes(count, "little", signed=value < 0)
    return body


def image(advances, speeds, centrifugal, vacuum, pickup, dwell, coil, sensor, trim=None):
    body = whole(*(round(angle * DEGREES) for angle in advances))
    body += whole(*(round(rpm * RPM) for rpm in speeds))
    body += curve(centrifugal, RPM, 3, DEGREES, 3)
    if vacuum is None:
        body += b"\x00"
    else:
        source, rate, breakpoints = vacuum
        body += bytes([{"manifold": 1, "ported": 2}[source]]) + whole(round(rate * DEGREES))
        body += curve(breakpoints, KPA, 3, DEGREES, 3)
    body += bytes(trim or [])
    pulses, flank, angle, second_flank, lag_ns, acceleration, spread, *bounce_ns = pickup
    body += bytes([pulses, {"falling": 0, "rising": 1}[flank]]) + whole(round(angle * DEGREES))
    moves = isinstance(second_flank, tuple)
    version = 3 if trim else 2 if moves or bounce_ns else 1
    if moves:
        body += b"\x02" + whole(*(round(angle * DEGREES) for angle in second_flank))
    else:
        body += b"\x00" if second_flank is None else b"\x01" + whole(round(second_flank * DEGREES))
    body += whole(lag_ns, acceleration, round(spread * DEGREES))
    if version >= 2:
        body += whole(*(bounce_ns or [0]))
    body += curve(dwell, VOLTS, 2, 1, 4)
    largest_ns, duty, burn_ns = coil
    body += whole(largest_ns, round(duty * DUTY), burn_ns)
    if sensor is None:
        body += b"\x00"
    else:
        kind, constant, band, calibration = sensor
        body += bytes([{"differential": 1, "absolute": 2, "absolute, constant": 3}[kind]])
        body += b"" if constant is None else whole(round(constant * KPA))
        body += whole(*(round(volts * SENSOR_VOLTS) for volts in band))
        body += curve(calibration, SENSOR_VOLTS, 3, KPA, 3)
    head = b"BOBW" + bytes([version]) + struct.pack("<H", 7 + len(body) + 4)
    return head + body + struct.pack("<I", binascii.crc32(head + body))


DWELL = [(8, 9_700_000), (10, 5_500_000), (12, 3_900_000), (14, 3_100_000), (16, 2_600_000)]
SPEEDS = (400, 450, 4800, 4700)
# Invented, and the same in tests/laws/image/golden.rs.
IMAGES = {
    "all parts": dict(
        advances=(8, 7.5, -2.25, 42, 30, 10, -4),
        speeds=SPEEDS,
        centrifugal=[(900, -3), (1700.5, 12), (3300, 20)],
        vacuum=("ported", 30, [(17, 0), (40.5, 10)]),
        pickup=(4, "rising", 60, -1.5, 198_000, 6000, 0.5),
        dwell=DWELL,
        coil=(10_000_000, 0.75, 1_500_000),
        sensor=("absolute, constant", 94, (0.25, 4.75), [(0.5, 20), (4.5, 110)]),
    ),
    "reluctor": dict(
        advances=(8.5, 8.5, 10, 42, 30, 14, 8.5),
        speeds=SPEEDS,
        centrifugal=[(900, 0), (1700, 12)],
        vacuum=None,
        pickup=(6, "rising", 8.5, (13.25, 10.5), 150_000, 6000, 0.25),
        dwell=DWELL,
        coil=(20_000_000, 0.75, 1_500_000),
        sensor=None,
    ),
    "points": dict(
        advances=(8, 8, 8, 42, 30, 10, 0),
        speeds=SPEEDS,
        centrifugal=[(900, 0), (1700, 12)],
        vacuum=None,
        pickup=(12, "falling", 45, None, 0, 6000, 0, 750_000),
        dwell=DWELL[:2],
        coil=(10_000_000, 0.5, 0),
        sensor=None,
    ),
    "trim": dict(
        advances=(8, 8, 8, 42, 30, 10, 0),
        speeds=SPEEDS,
        centrifugal=[(900, 0), (1700, 12)],
        vacuum=None,
        pickup=(12, "falling", 45, None, 0, 6000, 0),
        dwell=DWELL[:2],
        coil=(10_000_000, 0.5, 0),
        sensor=None,
        trim=(43, 20),
    ),
    "fewest parts": dict(
        advances=(8, 8, 8, 42, 30, 10, 0),
        speeds=SPEEDS,
        centrifugal=[(900, 0), (1700, 12)],
        vacuum=None,
        pickup=(12, "falling", 45, None, 0, 6000, 0),
        dwell=DWELL[:2],
        coil=(10_000_000, 0.5, 0),
        sensor=None,
    ),
}


def rows(version):
    yield ["settings", "image_hex"]
    for name, settings in IMAGES.items():
        made = image(**settings)
        if made[4] == version:
            yield [name, made.hex()]


VECTORS = {
    "image_version_1.csv": lambda: list(rows(1)),
    "image_version_2.csv": lambda: list(rows(2)),
    "image_version_3.csv": lambda: list(rows(3)),
}


def checks():
    yield "an image of the fewest parts, by counting the table's bytes", len(image(**IMAGES["fewest parts"])), 114, 0
