"""Reads and writes the file that whisper.cpp reads: a head, the mel filters, the token texts, the tensors by name."""

import struct
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "scripts"))
from stock_weights import mel_filters  # noqa: E402

MAGIC = 0x67676D6C
F32, F16, Q8_0 = 0, 1, 8
# The head's own numbers for a file whose matrices are f16 or q8_0.
FILE_KIND = {F16: 1, Q8_0: 7}
BLOCK = 32


def of_q8_0(data, shape):
    """Blocks of 32 numbers of 8 bits with a scale."""
    blocks = np.frombuffer(data, dtype=[("scale", "<f2"), ("numbers", "i1", BLOCK)])
    return (blocks["scale"].astype("f4")[:, None] * blocks["numbers"]).reshape(shape)


def to_q8_0(values):
    rows = values.astype("f4").reshape(-1, BLOCK)
    scale = np.abs(rows).max(axis=1) / 127
    blocks = np.zeros(len(rows), dtype=[("scale", "<f2"), ("numbers", "i1", BLOCK)])
    blocks["scale"] = scale
    divisor = np.where(scale > 0, scale, 1)[:, None]
    blocks["numbers"] = np.clip(np.rint(rows / divisor), -127, 127)
    return blocks.tobytes()


def read(path):
    """The token texts (bytes) and the tensors, name to float32."""
    data, at = path.read_bytes(), 0

    def numbers(count):
        nonlocal at
        found = struct.unpack_from(f"<{count}i", data, at)
        at += 4 * count
        return found

    def take(size):
        nonlocal at
        at += size
        return data[at - size : at]

    if numbers(1)[0] != MAGIC:
        raise ValueError(f"{path} is not a ggml file")
    numbers(11)
    mels, bins = numbers(2)
    take(4 * mels * bins)
    texts = [take(numbers(1)[0]) for _ in range(numbers(1)[0])]
    tensors = {}
    while at < len(data):
        dimensions, length, kind = numbers(3)
        shape = numbers(dimensions)[::-1]
        name, count = take(length).decode(), int(np.prod(shape))
        if kind == Q8_0:
            tensors[name] = of_q8_0(take(count // BLOCK * 34), shape)
        else:
            values = np.frombuffer(take(count * (4 if kind == F32 else 2)), "<f4" if kind == F32 else "<f2")
            tensors[name] = values.astype("f4").reshape(shape)
    return texts, tensors


def layers(tensors, part):
    return 1 + max(int(name.split(".")[2]) for name in tensors if name.startswith(f"{part}.blocks."))


def write(path, texts, tensors, kind):
    """Matrices in `kind`, convolutions in f16, everything else in f32. The encoder's table of positions comes early: the
    program cuts it to the window it wants."""
    frames, width = tensors["encoder.positional_embedding"].shape
    places, _ = tensors["decoder.positional_embedding"].shape
    heads = width // 64
    with open(path, "wb") as file:

        def numbers(*values):
            file.write(struct.pack(f"<{len(values)}i", *values))

        numbers(MAGIC, len(texts), frames, width, heads, layers(tensors, "encoder"))
        numbers(places, width, heads, layers(tensors, "decoder"), 80, FILE_KIND[kind])
        filters = mel_filters()
        numbers(*filters.shape)
        file.write(filters.tobytes())
        numbers(len(texts))
        for text in texts:
            numbers(len(text))
            file.write(text)
        first = ("decoder.positional_embedding", "encoder.positional_embedding", "decoder.token_embedding.weight")
        for name in (*first, *sorted(set(tensors) - set(first))):
            values = np.ascontiguousarray(tensors[name])
            if name in ("encoder.conv1.bias", "encoder.conv2.bias"):
                values = values.reshape(-1, 1)
            if values.ndim < 2 or values.shape[1] == 1 or name.endswith("positional_embedding"):
                as_kind, packed = F32, values.astype("<f4").tobytes()
            elif values.ndim == 2 and kind == Q8_0:
                as_kind, packed = Q8_0, to_q8_0(values)
            else:
                as_kind, packed = F16, values.astype("<f2").tobytes()
            encoded = name.encode()
            numbers(values.ndim, len(encoded), as_kind, *reversed(values.shape))
            file.write(encoded)
            file.write(packed)
