#!/usr/bin/env python3
"""Speaks the utterances of recorded jobs: samples/<job>/job.toml to FLAC (or WAV) files beside it.

    scripts/make_samples.py samples/dryer-no-heat [...]     speak what is missing or has changed
    scripts/make_samples.py --force samples/dryer-no-heat   speak everything anew

Needs `espeak-ng` or `flite`, whichever the job names, and `flac` where a file's name ends in .flac; all are Debian
packages. Nothing but Python's standard library else. The same tools give the same files.

A job lists what the technician says, in order. Other tables and keys belong to the replay and are left alone:

    [[say]]
    file = "03-element.flac"
    text = "element one to element two, open line"
    voice = "espeak:en-us+m3"     # or "flite:slt"
    rate = 160                    # optional: words a minute (espeak), or speed in percent (flite)
    pitch = 45                    # optional, espeak: 0 to 99
    noise = "drum:10"             # optional: drum, fan or water, and decibels of speech above it

Letters that stand alone ("o l", "l", "t") are said as letters. Every file is 16 kHz, mono, 16 bits, with a quarter of
a second before and after the words; noise runs through the whole file.
"""

import argparse
import array
import hashlib
import json
import math
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import tomllib
import wave

RATE = 16_000
EDGE_S = 0.25
PEAK = 0.5  # of full scale, before noise
# "a" and "i" are also words; they are letters only beside another letter.
LETTERS = re.compile(r"\b[b-hj-z]\b|\b[ai]\b(?= [a-z]\b)|(?<=\b[a-z] )[ai]\b")


class Wrong(Exception):
    """Something in a job or on this machine that the reader can mend."""


def run(*command):
    """What a program prints; its failure is told in its own words."""
    try:
        done = subprocess.run(command, capture_output=True, text=True)
    except FileNotFoundError:
        raise Wrong(f"`{command[0]}` is missing: sudo apt-get install {command[0]}") from None
    if done.returncode != 0:
        raise Wrong(f"`{' '.join(command)}` failed: {done.stderr.strip()}")
    return done.stdout


def spoken_letters(text):
    """Puts letters that stand alone in capitals, so that a synthesiser says their names."""
    return LETTERS.sub(lambda letter: letter[0].upper(), text)


def speak(say, path):
    """Lets the voice that is named say the text into a WAV."""
    engine, _, voice = say["voice"].partition(":")
    text = spoken_letters(say["text"])
    if engine == "espeak":
        options = ["-v", voice, "-s", str(say.get("rate", 160)), "-p", str(say.get("pitch", 50))]
        run("espeak-ng", *options, "-w", path, text)
    elif engine == "flite":
        if voice not in run("flite", "-lv").split():
            raise Wrong(f"flite has no voice \"{voice}\"; `flite -lv` lists them")  # it would take another
        stretch = 100 / say.get("rate", 100)
        run("flite", "-voice", voice, "--setf", f"duration_stretch={stretch:.3f}", "-t", text, "-o", path)
    else:
        raise Wrong(f"voice \"{say['voice']}\" is neither espeak:NAME nor flite:NAME")


def read_wav(path):
    """The samples of a mono 16-bit WAV as floats, and its rate."""
    with wave.open(path) as file:
        if (file.getnchannels(), file.getsampwidth()) != (1, 2):
            raise Wrong(f"{path} is not mono with 16 bits")
        samples = array.array("h", file.readframes(file.getnframes()))
        rate = file.getframerate()
    if sys.byteorder == "big":
        samples.byteswap()
    return [sample / 32768 for sample in samples], rate


