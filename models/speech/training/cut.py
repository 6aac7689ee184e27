"""Cuts the stock weights to our words: WORK/start.npz and WORK/vocabulary.json.

    python3 ../../../scripts/stock_weights.py --base     # first: models/speech/stock/base.f16.bin
    python3 cut.py WORK                                  # WORK/stock/tokenizer.json is there (fetch.py)

The embedding keeps the tokens that spell words.txt, the comma, and the four with a meaning of their own, in this order at
the end: end, start, no-timestamps, "nothing for us". Text is cut to 64 tokens, sound to 500 frames of 20 ms. Of the decoder
the first and the last layer stay: so few words need no more, and the encoder is what hears.
"""

import json
import pathlib
import sys

import numpy as np
from tokenizers import Tokenizer

import ggml

HERE = pathlib.Path(__file__).resolve().parent
STOCK = HERE.parent / "stock" / "base.f16.bin"
SPECIAL = {
    "end": "<|endoftext|>",
    "start": "<|startoftranscript|>",
    "no-timestamps": "<|notimestamps|>",
    "nothing": "<|nocaptions|>",
}
TEXT, SOUND, LAYERS = 64, 500, (0, 5)


def some_layers(tensors, part, kept):
    """Without the other layers of a part; those that stay are numbered anew."""
    found = {}
    for name, values in tensors.items():
        if name.startswith(f"{part}.blocks."):
            _, _, layer, rest = name.split(".", 3)
            if int(layer) not in kept:
                continue
            name = f"{part}.blocks.{kept.index(int(layer))}.{rest}"
        found[name] = values
    return found


def main():
    work = pathlib.Path(sys.argv[1])
    tokenizer = Tokenizer.from_file(str(work / "stock" / "tokenizer.json"))

    def spell(text):
        return tokenizer.encode(text, add_special_tokens=False).ids

    words = {word: spell(" " + word) for word in (HERE.parent / "words.txt").read_text().split()}
    (comma,) = spell(",")
    kept = sorted({comma, *(piece for pieces in words.values() for piece in pieces)})
    special = {name: tokenizer.token_to_id(text) for name, text in SPECIAL.items()}
    kept += special.values()
    number_of = {stock: number for number, stock in enumerate(kept)}
    tensors = some_layers(ggml.read(STOCK)[1], "decoder", LAYERS)
    tensors["decoder.token_embedding.weight"] = tensors["decoder.token_embedding.weight"][kept]
    tensors["decoder.positional_embedding"] = tensors["decoder.positional_embedding"][:TEXT]
    tensors["encoder.positional_embedding"] = tensors["encoder.positional_embedding"][:SOUND]
    np.savez(work / "start.npz", **{name: values.astype(np.float16) for name, values in tensors.items()})
    vocabulary = {
        "texts": [tokenizer.decode([stock], skip_special_tokens=False) for stock in kept],
        "words": {word: [number_of[piece] for piece in pieces] for word, pieces in words.items()},
        "comma": number_of[comma],
        **{name: number_of[stock] for name, stock in special.items()},
    }
    (work / "vocabulary.json").write_text(json.dumps(vocabulary))
    print(f"{len(words)} words, {len(kept)} tokens")


if __name__ == "__main__":
    main()
