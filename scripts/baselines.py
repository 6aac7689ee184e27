#!/usr/bin/env python3
"""The systems in Python that `make bench-hear` compares with, in the bench's protocol: a request a line (file, grammar,
prompt, tabs between), an answer a line as JSON (milliseconds, text). Only the recogniser is timed.

    baselines.py faster-whisper FOLDER      weights in CTranslate2's format; int8, beam of 5, a prompt
    baselines.py pocketsphinx FOLDER        its own en-us model; GRAMMAR.fsg lie in the folder
"""

import json
import os
import pathlib
import sys
import time
import wave


class FasterWhisper:
    def __init__(self, folder):
        from faster_whisper import WhisperModel

        threads = min(os.cpu_count() or 1, 4)
        self.model = WhisperModel(folder, device="cpu", compute_type="int8", cpu_threads=threads, local_files_only=True)

    def hear(self, samples, grammar, prompt):
        import numpy

        sound = numpy.frombuffer(samples, dtype="<i2").astype("float32") / 32768
        begin = time.perf_counter()
        segments, _ = self.model.transcribe(
            sound,
            language="en",
            beam_size=5,
            initial_prompt=prompt,
            without_timestamps=True,
            condition_on_previous_text=False,
            temperature=0,
        )
        return " ".join(segment.text for segment in segments), begin


# Words that its dictionary lacks, in its phones; the pronunciations are ours.
PRONOUNCED = {
    "amps": "AE M P S",
    "bimetal": "B AY M EH T AH L",
    "kilohms": "K IH L OW M Z",
    "megohms": "M EH G OW M Z",
    "microfarads": "M AY K R OW F EH R AE D Z",
    "milliamps": "M IH L IY AE M P S",
    "millivolts": "M IH L IY V OW L T S",
}


class PocketSphinx:
    def __init__(self, folder):
        from pocketsphinx import Decoder

        self.decoders = {}
        for path in sorted(pathlib.Path(folder).glob("*.fsg")):
            decoder = Decoder(lm=None, loglevel="FATAL")
            words = {line.split()[4] for line in path.read_text().splitlines() if len(line.split()) == 5}
            for word in sorted(words):
                if decoder.lookup_word(word) is None:
                    if word not in PRONOUNCED:
                        # The bench reads this where it waits for "ready".
                        print(f"no pronunciation for {word}", flush=True)
                        sys.exit(1)
                    decoder.add_word(word, PRONOUNCED[word], True)
            decoder.add_fsg(path.stem, decoder.read_fsg(str(path)))
            decoder.activate_search(path.stem)
            self.decoders[path.stem] = decoder

    def hear(self, samples, grammar, prompt):
        decoder = self.decoders[grammar]
        begin = time.perf_counter()
        decoder.start_utt()
        decoder.process_raw(samples, full_utt=True)
        decoder.end_utt()
        best = decoder.hyp()
        return best.hypstr if best else "", begin


def main():
    system = {"faster-whisper": FasterWhisper, "pocketsphinx": PocketSphinx}[sys.argv[1]](sys.argv[2])
    print("ready", flush=True)
    for line in sys.stdin:
        path, grammar, prompt = line.rstrip("\n").split("\t")
        with wave.open(path) as file:
            samples = file.readframes(file.getnframes())
        text, begin = system.hear(samples, grammar, prompt)
        print(json.dumps({"ms": (time.perf_counter() - begin) * 1e3, "text": text}), flush=True)


if __name__ == "__main__":
    main()
