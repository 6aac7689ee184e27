"""Packs the recordings of people whose licence lets weights be shared: CMU AN4 (BSD-like), Speech Commands (CC-BY-4.0),
remarks to a home assistant (Apache-2.0).

    python3 people.py WORK ../../../../shared/data/speech       # WORK/packs/{numbers,letters,words,spliced}-people.*

Every fifth speaker is held back, into WORK/held-back, and all the remarks: they are few. The folder has a manifest.tsv: file, words, speaker, kind.
"""

import csv
import hashlib
import pathlib
import random
import sys

import numpy as np
import soundfile

import packs

HERE = pathlib.Path(__file__).resolve().parent
GROUPS = {"an4": "numbers", "speech_commands": "words", "crowd_orders": "remarks"}
DIGITS = "zero one two three four five six seven eight nine".split()
SPLICED = 3000


def is_held_back(speaker):
    return hashlib.sha256(speaker.encode()).digest()[0] % 5 == 0


def label(row, known):
    """How the clip is written; None for words that cannot be."""
    folder, words = row["file"].split("/")[0], row["transcript"].strip()
    if folder == "crowd_orders":
        return ""
    if folder == "an4":
        words = " ".join(word.upper() if len(word) == 1 else word for word in words.split())
        return words if all(word in known for word in words.split()) else None
    return words if words in known else ""


def spliced(digits, draw):
    """Strings of single digits by different people, closely joined: people's numbers are few."""
    clips = []
    for _ in range(SPLICED):
        pieces, words = [], []
        for _ in range(draw.choice([2, 2, 3, 3, 4, 5, 6])):
            if words and draw.random() < 0.2:
                word = words[-1]
            else:
                word = draw.choice(DIGITS)
            samples = packs.trim(draw.choice(digits[word]).astype(np.float32), below=30, room=400)
            pieces += [samples / max(np.abs(samples).max(), 1.0), np.zeros(draw.randint(0, 2400), np.float32)]
            words.append(word)
        clips.append((packs.level(np.concatenate(pieces)), " ".join(words), "spliced"))
    return clips


def main():
    work, folder = map(pathlib.Path, sys.argv[1:3])
    known = set((HERE.parent / "words.txt").read_text().split())
    groups, digits = {}, {word: [] for word in DIGITS}
    with open(folder / "manifest.tsv") as file:
        for row in csv.DictReader(file, delimiter="\t"):
            group = GROUPS.get(row["file"].split("/")[0])
            words = label(row, known) if group else None
            if words is None:
                continue
            samples, rate = soundfile.read(folder / row["file"], dtype="float32")
            samples = packs.level(packs.to_rate(samples, rate))
            if len(samples) > 9 * packs.RATE:
                continue
            held_back = group == "remarks" or is_held_back(row["speaker"])
            place = "held-back" if held_back else "packs"
            if any(len(word) == 1 for word in words.split()):
                group = "letters"
            groups.setdefault((place, group), []).append((samples, words, f"people:{row['speaker']}"))
            if row["kind"] == "digit" and not held_back and group == "words":
                digits[words].append(samples)
    groups["packs", "spliced"] = spliced(digits, random.Random(1))
    for (place, group), clips in groups.items():
        packs.write(work / place / f"{group}-people", clips)
        speakers = len({voice for _, _, voice in clips})
        hours = sum(len(samples) for samples, _, _ in clips) / packs.RATE / 3600
        print(f"{place}/{group}-people: {len(clips)} clips, {speakers} speakers, {hours:.2f} hours")


if __name__ == "__main__":
    main()
