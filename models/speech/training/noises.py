"""Noises of a house, made up: what recordings there are is little. And rooms.

    python3 noises.py WORK ../../../../shared/data/speech/noise       # WORK/noise.npy, 16 bit, 10 s a row

Recorded noises (CC-BY-4.0, MIT) are cut into rows. `exercise_bike` is held back, into WORK/held-back-noise.npy, with a few
more of each kind.
"""

import pathlib
import sys

import numpy as np

RATE, LENGTH = 16_000, 160_000
HELD_BACK = ("exercise_bike",)
EACH = 40


def coloured(draw, slope):
    """Noise whose power falls by `slope` times 3 dB an octave: 0 white, 1 pink, 2 brown."""
    spectrum = np.fft.rfft(draw.standard_normal(LENGTH))
    frequency = np.fft.rfftfreq(LENGTH, 1 / RATE)
    return np.fft.irfft(spectrum * np.maximum(frequency, 20.0) ** (-slope / 2))


def band(draw, samples, low, high):
    spectrum = np.fft.rfft(samples)
    frequency = np.fft.rfftfreq(LENGTH, 1 / RATE)
    sharp = draw.integers(1, 5)
    gain = 1 / np.sqrt(1 + (low / np.maximum(frequency, 1)) ** (2 * sharp)) / np.sqrt(1 + (frequency / high) ** (2 * sharp))
    return np.fft.irfft(spectrum * gain)


def unit(samples):
    return samples / (np.sqrt(np.mean(samples**2)) + 1e-9)


def slow(draw, rate):
    """A slowly wandering value around one, about `rate` times a second."""
    points = draw.uniform(0.2, 1.8, max(int(rate * 10), 2) + 2)
    return np.interp(np.linspace(0, len(points) - 1, LENGTH), np.arange(len(points)), points)


def harmonics(draw, base, count):
    """A tone with overtones; its frequency wanders by a few parts in a thousand."""
    wander = 1 + 0.004 * (slow(draw, 2) - 1)
    phase = 2 * np.pi * np.cumsum(base * wander) / RATE
    levels = draw.uniform(0, 1, count) / np.arange(1, count + 1) ** draw.uniform(0.3, 1.2)
    return sum(a * np.sin(n * phase + draw.uniform(0, 6)) for n, a in enumerate(levels, 1) if base * n < RATE / 2)


def hum(draw):
    return unit(harmonics(draw, draw.choice([50, 60]) * draw.choice([1, 2]), 20)) + 0.1 * unit(coloured(draw, 1))


def motor(draw):
    turning = harmonics(draw, draw.uniform(20, 400), 30)
    return unit(turning) + draw.uniform(0.1, 1) * unit(band(draw, coloured(draw, 0.5), 100, draw.uniform(1000, 7000)))


def fan(draw):
    air = band(draw, coloured(draw, draw.uniform(0.5, 2)), 30, draw.uniform(500, 7000))
    blades = 1 + draw.uniform(0, 0.4) * np.sin(2 * np.pi * draw.uniform(5, 120) * np.arange(LENGTH) / RATE)
    return air * blades


def water(draw):
    """A jet: noise that flickers, with drops that ring."""
    low = draw.uniform(200, 2000)
    samples = unit(band(draw, coloured(draw, 0), low, draw.uniform(low + 500, 8000)) * slow(draw, draw.uniform(5, 60)))
    return samples + draw.uniform(0, 1.5) * unit(rings(draw, draw.integers(20, 400), (400, 3000), (0.003, 0.03), rise=True))


def rings(draw, count, frequencies, lengths, rise=False):
    """Short ringing sounds at random times."""
    samples = np.zeros(LENGTH)
    for start in draw.integers(0, LENGTH - 1, count):
        decay = draw.uniform(*lengths)
        time = np.arange(min(int(decay * 6 * RATE), LENGTH - start)) / RATE
        frequency = draw.uniform(*frequencies) * (1 + (3 * time if rise else 0))
        samples[start : start + len(time)] += draw.exponential() * np.exp(-time / decay) * np.sin(2 * np.pi * frequency * time)
    return samples


def clatter(draw):
    """Dishes and tools: groups of inharmonic rings."""
    samples = np.zeros(LENGTH)
    for _ in range(draw.integers(1, 5)):
        samples += rings(draw, draw.integers(2, 40), (600, 7500), (0.005, 0.15))
    return unit(samples) + draw.uniform(0, 0.2) * unit(coloured(draw, 1))


