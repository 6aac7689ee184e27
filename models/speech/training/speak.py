"""Speaks drawn phrases in many voices.

    python3 speak.py WORK espeak --count 40000 --seed 1            # WORK/packs/espeak-1-*.npy and .json
    python3 speak.py WORK kokoro --count 400 --seed 9 --held-back  # WORK/held-back/kokoro-9-*: voices never fitted on

Engines: `espeak` (espeak-ng), `kokoro` (Kokoro-82M, ONNX), `piper` (one Piper voice), `flite`, `festival`. The last two
have so few voices that all of theirs are held back. Where the engines' files lie: WORK/engines (fetch.py).
"""

import argparse
import concurrent.futures
import functools
import io
import json
import os
import pathlib
import random
import subprocess
import wave

import numpy as np

import packs

ACCENTS = ["en-us", "en-us-nyc", "en-gb", "en-gb-scotland", "en-gb-x-rp", "en-gb-x-gbclan", "en-gb-x-gbcwmd", "en-029"]
# Those that the bench speaks with are held back.
ESPEAK_HELD_BACK = ["", "+f2", "+m3", "+f5", "+m7", "+klatt2"]
ESPEAK = [
    "+" + name
    for name in (
        "m1 m2 m4 m5 m6 m8 f1 f3 f4 klatt klatt3 klatt4 Alex Alicia Andrea Andy Annie Denis Diogo Gene Gene2 Henrique Hugo "
        "Jacky Lee Marco Mario Michael Mike Nguyen Storm Tweaky adam anika antonio aunty belinda benjamin boris caleb david "
        "ed edward edward2 grandma grandpa gustave iven iven2 john linda marcelo max michel miguel norbert pablo paul pedro "
        "quincy rob robert sandro shelby steph steph2 travis victor zac"
    ).split()
]
# Every fifth by name, as in the first fitting.
KOKORO_HELD_BACK = ["af_alloy", "af_nicole", "am_adam", "am_michael", "bf_emma", "bm_fable"]
FLITE = ["kal", "kal16", "awb", "rms", "slt"]
FESTIVAL = ["kal_diphone", "ked_diphone", "cmu_us_slt_arctic_hts"]
PIPER = "en_US-joe-medium"

# What espeak-ng would say otherwise than people do, in its own phonemes; several ways by turns.
WAYS = {
    "A": ["[[eI]]"],
    "a c": ["[[eI]] C"],
    "k": ["K"],
    "p s i": ["P S I"],
    "kilohms": ["kilohms", "[[k'Il,oUmz]]", "[[k'Il,oUmz]]", "[[k'i:loU ,oUmz]]"],
    "megohms": ["megohms", "megohms", "mega ohms"],
    "microfarads": ["microfarads", "micro farads"],
    "close": ["[[kl'oUz]]"],
}
PACK = 50


def espeak(*arguments):
    command = [os.environ.get("ESPEAK", "espeak-ng"), *arguments]
    return subprocess.run(command, check=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL).stdout


def spoken(draw, words, phonemes=True):
    """How it is written for a synthesiser: letters named, and a pause where the comma stands, or not."""
    if draw.random() < 0.4:
        words = words.replace(",", "")
    text = f" {words} "
    for word, ways in WAYS.items():
        way = draw.choice(ways)
        if not phonemes and "[[" in way:
            way = {"A": "eh", "a c": "eh C"}.get(word, word)
        for mark in (" ", ","):
            text = text.replace(f" {word}{mark}", f" {way}{mark}")
    return text.strip()


def wav(data):
    with wave.open(io.BytesIO(data)) as file:
        rate = file.getframerate()
        frames = file.readframes(min(file.getnframes(), 60 * rate))
    return packs.to_rate(np.frombuffer(frames, "<i2").astype(np.float32) / 32768, rate)


def in_phonemes(text, accent):
    """IPA by espeak-ng; a pause becomes a comma."""
    lines = espeak("-q", "--ipa", "-v", accent, text).decode().split("\n")
    return ", ".join(line.strip() for line in lines if line.strip())


@functools.cache
def session(path):
    """A model, run by onnxruntime on one core."""
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])


@functools.cache
def kokoro(path):
    """Kokoro on the GPU, if there is one: a hundred times quicker than a core."""
    try:
        import torch

        import graph
    except ImportError:
        return session(path)
    torch.set_num_threads(1)
    count = torch.cuda.device_count()
    return graph.Graph(path, f"cuda:{os.getpid() % count}") if count else session(path)


@functools.cache
def style(path):
    """Kokoro's style of a voice, by number of phonemes: 510 rows of 256."""
    return np.fromfile(path, "<f4").reshape(-1, 256)


def accent_for(draw, voice):
    """Mostly the voice's own accent."""
    if draw.random() < 0.25:
        return draw.choice(ACCENTS)
    return "en-gb" if voice.startswith("b") else "en-us"


def speak_espeak(draw, words, engines, held_back):
    voice = draw.choice(ACCENTS) + draw.choice(ESPEAK_HELD_BACK if held_back else ESPEAK)
    speed, pitch = str(draw.randint(110, 200)), str(draw.randint(15, 85))
    return wav(espeak("-v", voice, "-s", speed, "-p", pitch, "--stdout", spoken(draw, words))), voice


def blended(draw, voices, row, half):
    """One half of a style vector, of one voice or of two or three blended: what lies between voices is a voice too."""
    chosen = draw.sample(voices, draw.choice([1, 2, 2, 3]))
    shares = np.array([draw.expovariate(1) + 0.05 for _ in chosen])
    shares /= shares.sum()
    part = sum(share * style(path)[row][half] for share, path in zip(shares, chosen))
    return part, "+".join(path.stem for path in chosen)


