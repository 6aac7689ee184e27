#!/usr/bin/env python3
"""Speaks readings, answers and remarks in many voices, for the bench: sound files and readings.tsv
(file, voice, grammar, words; a remark has no grammar of its own and must never be taken).

    python3 scripts/make_readings.py target/readings [how many of ten parts] [seed]

Needs espeak-ng and flite; festival's voices are used where they are installed. The words are drawn here, so every
run with one seed and the same voices speaks the same.
"""

import concurrent.futures
import pathlib
import random
import shutil
import subprocess
import sys

ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
TENS = "_ _ twenty thirty forty fifty sixty seventy eighty ninety".split()
LETTERS = "L N M H T V".split()
WORDS = "lima november mike hotel tango victor".split()

ESPEAK = [
    accent + variant
    for accent in ("en-us", "en-gb", "en-gb-scotland", "en-gb-x-rp", "en-gb-x-gbclan", "en-gb-x-gbcwmd", "en-us-nyc")
    for variant in ("", "+f2", "+m3", "+f5", "+m7", "+klatt2")
]
FLITE = ["kal", "kal16", "awb", "rms", "slt"]
FESTIVAL = {"kallpc16k": "kal_diphone", "kdlpc16k": "ked_diphone", "us-slt-hts": "cmu_us_slt_arctic_hts"}

REMARKS = [
    "did you park in front of the garage",
    "the neighbour had the same one",
    "it started making that noise around easter",
    "would you like a cup of coffee",
    "careful, the dog is in the hallway",
    "my sister told me to just buy a new machine",
    "we moved in five years ago",
    "can you turn the radio down please",
    "that towel was in there all week",
    "how long do you think it will take",
    "i have to pick up the children at three",
    "the cat likes to sleep on top of it",
    "somebody is at the front door",
    "it was twenty dollars cheaper at the other shop",
    "let me move these boxes for you",
    "did the manual come with it",
    "i think it smells a little like rubber",
    "she said she would call back later",
    "there is another socket behind the shelf",
    "you can put your bag on the table",
]
COMMANDS = [
    "say again", "what do you expect", "what setting", "where is that", "skip this one", "hold on", "go back", "status",
    "stop", "stop stop", "new note", "why", "resume", "power is off", "next", "ready", "done",
]  # fmt: skip
ANSWERS = ["yes", "no", "correct", "wrong", "right", "yes", "no"]


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
    kind = draw.randrange(9)
    if kind == 0:
        return below_hundred(draw.randint(1, 99))
    if kind in (1, 2):  # the pairs that are heard for each other
        tens = draw.randint(3, 9)
        return draw.choice([ONES[10 + tens], TENS[tens]])
    if kind == 3:
        return grouped(draw.randint(100, 999))
    if kind == 4:
        return f"{below_hundred(draw.randint(11, 99))} hundred"
    if kind == 5:
        return f"{below_hundred(draw.randint(0, 99))} point {ONES[draw.randint(0, 9)]}"
    if kind == 6:
        return f"{ONES[draw.randint(0, 9)]} point {ONES[draw.randint(0, 9)]} {ONES[draw.randint(1, 9)]}"
    if kind == 7:
        return " ".join(ONES[draw.randint(1 if place == 0 else 0, 9)] for place in range(draw.randint(2, 4)))
    return f"{ONES[draw.randint(1, 9)]} hundred and {below_hundred(draw.randint(1, 99))}"


UNITS = ["ohms"] * 4 + ["kilohms"] * 2 + ["k", "megohms", "volts", "volts", "millivolts", "amps", "milliamps", "degrees"]


def points(draw):
    """Two points, by letter or by the word of the spelling alphabet."""
    names = LETTERS if draw.random() < 0.6 else WORDS
    return draw.sample(names, 2)


def reading(draw):
    pair = "" if draw.random() < 0.35 else "{} to {}, ".format(*points(draw))
    kind = draw.random()
    if kind < 0.08:
        return pair + draw.choice(["O L", "over limit", "open line"])
    if kind < 0.13:
        return pair + draw.choice(["open", "closed", "no continuity", "continuity"])
    return f"{pair}{number(draw)} {draw.choice(UNITS)}"


