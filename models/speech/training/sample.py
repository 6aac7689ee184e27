"""Draws what is to be spoken: phrases of every rule of the project's grammars, and what is not for us.

    python3 sample.py WORK 60000 --seed 1       # WORK/texts.tsv

A line is a label and what is said, with a tab between. They are the same, but for what is not for us: there the label
is empty. Labels are written as the recogniser reads them: words of words.txt, a comma after a pair of points and after
the word that takes something back.
"""

import argparse
import collections
import pathlib
import random
import re
import tomllib

from abnf import Grammars

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[2]

ONES = "zero one two three four five six seven eight nine".split()
TEENS = "thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
TENS = "thirty forty fifty sixty seventy eighty ninety".split()
LETTERS = "A B C D E F G H I J K L M N O P Q R S T U V W X Y Z".split()
SPELLING = (
    "alpha bravo charlie delta echo foxtrot golf hotel india juliet kilo lima mike november oscar papa quebec romeo "
    "sierra tango uniform victor whiskey x-ray yankee zulu"
).split()
# The points of the modular ice maker, letter and word, as often as all others together.
USUAL = [(letter, SPELLING[LETTERS.index(letter)]) for letter in "LNMHTV"]
UNITS = "ohms ohms ohms ohms kilohms kilohms kilohms k k megohms meg volts volts millivolts amps milliamps degrees".split()
SHORT = (
    "yes no yes no yes no stop hold ready done next wait back skip why correct wrong right repeat closed open continuity "
    "overload infinite beep nothing note help status resume undo okay finished negative affirm unstable drifting"
).split()


class Models:
    """What the appliance models let one say: points, choices, parts with a plate."""

    def __init__(self, folder):
        self.points, self.choices, self.parts = [], [], []
        for path in sorted(folder.glob("*.toml")):
            model = tomllib.loads(path.read_text())
            points = [say for point in model["point"] for say in point["say"]]
            self.points.append(points)
            self.parts += [say for part in model["part"] for say in part.get("say", [])]
            self._choices(model)

    def _choices(self, tree):
        """Every list of ways to say something, wherever it stands, but points and parts."""
        if isinstance(tree, list):
            for item in tree:
                self._choices(item)
        elif isinstance(tree, dict):
            for key, value in tree.items():
                if key == "say" and isinstance(value, list):
                    self.choices += value
                elif key not in ("point", "part"):
                    self._choices(value)


