#!/usr/bin/env python3
"""Writes the shipped weights in other number formats, each with its manifest, for the bench. Needs numpy.

    python3 scripts/weights_kinds.py target/bench      # weights-f16/ and weights-q5_1/

The formats are those of ggml: q8_0 is blocks of 32 numbers of 8 bits and a scale; q5_1 blocks of 32 numbers of
5 bits, a scale and a least value.
"""

import hashlib
import pathlib
import re
import struct
import sys

import numpy as np

ROOT = pathlib.Path(__file__).resolve().parent.parent
F32, F16, Q5_1, Q8_0 = 0, 1, 7, 8
# The file's own number for each; 2 times 1000 is the version of the quantised formats.
FILE_KIND = {F16: 1, Q5_1: 2009}


def take(data, at, kind):
    return struct.unpack_from("<" + kind, data, at), at + struct.calcsize("<" + kind)


def bytes_of(kind, count):
    return {F32: 4 * count, F16: 2 * count, Q5_1: count // 32 * 24, Q8_0: count // 32 * 34}[kind]


def from_q8_0(data):
    blocks = np.frombuffer(data, dtype=[("scale", "<f2"), ("numbers", "i1", 32)])
    return (blocks["scale"].astype("f4")[:, None] * blocks["numbers"]).reshape(-1)


def to_q5_1(values):
    blocks = values.reshape(-1, 32)
    least = blocks.min(axis=1).astype("<f2")
    scale = ((blocks.max(axis=1) - least.astype("f4")) / 31).astype("<f2")
    divisor = np.where(scale == 0, 1, scale).astype("f4")
    numbers = np.clip(np.rint((blocks - least.astype("f4")[:, None]) / divisor[:, None]), 0, 31).astype("u4")
    out = np.zeros(len(blocks), dtype=[("scale", "<f2"), ("least", "<f2"), ("high", "<u4"), ("low", "u1", 16)])
    out["scale"], out["least"] = scale, least
    out["high"] = ((numbers >> 4) << np.arange(32, dtype="u4")).sum(axis=1, dtype="u4")
    out["low"] = (numbers[:, :16] & 15) | ((numbers[:, 16:] & 15) << 4)
    return out.tobytes()


def read(data):
    """The head up to the tensors, and the tensors: sizes, name, format, bytes."""
    (magic,), at = take(data, 0, "I")
    assert magic == 0x67676D6C, "not a ggml file"
    at += 11 * 4
    (rows, columns), at = take(data, at, "2i")
    at += rows * columns * 4
    (count,), at = take(data, at, "i")
    for _ in range(count):
        (length,), at = take(data, at, "I")
        at += length
    head, tensors = bytearray(data[:at]), []
    while at < len(data):
        (dimensions, length, kind), at = take(data, at, "3i")
        sizes, at = take(data, at, f"{dimensions}i")
        name, at = data[at : at + length], at + length
        size = bytes_of(kind, int(np.prod(sizes)))
        tensors.append((sizes, name, kind, data[at : at + size]))
        at += size
    return head, tensors


def write(head, tensors, kind):
    out = bytearray(head)
    struct.pack_into("<i", out, 11 * 4, FILE_KIND[kind])
    # The table of positions first: the program reads the file that far.
    for sizes, name, was, values in sorted(tensors, key=lambda tensor: tensor[1] != b"encoder.positional_embedding"):
        if was == Q8_0:
            numbers = from_q8_0(values)
            was, values = kind, numbers.astype("<f2").tobytes() if kind == F16 else to_q5_1(numbers)
        out += struct.pack("<3i", len(sizes), len(name), was) + struct.pack(f"<{len(sizes)}i", *sizes) + name + values
    return bytes(out)


def main():
    source = ROOT / "models" / "speech"
    manifest = (source / "manifest.toml").read_text()
    file = re.search(r'^file = "(.*)"$', manifest, re.M).group(1)
    head, tensors = read((source / file).read_bytes())
    for name, kind in (("f16", F16), ("q5_1", Q5_1)):
        folder = pathlib.Path(sys.argv[1]) / f"weights-{name}"
        folder.mkdir(parents=True, exist_ok=True)
        data = write(head, tensors, kind)
        fields = {"file": f'"weights.{name}.bin"', "size": len(data), "sha256": f'"{hashlib.sha256(data).hexdigest()}"'}
        text = manifest
        for key, value in fields.items():
            text, found = re.subn(rf"^{key} = .*$", f"{key} = {value}", text, count=1, flags=re.M)
            assert found, f"the manifest has no {key}"
        (folder / f"weights.{name}.bin").write_bytes(data)
        (folder / "manifest.toml").write_text(text)
        print(f"wrote {folder} ({len(data):,} bytes)")


if __name__ == "__main__":
    main()