def confirmation(draw):
    kind = draw.random()
    if kind < 0.5:
        return draw.choice(ANSWERS)
    if kind < 0.65:
        return "make that " + draw.choice(["ohms", "kilohms", "k", "megohms", "volts", "millivolts"])
    if kind < 0.85:
        return f"no, {number(draw)} {draw.choice(UNITS)}"
    return draw.choice(["i said {}", "make it {}", "no, {}"]).format(f"{number(draw)} {draw.choice(UNITS)}")


def acknowledgement(draw):
    return "live and clear" if draw.random() < 0.25 else "live at {} and {}".format(*points(draw))


def plate(draw):
    return " ".join(draw.choice(LETTERS + WORDS + ONES[:10]) for _ in range(draw.randint(3, 7)))


# A tenth each, of which grammar, drawn how.
PARTS = [("reading", reading)] * 5 + [
    ("confirm", confirmation),
    ("acknowledge", acknowledgement),
    ("plate", plate),
    ("command", lambda draw: draw.choice(COMMANDS)),
    ("remark", lambda draw: draw.choice(REMARKS)),
]


def spoken(words):
    """For the synthesisers: letters in capitals, so that they are named."""
    return " ".join(word.upper() if word == "k" else word for word in words.split(" "))


def speak(job):
    """Runs a synthesiser: a voice, its words, the file, and a draw between 0 and 1 each for speed and pitch."""
    voice, words, path, speed, pitch = job
    maker, _, name = voice.partition(":")
    stretch, text = f"{0.8 + 0.4 * speed:.2f}", spoken(words)
    entry = None
    if maker == "flite":
        command = ["flite", "-voice", name, f"--setf", f"duration_stretch={stretch}", "-t", text, "-o", str(path)]
    elif maker == "festival":
        settings = f"(begin (voice_{FESTIVAL[name]}) (Parameter.set 'Duration_Stretch {stretch}))"
        command, entry = ["text2wave", "-eval", settings, "-o", str(path)], text.encode()
    else:
        rates = ["-s", str(round(180 - 60 * speed)), "-p", str(round(30 + 40 * pitch))]
        command = ["espeak-ng", "-v", name, *rates, "-w", str(path), text]
    subprocess.run(command, input=entry, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def festival_voices():
    if not shutil.which("text2wave"):
        return []
    there = [name for name in FESTIVAL if list(pathlib.Path("/usr/share/festival/voices").glob(f"*/{FESTIVAL[name]}"))]
    return [f"festival:{name}" for name in there]


def speak_all(out, jobs, lines):
    """Runs the synthesisers, then writes the list: last, so that a broken-off run is begun again."""
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        for done in pool.map(speak, jobs):
            pass
    header = "file\tvoice\tgrammar\twords"
    (out / "readings.tsv").write_text("\n".join([header, *lines]) + "\n")


def main():
    out = pathlib.Path(sys.argv[1])
    parts = int(sys.argv[2]) if len(sys.argv) > 2 else 100
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    out.mkdir(parents=True, exist_ok=True)
    # Voices of two kinds by turns: those of the synthesiser that the weights were fitted on, and all others.
    fitted = [f"espeak:{voice}" for voice in ESPEAK]
    others = [f"flite:{voice}" for voice in FLITE] + festival_voices()
    lines, jobs = [], []
    for place in range(parts * len(PARTS)):
        draw = random.Random(f"{seed} {place}")  # each clip its own, so that one more voice does not change the words
        grammar, make = PARTS[place % len(PARTS)]
        words = make(draw)
        voice = draw.choice(fitted if (place // len(PARTS)) % 2 else others)
        name = f"{place:04}.wav"
        jobs.append((voice, words, out / name, draw.random(), draw.random()))
        lines.append(f"{name}\t{voice}\t{grammar}\t{words}")
    speak_all(out, jobs, lines)


if __name__ == "__main__":
    main()
