"""Packs the recordings of people whose licence lets weights be shared: CMU AN4 (BSD-like), Speech Commands (CC-BY-4.0),
remarks to a home assistant (Apache-2.0).

    python3 people.py WORK ../../../../shared/data/speech       # WORK/packs/{numbers,letters,words,spliced}-people.*

Every fifth speaker is held back, into WORK/held-back, and all the remarks: they are few. The folder has a manifest.tsv: file, words, speaker, kind.
"""

import collections
import csv
import hashlib
import pathlib
import random
import sys

import numpy as np
import pocketsphinx
import soundfile

import packs

HERE = pathlib.Path(__file__).resolve().parent
GROUPS = {"an4": "numbers", "speech_commands": "words", "crowd_orders": "remarks"}
DIGITS = "zero one two three four five six seven eight nine".split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
TEENS = "ten eleven twelve fourteen nineteen".split()  # the others were said by one or two people
SPLICED = 8000
ALIGNED, EDGE = 160, 128  # samples a frame of the alignment, and what a cut fades over


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


def in_words(clips):
    """Words cut out of what was said, by forced alignment with PocketSphinx and its own model: word to (samples, speaker).
    What cannot be aligned is left out."""
    found, left_out = collections.defaultdict(list), 0
    decoder = pocketsphinx.Decoder(lm=None, loglevel="FATAL", beam=1e-80, wbeam=1e-60, pbeam=1e-80)
    for samples, label, speaker in clips:
        words = label.split()
        decoder.set_align_text(label.lower())
        decoder.start_utt()
        decoder.process_raw(samples.tobytes(), full_utt=True)
        decoder.end_utt()
        pieces = [piece for piece in decoder.seg() or () if piece.word[0] not in "<["]
        if [piece.word.split("(")[0] for piece in pieces] != label.lower().split():
            left_out += 1
            continue
        for word, piece in zip(words, pieces):
            cut = samples[max(piece.start_frame * ALIGNED - EDGE, 0) : (piece.end_frame + 1) * ALIGNED + EDGE]
            found[word].append((cut.astype(np.float32), speaker))
    print(f"{sum(map(len, found.values()))} words cut out; {left_out} clips could not be aligned")
    return found


def phrase(draw, letters):
    """What is joined: plates, spelled letters, one letter, numbers as they are read, strings of digits."""
    digit, ten, teen = (lambda: draw.choice(DIGITS)), (lambda: draw.choice(TENS)), (lambda: draw.choice(TEENS))
    kind = draw.random()
    if kind < 0.35:
        return [draw.choice(letters) if draw.random() < 0.5 else digit() for _ in range(draw.randint(3, 8))]
    if kind < 0.5:
        return [draw.choice(letters) for _ in range(draw.randint(2, 7))]
    if kind < 0.6:
        return [draw.choice(letters)]
    if kind < 0.75:
        below = draw.choice([[ten()], [ten(), draw.choice(DIGITS[1:])], [teen()], [ten(), draw.choice(DIGITS[1:])]])
        above = draw.choice([[], [], [draw.choice(DIGITS[1:])], [draw.choice(DIGITS[1:]), "hundred"]])
        return above + below
    words = []
    for _ in range(draw.choice([1, 2, 2, 3, 3, 4, 5, 6])):
        words.append(words[-1] if words and draw.random() < 0.2 else digit())
    return words


def spliced(words, draw):
    """Letters and numbers joined anew from single words: people's are few. Half of them keep to one speaker where he said the
    word."""
    letters = [word for word in words if len(word) == 1 and word.isupper()]
    ramp = np.minimum(1, np.arange(1, EDGE + 1) / EDGE, dtype=np.float32)
    speakers = sorted({speaker for pieces in words.values() for _, speaker in pieces})
    clips = []
    for _ in range(SPLICED):
        wanted = phrase(draw, letters)
        if not all(word in words for word in wanted):
            continue
        speaker, pieces = draw.choice(speakers), []
        alone = draw.random() < 0.5
        for word in wanted:
            own = [piece for piece, who in words[word] if who == speaker] if alone else []
            piece = draw.choice(own or [piece for piece, _ in words[word]])
            piece = piece / max(np.abs(piece).max(), 1.0)
            piece[:EDGE] *= ramp
            piece[-EDGE:] *= ramp[::-1]
            pieces += [piece, np.zeros(draw.randint(0, 480) if draw.random() < 0.6 else draw.randint(0, 3200), np.float32)]
        clips.append((packs.level(np.concatenate(pieces)), " ".join(wanted), "spliced"))
    return clips


def main():
    work, folder = map(pathlib.Path, sys.argv[1:3])
    known = set((HERE.parent / "words.txt").read_text().split())
    groups, said = {}, collections.defaultdict(list)
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
                said[words].append((packs.trim(samples.astype(np.float32), below=30, room=400), row["speaker"]))
    for word, pieces in in_words(groups["packs", "letters"] + groups["packs", "numbers"]).items():
        said[word] += pieces
    groups["packs", "spliced"] = spliced(said, random.Random(1))
    for (place, group), clips in groups.items():
        packs.write(work / place / f"{group}-people", clips)
        speakers = len({voice for _, _, voice in clips})
        hours = sum(len(samples) for samples, _, _ in clips) / packs.RATE / 3600
        print(f"{place}/{group}-people: {len(clips)} clips, {speakers} speakers, {hours:.2f} hours")


if __name__ == "__main__":
    main()
