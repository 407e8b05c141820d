"""Joins part files as a board does: for each address of the machine, drive the parts' address pins and read their data
pins. Written from the description of the wiring alone; shares nothing with the program that it judges.

Usage: join_parts.py JSON, where JSON describes the board:
  files        part files, lanes in order, in each lane the high part before the low one
  words, bits  organisation of a part
  interleaved  whether the lowest address line chooses the lane
  inverted     whether data pass an inverter on their way to the machine
  data         the machine's data line at each data pin (pins 0 to 3 the low part's, 4 to 7 the high part's)
  address      the machine's address line at each address pin
  check        optional: [kind, offset], kind one of sum8, xor8, crc-16/xmodem, crc-32/iso-hdlc
Prints the joined bytes in hexadecimal; with a check, fails if it does not hold.
"""

import binascii
import json
import sys
import zlib


def bit(value, number):
    return (value // 2**number) % 2


def read(board, roms, address):
    lanes = 2 if board["interleaved"] else 1
    lane, word = address % lanes, address // lanes
    pins = sum(2**pin for pin, line in enumerate(board["address"]) if bit(word, line))
    if board["bits"] == 4:
        high, low = roms[2 * lane], roms[2 * lane + 1]
        assert high[pins] < 16 and low[pins] < 16, "a 4-bit word above 15"
        data = 16 * high[pins] + low[pins]
    else:
        data = roms[lane][pins]
    byte = 0
    for pin, line in enumerate(board["data"]):
        byte += 2**line * bit(data, pin)
    return 255 - byte if board["inverted"] else byte


def verify(memory, kind, offset):
    length = {"sum8": 1, "xor8": 1, "crc-16/xmodem": 2, "crc-32/iso-hdlc": 4}[kind]
    rest = memory[:offset] + memory[offset + length :]
    stored = int.from_bytes(memory[offset : offset + length], "little")
    if kind == "sum8":
        assert sum(memory) % 256 == 0, "the sum is not zero"
    elif kind == "xor8":
        total = 0
        for byte in memory:
            total ^= byte
        assert total == 0, "the exclusive-or is not zero"
    elif kind == "crc-16/xmodem":
        assert binascii.crc_hqx(rest, 0) == stored, "the CRC differs"
    else:
        assert zlib.crc32(rest) == stored, "the CRC differs"


def main():
    board = json.loads(sys.argv[1])
    roms = [open(name, "rb").read() for name in board["files"]]
    assert all(len(rom) == board["words"] for rom in roms), "a part file of the wrong length"
    span = board["words"] * (2 if board["interleaved"] else 1)
    memory = bytes(read(board, roms, address) for address in range(span))
    if board["check"]:
        verify(memory, *board["check"])
    print(memory.hex())


main()
