#!/usr/bin/env python3
"""Speaks what must never be taken for anything, for the bench: remarks, as they are made in a kitchen beside the work, and
after every second one a single word or a pair that only sounds like ours. Sound files and readings.tsv, as make_readings.py
writes them; the grammar is "remark" or "near".

    python3 scripts/make_remarks.py target/remarks [how many remarks] [seed]

None of them was fitted on: the phrases are put together here, the voices are those that the fitting held back.
"""

import pathlib
import random
import sys

from make_readings import FLITE, festival_voices, speak_all

# espeak-ng's plain voice and the variants that the fitting held back (models/speech/training/speak.py).
HELD_BACK = [
    accent + variant
    for accent in ("en-us", "en-gb", "en-gb-scotland", "en-gb-x-rp", "en-us-nyc")
    for variant in ("", "+f2", "+m3", "+f5", "+m7", "+klatt2")
]

WHO = "my mother|the neighbour|our landlord|his brother|the lady upstairs|somebody at work|the plumber|my wife".split("|")
DID = (
    "bought one like that|never liked it|paid a lot for it|wanted a blue one|heard it through the wall|left it running all "
    "night|put the towels in|had it looked at before|read about it in the paper|sold the old one"
).split("|")
WHEN = "last summer|a week ago|before the holidays|in march|on sunday|when we moved in|the other day|this morning".split("|")
THING = "washing machine|freezer|kettle|radio|car|boiler|lawn mower|television|coffee maker|tumble dryer".split("|")
PLACE = "garage|cellar|garden|hallway|kitchen|bathroom|attic|shed".split("|")
ASK = (
    "do you want some tea|have you got far to drive|is it always this cold in here|will you need the ladder|should i move the "
    "car|did you see the dog go out|are you from around here|would you mind the paint|what do i owe you|who made that one"
).split("|")
SENTENCES = [
    "{who} {did} {when}",
    "we keep the {thing} in the {place}",
    "the {thing} in the {place} is older than i am",
    "{ask}",
    "{ask} {when}",
    "i will be in the {place} if you need me",
    "it cost {tens} dollars {when}",
    "there are {ones} of them in the {place}",
    "{who} said it takes {tens} minutes",
    "our {thing} is number {ones} in the street",
    "the children were in the {place} {when}",
    "it was {ones} o'clock when {who} came",
]
ONES = "two three four five six seven eight nine ten eleven twelve".split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
# They rhyme with our words, or begin or end as they do.
NEAR = (
    "home foam roam alms arms storm vault bolts colts dolts lambs clamps stamps chomp shop top stomp stoop step stump snow "
    "though toe so noise yell yeti guess mess chess yeast steady heady teddy dawn dune dunk text necks vexed back black bask "
    "ship slip scoop old bold mould assume presume zoom resort rhyme retreat repel receive statue state stack lathe leave "
    "liver alive dear near steer clean clearing whale wide wire bye buy pie rung song strong wrap lime lemon novice minor hostel "
    "tangle mango vicar victim kilos kiln pilot meagre mega millet villain decent ocean oven token broken closet clothes "
    "clause appoint joint pint pine paint limb minute mint hunter thunder hungry sour our tour poor fort fought await fifer "
    "fix sex sick sticks heaven eleventh agate bait late gate fine wine sign tin pen den hen tray tree free trio true few"
).split()
PAIRS = ["{} and {}", "{} {}", "the {}", "a {} {}", "more {}", "{} please"]


PARTS = {"who": WHO, "did": DID, "when": WHEN, "thing": THING, "place": PLACE, "ask": ASK, "ones": ONES, "tens": TENS}


def remark(draw):
    return draw.choice(SENTENCES).format(**{name: draw.choice(words) for name, words in PARTS.items()})


def near(draw):
    pair = draw.choice(NEAR), draw.choice(NEAR)
    return draw.choice(PAIRS).format(*pair) if draw.random() < 0.5 else pair[0]


def main():
    out = pathlib.Path(sys.argv[1])
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 2000
    seed = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    out.mkdir(parents=True, exist_ok=True)
    voices = [f"espeak:{voice}" for voice in HELD_BACK] + [f"flite:{voice}" for voice in FLITE] * 4 + festival_voices() * 4
    lines, jobs = [], []
    for place in range(count * 3 // 2):
        draw = random.Random(f"{seed} remark {place}")
        kind, make = ("near", near) if place % 3 == 2 else ("remark", remark)
        words, voice, name = make(draw), draw.choice(voices), f"{place:05}.wav"
        jobs.append((voice, words, out / name, draw.random(), draw.random()))
        lines.append(f"{name}\t{voice}\t{kind}\t{words}")
    speak_all(out, jobs, lines)


if __name__ == "__main__":
    main()
