"""All clips on the device, and batches drawn from them by group."""

import re

import numpy as np
import torch

import packs

# How often each group of packs is drawn. A group that is not there yet is left out.
SHARES = {
    "kokoro": 0.42,
    "espeak": 0.15,
    "piper": 0.05,
    "numbers": 0.11,  # people
    "letters": 0.11,  # people
    "words": 0.10,  # people
    "spliced": 0.06,  # people
}
MOST_TOKENS = 46


def tokens_of(label, vocabulary):
    """The tokens that a label is written with; "nothing for us" for none."""
    if not label:
        return [vocabulary["nothing"]]
    pieces = re.findall(r",|[^\s,]+", label)
    return [token for piece in pieces for token in ([vocabulary["comma"]] if piece == "," else vocabulary["words"][piece])]


class Clips:
    """Samples of every clip in one row on the device; grows as packs appear in the folder."""

    def __init__(self, folder, vocabulary, device):
        self.folder, self.vocabulary, self.device = folder, vocabulary, device
        self.met, self.groups = set(), {}
        self.samples = torch.zeros(0, dtype=torch.int16, device=device)
        self.start, self.length, self.rows, self.labels, self.voices = [], [], [], [], []

    def look(self):
        """Takes in packs that are new. True if there were any."""
        new = [path for path in sorted(self.folder.glob("*.json")) if path.name not in self.met]
        parts, base = [self.samples], len(self.samples)
        for path in new:
            self.met.add(path.name)
            samples, entries = packs.read(path)
            group = self.groups.setdefault(path.name.split("-")[0], [])
            for entry in entries:
                tokens = tokens_of(entry["label"], self.vocabulary)
                if len(tokens) > MOST_TOKENS or not packs.RATE // 10 < entry["length"] < 8.5 * packs.RATE:
                    continue
                group.append(len(self.start))
                self.start.append(base + entry["start"])
                self.length.append(entry["length"])
                self.rows.append(tokens)
                self.labels.append(entry["label"])
                self.voices.append(entry["voice"])
            parts.append(torch.from_numpy(samples).to(self.device))
            base += len(samples)
        if new:
            self.samples = torch.cat(parts)
            self.starts = torch.tensor(self.start, device=self.device)
            self.lengths = torch.tensor(self.length, device=self.device)
        return bool(new)

    def draw(self, draw, count):
        """Numbers of clips."""
        names = [name for name in SHARES if self.groups.get(name)]
        shares = np.array([SHARES[name] for name in names])
        counts = draw.multinomial(count, shares / shares.sum())
        return np.concatenate([draw.choice(self.groups[name], n) for name, n in zip(names, counts)])

    def targets(self, numbers, silent):
        """What is fed and what should be written, (batch, length) each; rows of `silent` are "nothing for us"."""
        nothing = [self.vocabulary["nothing"]]
        rows = [nothing if quiet else self.rows[number] for number, quiet in zip(numbers, silent)]
        longest = max(map(len, rows)) + 1
        fed = np.full((len(rows), longest + 1), self.vocabulary["end"])
        wanted = np.full((len(rows), longest + 1), -100)
        fed[:, 0], fed[:, 1] = self.vocabulary["start"], self.vocabulary["no-timestamps"]
        for place, row in enumerate(rows):
            fed[place, 2 : 2 + len(row)] = row
            wanted[place, 1 : 1 + len(row)] = row
            wanted[place, 1 + len(row)] = self.vocabulary["end"]
        return torch.from_numpy(fed).to(self.device), torch.from_numpy(wanted).to(self.device)
