"""CRC-32/ISO-HDLC by binascii and COBS by the cobs package."""

import binascii
import random

from cobs import cobs


def payloads():
    yield from [b"", b"\x00", b"\x00\x00", b"\x11\x22\x00\x33", b"\x11\x00\x00\x00", b"123456789"]
    # Around the longest group of COBS, 254 bytes that are not zero.
    for length in [253, 254, 255, 256, 508, 509, 600]:
        yield bytes(1 + k % 255 for k in range(length))
    yield bytes(range(1, 255)) + b"\x00"
    yield b"\x00" + bytes(range(1, 255)) + b"\x01"
    generator = random.Random(1999)
    for length in [1, 2, 3, 7, 16, 33, 64, 100, 254, 300]:
        yield bytes(generator.choice([0, generator.randrange(256)]) for _ in range(length))


def rows():
    yield ["payload_hex", "crc32_hex", "cobs_hex"]
    for payload in payloads():
        yield [payload.hex(), f"{binascii.crc32(payload):08x}", cobs.encode(payload).hex()]


VECTORS = {"framing.csv": lambda: list(rows())}


def checks():
    yield "CRC-32 of 123456789 (published check value)", binascii.crc32(b"123456789"), 0xCBF43926, 0
    for plain, encoded in [("00", "0101"), ("11220033", "0311220233")]:
        found = cobs.encode(bytes.fromhex(plain))
        what = f"COBS of {plain} (Cheshire and Baker 1999)"
        yield what, int(found.hex(), 16), int(encoded, 16), 0
    wrong = sum(cobs.decode(cobs.encode(payload)) != payload for payload in payloads())
    yield "COBS decodes what it encodes (reference library)", wrong, 0, 0
