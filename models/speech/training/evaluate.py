"""Measures weights on voices and speakers that were never fitted on, without a grammar.

    python3 evaluate.py WORK WEIGHTS.npz|WEIGHTS.bin       # a table; needs WORK/held-back
    python3 evaluate.py WORK A.npz B.npz --to C.npz        # of their mean, which often hears better than either

Right means: written word for word, commas aside; for what is not for us, that nothing was written.
"""

import argparse
import collections
import json
import pathlib

import numpy as np
import torch

import ggml
import network
import packs
from augment import WINDOWS

LEVELS = (None, 10, 5, 0)
BATCH = 128


def sets(folder):
    """Held-back clips by engine or kind: samples, label."""
    found = collections.defaultdict(list)
    for path in sorted(folder.glob("*.json")):
        samples, entries = packs.read(path)
        for entry in entries:
            kind = path.name.split("-")[0] + ("" if entry["label"] else ", not for us")
            piece = samples[entry["start"] : entry["start"] + entry["length"]]
            if len(piece) < 8.5 * packs.RATE:
                found[kind].append((piece.astype(np.float32) / 32768, entry["label"]))
    return found


def plain(text):
    return text.replace(",", "").lower().split()


def measure(model, ear, vocabulary, clips, noise, level, device):
    """How many of the clips are right, in noise of a level below that of speech; and what was written."""
    draw, right, wrong = np.random.default_rng(5), 0, []
    order = sorted(range(len(clips)), key=lambda number: len(clips[number][0]))
    for at in range(0, len(order), BATCH):
        some = [clips[number] for number in order[at : at + BATCH]]
        rows = []
        for samples, _ in some:
            active = np.abs(samples) > 0.02 * np.abs(samples).max()
            x = np.concatenate([np.zeros(6400), samples, np.zeros(9600)]) / (np.sqrt(np.mean(samples[active] ** 2)) + 1e-6)
            if level is not None:
                row, start = draw.integers(len(noise)), draw.integers(noise.shape[1])
                piece = np.take(noise[row], range(start, start + len(x)), mode="wrap").astype(np.float32)
                x = x + piece / (np.sqrt(np.mean(piece**2)) + 1e-6) * 10 ** (-level / 20)
            rows.append(0.05 * x)
        frames = network.frames_of(max(map(len, rows)))
        window = min((window for window in WINDOWS if window >= frames), default=WINDOWS[-1])
        padded = np.zeros((len(rows), window * 320), np.float32)
        for place, row in enumerate(rows):
            padded[place, : len(row)] = row[: window * 320]
        found = network.written(model, ear, torch.from_numpy(padded).to(device), vocabulary, window)
        for (_, label), text in zip(some, found):
            if plain(text) == plain(label):
                right += 1
            else:
                wrong.append((label, text))
    return right, wrong


def table(model, vocabulary, work, device, levels=LEVELS):
    """Prints one line a set; gives the mean share that is right, over sets and levels, and the mistakes."""
    model.eval()
    ear = network.Ear().to(device)
    noise = np.load(work / "held-back-noise.npy")
    mistakes, every = {}, []
    print(f"{'set':<24} {'clips':>6} " + " ".join(f"{'quiet' if level is None else f'{level} dB':>7}" for level in levels))
    for name, clips in sets(work / "held-back").items():
        shares = []
        for level in levels:
            right, wrong = measure(model, ear, vocabulary, clips, noise, level, device)
            shares.append(100 * right / len(clips))
            mistakes[f"{name} at {level}"] = wrong
        every += shares
        print(f"{name:<24} {len(clips):>6} " + " ".join(f"{share:>7.1f}" for share in shares), flush=True)
    model.train()
    print(f"{'mean over sets and levels':<31} {np.mean(every):>7.2f}", flush=True)
    return np.mean(every), mistakes


def tensors_of(paths):
    """The tensors of weights, from .npz or .bin, or the mean of several."""
    files = [ggml.read(path)[1] if path.suffix == ".bin" else np.load(path) for path in paths]
    return {name: np.mean([file[name].astype(np.float32) for file in files], axis=0) for name in files[0]}


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("work", type=pathlib.Path)
    parser.add_argument("weights", type=pathlib.Path, nargs="+")
    parser.add_argument("--to", type=pathlib.Path)
    arguments = parser.parse_args()
    work, paths = arguments.work, arguments.weights
    device = "cuda" if torch.cuda.is_available() else "cpu"
    vocabulary = json.loads((work / "vocabulary.json").read_text())
    tensors = tensors_of(paths)
    if arguments.to:
        np.savez(arguments.to, **{name: values.astype(np.float16) for name, values in tensors.items()})
    table(network.Whisper(tensors).to(device), vocabulary, work, device)


if __name__ == "__main__":
    main()