def speak_kokoro(draw, words, engines, held_back):
    """The first half of a style is the throat, the second the manner of speaking. What is fitted on has each of its own blend,
    the manner mostly of English voices; the throats are those of every language that Kokoro speaks."""
    every = sorted((engines / "kokoro").glob("[a-z][fm]_*.bin"))
    english = [path for path in every if path.stem[0] in "ab" and (path.stem in KOKORO_HELD_BACK) == held_back]
    fitted = [path for path in every if path.stem not in KOKORO_HELD_BACK]
    first = draw.choice(english)
    text = in_phonemes(spoken(draw, words), accent_for(draw, first.stem))
    vocabulary = json.loads((engines / "kokoro" / "config.json").read_text())["vocab"]
    numbers = [vocabulary[sign] for sign in text if sign in vocabulary][:500]
    row, speed = len(numbers), draw.uniform(0.75, 1.25)
    voice, vector = first.stem, style(first)[row]
    if not held_back and draw.random() < 0.8:
        throat, throats = blended(draw, fitted if draw.random() < 0.6 else english, row, slice(128))
        manner, manners = blended(draw, fitted if draw.random() < 0.25 else english, row, slice(128, 256))
        voice, vector = f"{throats}/{manners}", np.concatenate([throat, manner])
        speed = draw.uniform(0.7, 1.35)
    model = kokoro(engines / "kokoro" / "kokoro.onnx")
    values = (np.array([[0, *numbers, 0]]), vector[None].astype(np.float32), np.array([speed], np.float32))
    given = dict(zip((slot.name for slot in model.get_inputs()), values))
    return packs.to_rate(model.run(None, given)[0].ravel(), 24_000), voice


def speak_piper(draw, words, engines, held_back):
    model = session(engines / "piper" / f"{PIPER}.onnx")
    settings = json.loads((engines / "piper" / f"{PIPER}.onnx.json").read_text())
    of_sign = settings["phoneme_id_map"]
    text = in_phonemes(spoken(draw, words), accent_for(draw, PIPER))
    numbers = of_sign["^"] + of_sign["_"]
    for sign in text:
        if sign in of_sign:
            numbers += of_sign[sign] + of_sign["_"]
    numbers += of_sign["$"]
    scales = [draw.uniform(0.5, 0.9), draw.uniform(0.8, 1.3), draw.uniform(0.6, 1.0)]
    given = {
        "input": np.array([numbers]),
        "input_lengths": np.array([len(numbers)]),
        "scales": np.array(scales, np.float32),
    }
    return packs.to_rate(model.run(None, given)[0].ravel(), settings["audio"]["sample_rate"]), PIPER


def speak_flite(draw, words, engines, held_back):
    voice, stretch = draw.choice(FLITE), f"duration_stretch={draw.uniform(0.85, 1.2):.2f}"
    path = f"/tmp/flite-{os.getpid()}.wav"
    command = ["flite", "-voice", voice, "--setf", stretch, "-t", spoken(draw, words, phonemes=False), "-o", path]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return wav(pathlib.Path(path).read_bytes()), voice


def speak_festival(draw, words, engines, held_back):
    voice = draw.choice(FESTIVAL)
    settings = f"(begin (voice_{voice}) (Parameter.set 'Duration_Stretch {draw.uniform(0.85, 1.2):.2f}))"
    text = spoken(draw, words, phonemes=False).encode()
    done = subprocess.run(["text2wave", "-eval", settings], input=text, check=True, capture_output=True)
    return wav(done.stdout), voice


ENGINES = {
    "espeak": speak_espeak,
    "kokoro": speak_kokoro,
    "piper": speak_piper,
    "flite": speak_flite,
    "festival": speak_festival,
}


def pack(job):
    """Speaks the phrases of one pack; a phrase that an engine cannot speak is left out."""
    work, engine, seed, number, held_back, phrases = job
    draw, clips = random.Random(f"{engine} {seed} {number}"), []
    for label, words in phrases:
        try:
            samples, voice = ENGINES[engine](draw, words, work / "engines", held_back)
        except (subprocess.CalledProcessError, RuntimeError, EOFError, wave.Error):
            continue
        samples = packs.trim(samples)
        if packs.RATE // 8 < len(samples) < 9 * packs.RATE:
            clips.append((packs.level(samples), label, f"{engine}:{voice}"))
    folder = work / ("held-back" if held_back else "packs")
    packs.write(folder / f"{engine}-{seed}-{number:04}", clips)
    return len(clips), sum(len(samples) for samples, _, _ in clips) / packs.RATE


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("work", type=pathlib.Path)
    parser.add_argument("engine", choices=ENGINES)
    parser.add_argument("--count", type=int, required=True)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=os.cpu_count())
    parser.add_argument("--held-back", action="store_true", help="in the voices that are never fitted on")
    arguments = parser.parse_args()
    held_back = arguments.held_back or arguments.engine in ("flite", "festival")
    lines = (arguments.work / "texts.tsv").read_text().splitlines()
    lines = random.Random(f"{arguments.engine} {arguments.seed}").choices(lines, k=arguments.count)
    phrases = [tuple(line.split("\t")) for line in lines]
    jobs = [
        (arguments.work, arguments.engine, arguments.seed, number, held_back, phrases[at : at + PACK])
        for number, at in enumerate(range(0, len(phrases), PACK))
    ]
    count = seconds = 0
    with concurrent.futures.ProcessPoolExecutor(arguments.jobs) as pool:
        for clips, length in pool.map(pack, jobs):
            count, seconds = count + clips, seconds + length
            print(f"{arguments.engine}: {count} clips, {seconds / 3600:.2f} hours", flush=True)


if __name__ == "__main__":
    main()