class Sampler:
    """Draws labelled phrases."""

    def __init__(self, seed):
        self.random = random.Random(seed)
        self.grammars = Grammars([ROOT / "grammars", HERE])
        self.models = Models(ROOT / "models" / "appliances")
        self.words = (HERE.parent / "words.txt").read_text().split()
        self.known = set(self.words)
        self.met = collections.Counter()
        self.situation = {
            "point": lambda random: self.point().split(),
            "pair": lambda random: self.pair().split(),
            "unit": lambda random: self.grammars.draw(random, "units.abnf", "unit"),
            "continuity": lambda random: self.grammars.draw(random, "reading.abnf", "continuity"),
            "choice": lambda random: random.choice(self.models.choices).split(),
            "rated": lambda random: random.choice(self.models.parts).split(),
            "named": lambda random: random.choice(self.models.choices).split(),
            "trouble": lambda random: self.grammars.draw(random, "answers.abnf", "trouble"),
        }

    # Points and numbers.

    def point(self):
        kind = self.random.random()
        if kind < 0.5:
            letter, word = self.random.choice(USUAL)
            return letter if self.random.random() < 0.65 else word
        if kind < 0.62:
            place = self.random.randrange(26)
            return self.random.choice([LETTERS, SPELLING])[place]
        return self.random.choice(self.random.choice(self.models.points))

    def pair(self):
        """Two points; M and N often together, since each is heard for the other."""
        kind = self.random.random()
        if kind < 0.2:
            a, b = self.random.choice([("M", "N"), ("N", "M"), ("M", "H"), ("N", "H"), ("L", "M"), ("L", "N"), ("T", "N"), ("M", "T")])
        elif kind < 0.6:
            (a, word), (b, other) = self.random.sample(USUAL, 2)
            if self.random.random() < 0.35:
                a, b = word, other
        elif kind < 0.85:
            points = self.random.choice(self.models.points)
            a, b = self.random.sample(points, 2) if len(points) > 1 else (self.point(), self.point())
        else:
            a, b = self.point(), self.point()
        return f"{a} {'and' if self.random.random() < 0.06 else 'to'} {b}"

    def below_hundred(self, number):
        tens, ones = divmod(number, 10)
        if number < 13:
            return "zero one two three four five six seven eight nine ten eleven twelve".split()[number]
        if number < 20:
            return TEENS[number - 13]
        return " ".join(["twenty", *TENS][tens - 2 :][:1] + ([ONES[ones]] if ones else []))

    def digits(self, least, most):
        """Digits one by one, often the same one twice or three times."""
        row = []
        for _ in range(self.random.randint(least, most)):
            if row and self.random.random() < 0.25:
                row.append(row[-1])
            else:
                row.append("oh" if self.random.random() < 0.03 else self.random.choice(ONES))
        if row[0] == "oh":
            row[0] = "zero"
        return " ".join(row)

    def number(self):
        """A number from the classes that are easily confused, or any that the grammar allows."""
        pick = self.random
        kind = pick.random()
        if kind < 0.35:
            return " ".join(self.grammars.draw(pick, "number.abnf"))
        if kind < 0.47:
            return pick.choice(TEENS + TENS)
        if kind < 0.53:
            return f"{pick.choice(ONES[1:])} {pick.choice(TEENS + TENS)}"
        if kind < 0.60:
            return f"{pick.choice(ONES[1:])} {self.below_hundred(pick.randint(10, 99))}"
        if kind < 0.66:
            return f"{self.below_hundred(pick.randint(1, 99))} hundred" + (
                f" {'and ' if pick.random() < 0.5 else ''}{self.below_hundred(pick.randint(1, 99))}" if pick.random() < 0.4 else ""
            )
        if kind < 0.71:
            return self.below_hundred(pick.randint(1, 99)) + " thousand"
        if kind < 0.88:
            whole = pick.choice(ONES) if pick.random() < 0.5 else self.below_hundred(pick.randint(10, 99))
            return f"{whole} point " + self.digits(1, pick.choice([1, 1, 1, 2, 2, 3]))
        if kind < 0.95:
            return pick.choice(ONES[1:]) + " " + self.digits(1, 4)
        if kind < 0.98:
            return self.below_hundred(pick.randint(0, 99))
        return pick.choice(["minus ", "negative "]) + self.below_hundred(pick.randint(1, 99))

    # Phrases, by kind.

    def reading(self):
        number = self.number()
        unit = self.random.random()
        if unit < 0.6:
            number += " " + self.random.choice(UNITS)
        elif unit < 0.88:
            number += " " + " ".join(self.grammars.draw(self.random, "units.abnf"))
        return f"{self.pair()}, {number}" if self.random.random() < 0.5 else number

    def rule(self, file, name=None):
        """A phrase of a rule, with its commas."""

        def commas(file, name, words):
            if (file, name) == ("situation.abnf", "pair"):
                return [*words[:-1], words[-1] + ","]
            if (file, name) == ("reading.abnf", "but"):
                return [",", *words]
            if name in ("correction", "rescale") and len(words) > 1 and words[0] in ("no", "correction"):
                return [words[0] + ",", *words[1:]]
            return words

        words = self.grammars.draw(self.random, file, name, self.situation, commas)
        text = " ".join(words).replace(" ,", ",").replace(",,", ",")
        return text.rstrip(",")

    def plate(self):
        """Letters by name, by spelling word or by both in turns, and digits; the letters of points and those that are heard
        for each other most often."""
        signs = []
        words = self.random.choice([0.0, 0.0, 1.0, 0.5])
        letters = self.random.choice([LETTERS, LETTERS, "LNMHTV", "MNFSBDPTVECGZAJKIYUQ"])
        for _ in range(self.random.choice([1, 1, 2, 3, 3, 4, 4, 5, 6, 7, 8])):
            if self.random.random() < 0.62:
                letter = self.random.choice(letters)
                signs.append(SPELLING[LETTERS.index(letter)] if self.random.random() < words else letter)
            else:
                signs.append(self.random.choice(ONES))
        return ("enter " if self.random.random() < 0.08 else "") + " ".join(signs)

    def rare(self, most=4):
        """Known words in any order, those least met first, so that none is new to the weights."""
        count = self.random.randint(1, most)
        chosen = []
        for _ in range(count):
            some = self.random.sample(self.words, 6)
            chosen.append(min(some, key=lambda word: self.met[word]))
        return " ".join(chosen)

    def unfinished(self):
        """A reading that breaks off: what was said so far is what should be written."""
        words = self.reading().split()
        return " ".join(words[: self.random.randint(1, max(len(words) - 1, 1))]).rstrip(",")

    def remark(self):
        """A phrase with at least one word that is not known."""
        while True:
            words = self.grammars.draw(self.random, "remarks.abnf")
            if any(word not in self.known for word in words):
                return " ".join(words)

    def _kind(self):
        return self.random.choices(
            [
                self.reading,
                lambda: self.rule("reading.abnf", "report"),
                lambda: self.rule("reading.abnf", "value"),
                lambda: self.rule("reading.abnf", "correction"),
                lambda: self.rule("confirm.abnf"),
                lambda: self.rule("acknowledge.abnf"),
                lambda: self.rule("anytime.abnf"),
                lambda: self.rule("answers.abnf", "done"),
                lambda: self.rule(self.random.choice(["step.abnf", "yes-no.abnf", "opening.abnf", "observe.abnf"])),
                lambda: self.rule("answers.abnf", self.random.choice(["control", "trouble"])),
                lambda: self.rule("digits.abnf", "digits"),
                lambda: self.digits(2, 10),
                self.plate,
                lambda: self.rule("plate.abnf", "plate"),
                lambda: self.random.choice(SHORT),
                lambda: self.random.choice(ONES + TEENS + TENS + LETTERS + SPELLING),
                lambda: self.random.choice(self.models.choices),
                lambda: self.random.choice(self.models.parts),
                lambda: self.rule("more.abnf"),
                self.unfinished,
                self.rare,
                lambda: self.rare(1),
            ],
            [24, 5, 4, 5, 4, 8, 5, 2, 2, 1, 4, 5, 10, 3, 8, 7, 5, 1, 6, 2, 4, 3],
        )[0]

    def __call__(self):
        """A label and what is said."""
        if self.random.random() < 0.13:
            return "", self.remark()
        text = self._kind()()
        words = re.findall(r"[^\s,]+", text)
        unknown = [word for word in words if word not in self.known]
        if unknown:
            raise ValueError(f"words.txt lacks {unknown}, of `{text}`")
        self.met.update(words)
        return text, text


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("work", type=pathlib.Path)
    parser.add_argument("count", type=int)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    sampler = Sampler(arguments.seed)
    arguments.work.mkdir(parents=True, exist_ok=True)
    lines = ["\t".join(sampler()) for _ in range(arguments.count)]
    (arguments.work / "texts.tsv").write_text("\n".join(lines) + "\n")
    never = [word for word in sampler.words if not sampler.met[word]]
    print(f"{len(lines)} phrases, {len(set(lines))} of them different; words never met: {never or 'none'}")
    print("least met:", *(f"{word} {count}" for word, count in sampler.met.most_common()[-12:]))


if __name__ == "__main__":
    main()