def resample(samples, rate):
    """Brings samples to RATE by a windowed sinc, 16 zero crossings to either side (Smith, "Digital Audio Resampling")."""
    if rate == RATE or not samples:
        return samples
    step = rate / RATE
    cutoff = 0.95 * min(1.0, 1 / step)
    reach = 16 / cutoff

    def kernel(x):
        window = 0.5 + 0.5 * math.cos(math.pi * x / reach)
        return cutoff * window * (math.sin(math.pi * cutoff * x) / (math.pi * cutoff * x) if x else 1.0)

    # The places between two samples repeat, so each row of the filter is computed once.
    whole = math.gcd(rate, RATE)
    rows = []
    for phase in range(RATE // whole):
        fraction = phase * step % 1.0
        first = math.ceil(fraction - reach)
        rows.append([kernel(fraction - tap) for tap in range(first, math.floor(fraction + reach) + 1)])
        rows[-1].insert(0, first)
    edge = math.ceil(reach) + 1
    padded = [0.0] * edge + samples + [0.0] * (edge + 1)
    result = []
    for index in range(len(samples) * RATE // rate):
        centre = index * rate // RATE
        first, *taps = rows[index % len(rows)]
        start = edge + centre + first
        result.append(sum(map(float.__mul__, taps, padded[start : start + len(taps)])))
    return result


def at_peak(samples, peak):
    loudest = max(map(abs, samples), default=0.0)
    return [sample * peak / loudest for sample in samples] if loudest else samples


def power(samples):
    return sum(sample * sample for sample in samples) / max(1, len(samples))


def low_pass(samples, hertz):
    """One pole, run twice so that the slope is 12 dB an octave."""
    keep = math.exp(-2 * math.pi * hertz / RATE)
    for _ in range(2):
        last = 0.0
        out = []
        for sample in samples:
            last += (1 - keep) * (sample - last)
            out.append(last)
        samples = out
    return samples


def hiss(count, dice):
    return [dice.uniform(-1.0, 1.0) for _ in range(count)]


def hum(count, hertz, strengths, dice):
    """A tone and its overtones, each beginning anywhere in its period."""
    total = [0.0] * count
    for number, strength in enumerate(strengths, 1):
        turn, start = 2 * math.pi * hertz * number / RATE, dice.uniform(0, 2 * math.pi)
        total = [sum_ + strength * math.sin(start + turn * i) for i, sum_ in enumerate(total)]
    return total


def drum(count, dice):
    """A tumbling drum: motor hum at mains frequency, rumble, and clothes that fall once a turn."""
    motor = hum(count, 60, [0.5, 1.0, 0.3, 0.6, 0.2, 0.2], dice)
    rumble = at_peak(low_pass(hiss(count, dice), 250), 2.0)
    turn = RATE * 60 // 50  # 50 turns a minute
    start = dice.randrange(turn)
    rhythm = [1.0 + 1.5 * math.exp(-((i + start) % turn) / (0.08 * RATE)) for i in range(count)]
    return [m + r * beat for m, r, beat in zip(motor, rumble, rhythm)]


def fan(count, dice):
    """A fan: air, and the tone of its blades."""
    air = at_peak(low_pass(hiss(count, dice), 900), 1.0)
    blades = hum(count, 145, [0.15, 0.08, 0.04], dice)
    return [a + b for a, b in zip(air, blades)]


def water(count, dice):
    """Running water: bright hiss that swells and falls a little."""
    bright = hiss(count, dice)
    dull = low_pass(bright, 500)
    swell, phase = 2 * math.pi * 1.7 / RATE, dice.uniform(0, 2 * math.pi)
    return [(b - d) * (1 + 0.3 * math.sin(phase + swell * i)) for i, (b, d) in enumerate(zip(bright, dull))]


NOISES = {"drum": drum, "fan": fan, "water": water}


def add_noise(samples, speech_power, named, seed):
    """Lays noise under samples, so many decibels below the power of the words."""
    kind, _, decibels = named.partition(":")
    if kind not in NOISES or not re.fullmatch(r"-?\d+(\.\d+)?", decibels):
        raise Wrong(f"noise \"{named}\" is not KIND:DECIBELS with one of {', '.join(NOISES)}")
    noise = NOISES[kind](len(samples), random.Random(seed))
    gain = math.sqrt(speech_power / power(noise) / 10 ** (float(decibels) / 10))
    return [sample + gain * n for sample, n in zip(samples, noise)]


def render(say):
    """The samples of an utterance."""
    with tempfile.TemporaryDirectory() as folder:
        path = str(pathlib.Path(folder) / "spoken.wav")
        speak(say, path)
        spoken, rate = read_wav(path)
    # Silence of the synthesiser's own at both ends gives way to ours.
    loud = [i for i, sample in enumerate(spoken) if abs(sample) > 0.005]
    if not loud:
        raise Wrong(f"\"{say['text']}\" gave no sound")
    words = at_peak(resample(spoken[loud[0] : loud[-1] + 1], rate), PEAK)
    edge = [0.0] * round(EDGE_S * RATE)
    samples = edge + words + edge
    if "noise" in say:
        samples = add_noise(samples, power(words), say["noise"], say["file"] + say["text"])
    # Only noise can push the sum beyond full scale.
    return at_peak(samples, 0.98) if max(map(abs, samples)) > 0.98 else samples


def write(samples, path):
    """Writes a WAV, or a FLAC by the `flac` program."""
    data = array.array("h", (round(sample * 32767) for sample in samples))
    if sys.byteorder == "big":
        data.byteswap()
    with tempfile.TemporaryDirectory() as folder:
        wav = path if path.suffix == ".wav" else pathlib.Path(folder) / "spoken.wav"
        with wave.open(str(wav), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE)
            file.writeframes(data.tobytes())
        if path.suffix == ".flac":
            run("flac", "--silent", "--force", "--best", "--no-padding", "-o", str(path), str(wav))
        elif path.suffix != ".wav":
            raise Wrong(f"file \"{path.name}\" ends neither in .flac nor in .wav")


def check(say, place):
    """Fails unless an utterance has what it needs."""
    for key in ("file", "text", "voice"):
        if not isinstance(say.get(key), str) or not say[key].strip():
            raise Wrong(f"{place}: `{key}` is missing; it is a text in quotes")
    if "/" in say["file"]:
        raise Wrong(f"{place}: file \"{say['file']}\" must lie beside job.toml")


def make(folder, force):
    """Speaks the utterances of one job; gives how many were spoken and how many were there already."""
    job = folder / "job.toml"
    try:
        says = tomllib.loads(job.read_text(encoding="utf-8")).get("say", [])
    except OSError as error:
        raise Wrong(f"{job}: {error.strerror}") from None
    except tomllib.TOMLDecodeError as error:
        raise Wrong(f"{job}: {error}") from None
    # What each file was made from, so that only what has changed is spoken anew.
    record = folder / "spoken.json"
    before = json.loads(record.read_text()) if record.exists() and not force else {}
    now = {}
    spoken = 0
    for number, say in enumerate(says, 1):
        check(say, f"{job}, say {number}")
        asked = {key: say[key] for key in ("text", "voice", "rate", "pitch", "noise") if key in say}
        print_ = hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()[:16]
        if now.setdefault(say["file"], print_) != print_:
            raise Wrong(f"{job}, say {number}: file \"{say['file']}\" is used for two different utterances")
        path = folder / say["file"]
        if before.get(say["file"]) == print_ and path.exists():
            continue
        try:
            write(render(say), path)
        except Wrong as error:
            raise Wrong(f"{job}, say {number} ({say['file']}): {error}") from None
        before[say["file"]] = print_
        spoken += 1
    if says:
        record.write_text(json.dumps(now, indent=1, sort_keys=True) + "\n")
    return spoken, len(says)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("jobs", nargs="+", type=pathlib.Path, help="folders that hold a job.toml")
    parser.add_argument("--force", action="store_true", help="speak also what has not changed")
    arguments = parser.parse_args()
    for folder in arguments.jobs:
        try:
            spoken, all_ = make(folder, arguments.force)
        except Wrong as error:
            sys.exit(f"{error}")
        print(f"{folder}: {spoken} of {all_} utterances spoken")


if __name__ == "__main__":
    main()
