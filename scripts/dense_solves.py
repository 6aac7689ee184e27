"""Solves exported circuits with numpy and scipy, for `make bench-circuit`.

    dense_solves.py FOLDER ROUNDS

Reads every FOLDER/*.cir, writes its nodal matrix, and solves each with one column a node, ROUNDS times. Prints seconds a
solve: numpy one matrix at a time, numpy all matrices of a size in one call, scipy one at a time; and the largest relative
difference from the answers in FOLDER/*.shown.
"""

import cmath
import json
import math
import pathlib
import sys
import time

import numpy as np


def matrix(text):
    """The nodal matrix, the sources' column, and the two nodes the meter is on."""
    rows, elements, shown, hertz = {"0": None}, [], None, 60.0
    for line in text.splitlines()[1:]:
        words = line.split()
        if line.startswith(".ac"):
            hertz = float(words[3])
        elif line[0] == "E":
            shown = (words[3], words[4])
        elif line[0] in "RLCVI" and words[0] != "Rshown":
            elements.append(words)
    # A coil without inductance is a wire: its inner node is the node behind it.
    same = {words[1]: words[2] for words in elements if words[0][0] == "L" and float(words[3]) == 0}
    elements = [[w[0], same.get(w[1], w[1]), same.get(w[2], w[2]), *w[3:]] for w in elements if w[1] not in same]
    for words in elements:
        for node in words[1:3]:
            rows.setdefault(node, len(rows) - 1)
    sources = [words for words in elements if words[0][0] == "V"]
    size = len(rows) - 1 + len(sources)
    a, right = np.zeros((size, size), complex), np.zeros(size, complex)
    omega, row = 2 * math.pi * hertz, len(rows) - 1
    for words in elements:
        ends = [(rows[words[1]], 1), (rows[words[2]], -1)]
        if words[0][0] == "V":
            for end, sign in ends:
                if end is not None:
                    a[end, row] += sign
                    a[row, end] += sign
            right[row] = cmath.rect(float(words[6]), math.radians(float(words[7])))
            row += 1
            continue
        if words[0][0] == "I":
            for end, sign in ends:
                if end is not None:
                    right[end] -= sign * float(words[6])
            continue
        value = float(words[3])
        y = {"R": lambda: 1 / value, "L": lambda: 1 / (1j * omega * value), "C": lambda: 1j * omega * value}[words[0][0]]()
        for end, sign in ends:
            for other, other_sign in ends:
                if end is not None and other is not None:
                    a[end, other] += y * sign * other_sign
    at = [rows[node] for node in shown]
    return a, right, at


def main():
    folder, rounds = pathlib.Path(sys.argv[1]), int(sys.argv[2])
    worst, matrices, columns = 0.0, [], []
    for file in sorted(folder.glob("*.cir")):
        a, right, at = matrix(file.read_text())
        x = np.linalg.solve(a, right)
        found = abs(sum(sign * (0 if end is None else x[end]) for end, sign in zip(at, (1, -1))))
        ours = float(file.with_suffix(".shown").read_text())
        if math.isfinite(ours):
            worst = max(worst, abs(found - ours) / max(abs(ours), 1.0))
        matrices.append(a)
        columns.append(np.column_stack([np.eye(len(a), dtype=complex), right]))

    def seconds(solve):
        best = math.inf
        for _ in range(rounds):
            begin = time.perf_counter()
            solve()
            best = min(best, time.perf_counter() - begin)
        return best / len(matrices)

    pairs = list(zip(matrices, columns))
    sizes = {len(a) for a in matrices}
    stacks = [tuple(np.stack([p[part] for p in pairs if len(p[0]) == size]) for part in (0, 1)) for size in sizes]
    times = {
        "numpy": seconds(lambda: [np.linalg.solve(a, b) for a, b in pairs]),
        "numpy, stacked": seconds(lambda: [np.linalg.solve(a, b) for a, b in stacks]),
    }
    try:
        from scipy.linalg import solve
        times["scipy"] = seconds(lambda: [solve(a, b, check_finite=False) for a, b in pairs])
    except ImportError:
        pass
    print(json.dumps({"worst": worst, "seconds": times}))


main()