def knocks(draw):
    """Steps, doors, a drum out of balance: low thumps, at random or in time."""
    thumps = rings(draw, draw.integers(3, 40), (40, 300), (0.01, 0.1))
    beat = np.maximum(0, np.sin(2 * np.pi * draw.uniform(0.5, 8) * np.arange(LENGTH) / RATE)) ** draw.uniform(2, 20)
    return unit(thumps) + unit(coloured(draw, 1.5) * beat)


def wash(draw):
    """A dishwasher or washer at work: water in time with a motor."""
    beat = 1 + draw.uniform(0.2, 0.9) * np.sin(2 * np.pi * draw.uniform(0.3, 6) * np.arange(LENGTH) / RATE)
    return unit(water(draw)) * beat + draw.uniform(0.2, 1) * unit(motor(draw))


def beeps(draw):
    time = np.arange(LENGTH) / RATE
    on = np.sin(2 * np.pi * draw.uniform(0.3, 4) * time) > draw.uniform(-0.5, 0.9)
    return np.sin(2 * np.pi * draw.uniform(500, 4000) * time) * on + 0.05 * unit(coloured(draw, 1))


def tune(draw):
    """A tune from another room: notes of a scale with overtones."""
    samples, at = np.zeros(LENGTH), 0
    base = draw.uniform(110, 400)
    while at < LENGTH:
        length = min(int(draw.choice([0.15, 0.3, 0.45, 0.6]) * RATE), LENGTH - at)
        time = np.arange(length) / RATE
        for step in draw.choice([0, 2, 4, 5, 7, 9, 11, 12, 14], draw.integers(1, 4)):
            frequency = base * 2 ** (step / 12)
            samples[at : at + length] += sum(np.sin(2 * np.pi * frequency * n * time) / n for n in (1, 2, 3)) * np.exp(-2 * time)
        at += length
    return samples


def plain(draw):
    return coloured(draw, draw.uniform(-0.3, 2.2))


def crackle(draw):
    samples = coloured(draw, 1) * 0.3
    at = draw.integers(0, LENGTH, draw.integers(5, 2000))
    samples[at] += draw.standard_normal(len(at)) * draw.uniform(5, 30)
    return samples


KINDS = (hum, motor, fan, water, clatter, knocks, wash, beeps, tune, plain, crackle)


def rooms(draw, count=512, length=8000):
    """Echoes of rooms: the direct sound, a few early reflections, and a tail that falls by 60 dB in 0.1 to 0.8 s."""
    found = np.zeros((count, length), np.float32)
    time = np.arange(length) / RATE
    for row in found:
        tail = draw.standard_normal(length) * np.exp(-6.9 * time / draw.uniform(0.1, 0.8))
        tail[: draw.integers(20, 300)] = 0
        row += 10 ** (draw.uniform(-18, 3) / 20) * tail / (np.sqrt(np.sum(tail**2)) + 1e-9)
        for _ in range(draw.integers(0, 6)):
            row[draw.integers(10, 600)] += draw.uniform(-0.5, 0.5)
        row[0] += 1
    return found


def rows_of(draw, kinds, each, paths):
    """Noises of the level one: `each` of every kind and of every recording."""
    import soundfile

    rows = [unit(kind(draw)) for kind in kinds for _ in range(each)]
    for path in paths:
        samples, rate = soundfile.read(path)
        assert rate == RATE, path
        samples = np.tile(samples, -(-LENGTH * 2 // len(samples)))
        rows += [unit(samples[start : start + LENGTH]) for start in draw.integers(0, len(samples) - LENGTH, each)]
    return rows


def save(path, rows):
    np.save(path, np.array([row * min(3000, 32000 / np.abs(row).max()) for row in rows]).astype(np.int16))
    print(f"{path.name}: {len(rows)} noises of 10 s")


def main():
    work, folder = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2])
    recorded = sorted(folder.glob("*.flac"))
    met = [path for path in recorded if path.stem not in HELD_BACK]
    others = [path for path in recorded if path.stem in HELD_BACK]
    save(work / "noise.npy", rows_of(np.random.default_rng(1), KINDS, EACH, met))
    save(work / "held-back-noise.npy", rows_of(np.random.default_rng(9), KINDS, 3, others * 4))


if __name__ == "__main__":
    main()
