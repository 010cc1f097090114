#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""A second implementation of the node protocol's bytes, written from PROTOCOL.md and sharing nothing
with the first. It computes every worked example of that document from its fields.

  protocol_examples.py check PROTOCOL.md    every example is as computed here
  protocol_examples.py write PROTOCOL.md    puts the computed bytes in
"""
import binascii
import hashlib
import hmac
import re
import struct
import sys

REQUESTS = {"identify": 1, "read": 2, "stage": 3, "apply": 4, "discard": 5, "store": 6, "locate": 7,
            "find": 8, "mute": 9, "unmute": 10, "assign": 11, "reclaim": 12, "ask_controller": 13,
            "ask_kind": 14, "read_part": 15, "stage_part": 16}
REPLIES = {"identity": 0x41, "reading": 0x42, "done": 0x43, "found": 0x44,
           "controller_heard": 0x45, "kind": 0x46, "matrix_reading": 0x47, "part": 0x48,
           "report": 0x60, "matrix_report": 0x61, "wait": 0x7E, "refusal": 0x7F}
COMPUTED = ("proof", "bytes", "packet", "frame", "sealed")
FULL_PART = {"stage_part": 45, "part": 50}


def uid(text):
    maker, serial = text.split("-")
    return bytes.fromhex(maker + serial)


def text(value):
    raw = value.encode("utf-8")
    return bytes([len(raw)]) + raw


def settings(f):
    return struct.pack(">hBIB", int(f["gain"]), int(f["filter"]), int(f["centre"]),
                       int(f["power"])) + text(f["label"])


def matrix_settings(f):
    """Of the fields outputs ("1+3 none 2"), inputs ("-350/12000/Quay north, 0/0/") and label."""
    outputs = [sum(1 << int(number) - 1 for number in word.split("+")) if word != "none" else 0
               for word in f["outputs"].split()]
    inputs = [tuple(entry.strip().split("/")) for entry in f["inputs"].split(",")]
    whole = bytes([len(inputs), len(outputs)]) + text(f["label"])
    for mask in outputs:
        whole += struct.pack(">I", mask)
    for trim, supply, label in inputs:
        whole += struct.pack(">hH", int(trim), int(supply)) + text(label)
    return whole


def measured(f):
    """Of the field measured: flags/mA/0.01 dBm for each input."""
    return b"".join(struct.pack(">BHh", *(int(word) for word in entry.split("/")))
                    for entry in f["measured"].split())


def content(f):
    whole = measured(f) if "measured" in f else matrix_settings(f)
    full = FULL_PART[f["message"]]
    parts = (len(whole) + full - 1) // full
    assert parts == int(f["parts"]), "%d parts" % parts
    return whole[int(f["part"]) * full:][:full]


def parted(f):
    raw = content(f)
    return struct.pack("BBB", int(f["part"]), int(f["parts"]), len(raw)) + raw


def body(f):
    name = f["message"]
    if name in ("identify", "read", "unmute", "done", "ask_controller", "ask_kind"):
        return b""
    if name == "stage":
        return struct.pack(">II", int(f["epoch"]), int(f["ticket"])) + settings(f)
    if name in ("apply", "discard"):
        return struct.pack(">II", int(f["epoch"]), int(f["ticket"]))
    if name == "store":
        return struct.pack(">I", int(f["epoch"]))
    if name == "locate":
        return struct.pack("B", int(f["seconds"]))
    if name == "find":
        return bytes([int(f["prefix-bits"])]) + int(f["prefix"], 0).to_bytes(6, "big")
    if name == "mute":
        return uid(f["uid"])
    if name == "assign":
        return uid(f["uid"]) + bytes([int(f["new-address"])])
    if name == "reclaim":
        return struct.pack(">III", int(f["epoch"]), int(f["highest"]), int(f["boots"])) + proof(f)
    if name == "identity":
        return (uid(f["uid"]) + struct.pack(">BIH", int(f["own-address"]), int(f["boots"]),
                                            int(f["firmware"], 0)) + text(f["type"]))
    if name == "found":
        return uid(f["uid"]) + bytes([int(f["own-address"])])
    if name == "controller_heard":
        return struct.pack(">II", int(f["epoch"]), int(f["ago"]))
    if name in ("reading", "report"):
        return struct.pack(
            ">IIIHHhhIIBBB", int(f["epoch"]), int(f["staged"]), int(f["applied"]),
            int(f["supply-mv"]), int(f["supply-ma"]), int(f["temperature"]), int(f["detector"]),
            int(f["uptime"]), int(f["boots"]), int(f["powered"]), int(f["locally-changed"]),
            int(f["locating"])) + settings(f)
    if name == "read_part":
        return struct.pack("BB", int(f["of"]), int(f["part"]))
    if name == "stage_part":
        return struct.pack(">II", int(f["epoch"]), int(f["ticket"])) + parted(f)
    if name == "kind":
        return struct.pack("BBBB", *(int(f[one]) for one in ("minor", "kind", "inputs", "outputs")))
    if name == "part":
        return struct.pack(">BH", int(f["of"]), int(f["settings-number"])) + parted(f)
    if name in ("matrix_reading", "matrix_report"):
        return struct.pack(
            ">IIIHHhIIBBBHB", int(f["epoch"]), int(f["staged"]), int(f["applied"]),
            int(f["supply-mv"]), int(f["supply-ma"]), int(f["temperature"]), int(f["uptime"]),
            int(f["boots"]), int(f["powered"]), int(f["locally-changed"]), int(f["locating"]),
            int(f["settings-number"]), int(f["settings-parts"]))
    if name == "wait":
        return struct.pack("B", int(f["wait"]))
    if name == "refusal":
        return struct.pack(">BI", int(f["reason"]), int(f["detail"]))
    raise ValueError("message " + name)


def proof(f):
    told = b"CWreclaim" + uid(f["node"]) + struct.pack(
        ">III", int(f["epoch"]), int(f["highest"]), int(f["boots"]))
    return hmac.new(bytes.fromhex(f["key"]), told, hashlib.sha256).digest()[:16]


def packet(f):
    kind = {**REQUESTS, **REPLIES}[f["message"]]
    return bytes([1, int(f["address"]), int(f["sequence"]), kind]) + body(f)


def cobs(data):
    # By the definition: pieces between zeros, each led by its length plus one. Short data only.
    assert len(data) < 254
    return b"".join(bytes([len(piece) + 1]) + piece for piece in data.split(b"\0"))


def frame(raw):
    crc = binascii.crc_hqx(raw, 0xFFFF)  # the same polynomial, start value and bit order
    return cobs(raw + struct.pack(">H", crc)) + b"\0"


def sealed(f, raw):
    direction = {"to-node": 0, "to-controller": 1}[f["datagram"]]
    head = b"CW" + bytes([1, direction]) + uid(f["node"]) + struct.pack(
        ">III", int(f["session"]), int(f["peer-session"]), int(f["counter"]))
    mac = hmac.new(bytes.fromhex(f["key"]), head + raw, hashlib.sha256).digest()[:16]
    return head + raw + mac


def mix(value):
    mask = (1 << 48) - 1
    value ^= value >> 24
    value = value * 0x9E3779B97F4B & mask
    value ^= value >> 24
    value = value * 0xC2B2AE3D27D5 & mask
    return value ^ value >> 24


def as_hex(raw):
    return " ".join("%02X" % byte for byte in raw)


def computed(f):
    raw = packet(f)
    out = {"packet": as_hex(raw), "frame": as_hex(frame(raw))}
    if f["message"] == "reclaim":
        out["proof"] = as_hex(proof(f))
    if f["message"] in FULL_PART:
        out["bytes"] = as_hex(content(f))
    if "datagram" in f:
        out["sealed"] = as_hex(sealed(f, raw))
    return out


def fields_of(block):
    fields = {}
    for line in block.strip("\n").split("\n"):
        name, _, value = line.partition(":")
        fields[name] = value.strip()
    return fields


def main():
    mode, path = sys.argv[1:]
    with open(path, encoding="utf-8") as file:
        document = file.read()
    seen = set()
    wrong = []

    def one(match):
        fields = fields_of(match.group(1))
        seen.add(fields["message"])
        right = computed(fields)
        lines = []
        for line in match.group(1).strip("\n").split("\n"):
            name = line.partition(":")[0]
            if name in COMPUTED:
                if fields[name] != right[name]:
                    wrong.append("%s: %s: %s" % (fields["message"], name, right[name]))
                line = name + ": " + right[name]
            lines.append(line)
        return "```example\n" + "\n".join(lines) + "\n```"

    result = re.sub(r"```example\n(.*?)```", one, document, flags=re.S)
    for name, number in (("0000-00000001", 1), ("7a10-0000002f", 2), ("7a10-00000030", 3)):
        value = "0x%012X" % mix(int.from_bytes(uid(name), "big"))
        row = re.search(r"\| mix of `%s` \| (\S+) \|" % name, document)
        if row.group(1) != value:
            wrong.append("mix of %s: %s" % (name, value))
        result = result.replace("| MIX%d |" % number, "| %s |" % value)
    missing = sorted({**REQUESTS, **REPLIES}.keys() - seen)
    if missing:
        sys.exit("no example for: " + ", ".join(missing))
    if mode == "write":
        with open(path, "w", encoding="utf-8") as file:
            file.write(result)
        return
    if wrong:
        sys.exit("not as computed:\n" + "\n".join(wrong))
    print("%d messages, all examples as computed" % len(seen))


if __name__ == "__main__":
    main()
