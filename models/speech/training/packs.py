"""Clips on disk: a pack is NAME.npy, the samples of all its clips one after the other (16 kHz, 16 bit), and NAME.json,
where each clip begins, how many samples it has, its label and its voice."""

import json
import math

import numpy as np

RATE = 16_000


def level(samples, peak=0.7):
    """To 16 bit, the loudest sample at `peak` of full scale."""
    loudest = float(np.abs(samples).max()) if len(samples) else 0.0
    return np.round(samples * (peak * 32767 / max(loudest, 1e-6))).astype(np.int16)


def to_rate(samples, rate):
    """Samples at RATE, from any other rate."""
    if rate == RATE:
        return samples
    from scipy.signal import resample_poly

    shared = math.gcd(rate, RATE)
    return resample_poly(samples, RATE // shared, rate // shared)


def trim(samples, below=40.0, room=800):
    """Without silence at either end: what stays under the loudest by `below` decibels, but for `room` samples."""
    if not len(samples):
        return samples
    loud = np.flatnonzero(np.abs(samples) > np.abs(samples).max() * 10 ** (-below / 20))
    if not len(loud):
        return samples[:0]
    return samples[max(loud[0] - room, 0) : loud[-1] + room]


def write(path, clips):
    """Writes a pack of (samples, label, voice); the list last, so that a pack with a list is whole."""
    at, entries = 0, []
    for samples, label, voice in clips:
        entries.append({"start": at, "length": len(samples), "label": label, "voice": voice})
        at += len(samples)
    path.parent.mkdir(parents=True, exist_ok=True)
    np.save(path.with_suffix(".npy"), np.concatenate([samples for samples, _, _ in clips]))
    part = path.with_suffix(".part")
    part.write_text(json.dumps(entries))
    part.rename(path.with_suffix(".json"))


def read(path):
    """The samples of a pack and its entries."""
    return np.load(path.with_suffix(".npy")), json.loads(path.with_suffix(".json").read_text())
