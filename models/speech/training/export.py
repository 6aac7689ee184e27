"""Writes fitted weights as the file that the program reads.

    python3 export.py WORK/fitted.npz WORK ../leadhand-fit-1.q8_0.bin        # and ../leadhand-fit-1.f16.bin, to compare
"""

import json
import pathlib
import sys

import numpy as np

import ggml


def main():
    fitted, work, path = map(pathlib.Path, sys.argv[1:4])
    texts = json.loads((work / "vocabulary.json").read_text())["texts"]
    tensors = {name: values.astype(np.float32) for name, values in np.load(fitted).items()}
    kind = ggml.Q8_0 if ".q8_0." in path.name else ggml.F16
    ggml.write(path, [text.encode() for text in texts], tensors, kind)
    print(f"{path}: {path.stat().st_size:,} bytes")


if __name__ == "__main__":
    main()
