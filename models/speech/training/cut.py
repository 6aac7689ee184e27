"""Cuts the stock weights to our words: WORK/start.npz and WORK/vocabulary.json.

    python3 ../../../scripts/stock_weights.py      # first: models/speech/stock/tiny.en.f16.bin
    python3 cut.py WORK                            # WORK/stock/tokenizer.json is there (fetch.py)

The embedding keeps the tokens that spell words.txt, the comma, and the four with a meaning of their own, in this order at
the end: end, start, no-timestamps, "nothing for us". Text is cut to 64 tokens, sound to 500 frames of 20 ms.
"""

import json
import pathlib
import sys

import numpy as np
from tokenizers import Tokenizer

import ggml

HERE = pathlib.Path(__file__).resolve().parent
STOCK = HERE.parent / "stock" / "tiny.en.f16.bin"
SPECIAL = {"end": 50256, "start": 50257, "no-timestamps": 50362, "nothing": 50361}
TEXT, SOUND = 64, 500


def main():
    work = pathlib.Path(sys.argv[1])
    tokenizer = Tokenizer.from_file(str(work / "stock" / "tokenizer.json"))

    def spell(text):
        return tokenizer.encode(text, add_special_tokens=False).ids

    words = {word: spell(" " + word) for word in (HERE.parent / "words.txt").read_text().split()}
    (comma,) = spell(",")
    kept = sorted({comma, *(piece for pieces in words.values() for piece in pieces)})
    kept += SPECIAL.values()
    number_of = {stock: number for number, stock in enumerate(kept)}
    _, tensors = ggml.read(STOCK)
    tensors["decoder.token_embedding.weight"] = tensors["decoder.token_embedding.weight"][kept]
    tensors["decoder.positional_embedding"] = tensors["decoder.positional_embedding"][:TEXT]
    tensors["encoder.positional_embedding"] = tensors["encoder.positional_embedding"][:SOUND]
    np.savez(work / "start.npz", **{name: values.astype(np.float16) for name, values in tensors.items()})
    vocabulary = {
        "texts": [tokenizer.decode([stock], skip_special_tokens=False) for stock in kept],
        "words": {word: [number_of[piece] for piece in pieces] for word, pieces in words.items()},
        "comma": number_of[comma],
        **{name: number_of[stock] for name, stock in SPECIAL.items()},
    }
    (work / "vocabulary.json").write_text(json.dumps(vocabulary))
    print(f"{len(words)} words, {len(kept)} tokens")


if __name__ == "__main__":
    main()
