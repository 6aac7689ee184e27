#!/usr/bin/env python3
"""Speaks readings in many voices, for the bench: sound files and readings.tsv (file, voice, words).

    python3 scripts/make_readings.py target/readings [how many] [seed]

Needs espeak-ng and flite. The words are drawn here, so every run with one seed speaks the same.
"""

import pathlib
import random
import subprocess
import sys

ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
TENS = "_ _ twenty thirty forty fifty sixty seventy eighty ninety".split()
POINTS = "L N M H T V".split()
ESPEAK = [
    accent + variant
    for accent in ("en-us", "en-gb", "en-gb-scotland", "en-gb-x-rp", "en-us-nyc")
    for variant in ("", "+f2", "+m3", "+f5", "+m7")
]
FLITE = ["kal", "kal16", "awb", "rms", "slt"]


def below_hundred(number):
    if number < 20:
        return ONES[number]
    tens, ones = divmod(number, 10)
    return TENS[tens] + (f" {ONES[ones]}" if ones else "")


def grouped(number):
    """As meters are read: one twenty, one oh six, two hundred."""
    hundreds, rest = divmod(number, 100)
    if rest == 0:
        return f"{ONES[hundreds]} hundred"
    return f"{ONES[hundreds]} " + (f"oh {ONES[rest]}" if rest < 10 else below_hundred(rest))


def number(draw):
    kind = draw.randrange(8)
    if kind == 0:
        return below_hundred(draw.randint(1, 99))
    if kind == 1:  # the pairs that are heard for each other
        tens = draw.randint(3, 9)
        return draw.choice([ONES[10 + tens], TENS[tens]])
    if kind == 2:
        return grouped(draw.randint(100, 999))
    if kind == 3:
        return f"{below_hundred(draw.randint(11, 99))} hundred"
    if kind == 4:
        return f"{below_hundred(draw.randint(0, 99))} point {ONES[draw.randint(0, 9)]}"
    if kind == 5:
        return f"{ONES[draw.randint(0, 9)]} point {ONES[draw.randint(0, 9)]} {ONES[draw.randint(1, 9)]}"
    if kind == 6:
        return " ".join(ONES[draw.randint(1 if place == 0 else 0, 9)] for place in range(draw.randint(2, 4)))
    return f"{ONES[draw.randint(1, 9)]} hundred and {below_hundred(draw.randint(1, 99))}"


def reading(draw):
    kind = draw.random()
    pair = "" if draw.random() < 0.35 else "{} to {}, ".format(*draw.sample(POINTS, 2))
    if kind < 0.08:
        return pair + draw.choice(["o l", "over limit", "open line"])
    unit = draw.choice(["ohms"] * 4 + ["kilohms"] * 2 + ["k", "volts", "volts", "millivolts", "amps", "milliamps"])
    words = f"{pair}{number(draw)} {unit}"
    return f"no, {words}" if kind > 0.94 else words


def spoken(words):
    """For the synthesisers: letters in capitals, so that they are named."""
    return words.replace("o l", "O L").replace(" k", " K")


def speak(voice, words, path, draw):
    if voice in FLITE:
        command = ["flite", "-voice", voice, "-t", spoken(words), "-o", str(path)]
    else:
        speed, pitch = str(draw.randint(130, 180)), str(draw.randint(35, 65))
        command = ["espeak-ng", "-v", voice, "-s", speed, "-p", pitch, "-w", str(path), spoken(words)]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def main():
    out = pathlib.Path(sys.argv[1])
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 200
    draw = random.Random(int(sys.argv[3]) if len(sys.argv) > 3 else 1)
    out.mkdir(parents=True, exist_ok=True)
    lines = ["file\tvoice\twords"]
    for place in range(count):
        words = reading(draw)
        voice = draw.choice(FLITE if place % 2 else ESPEAK)
        name = f"{place:04}.wav"
        speak(voice, words, out / name, draw)
        lines.append(f"{name}\t{voice}\t{words}")
    # Written last: a broken-off run is begun again.
    (out / "readings.tsv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
