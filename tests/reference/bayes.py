"""Compares posteriors with pyAgrum's exact inference (LazyPropagation).

Reads a JSON list of networks from standard input, prints how many agree to six decimals, and exits with 1 if one does
not, with 77 if pyagrum is not installed. A network has one cause with a prior, and children:
  outcomes + seen      the table of an observation under each state of the cause, and which outcome was seen;
  findings + weights   the probability of each heard finding under each state, and how probably it was meant.
"""

import json
import sys

try:
    import pyagrum as gum
except ImportError:
    sys.exit(77)

WRONG_READING = 0.03  # the share of observations that say nothing, as in src/diagnose/likelihood.rs


def posterior(network):
    prior = network["prior"]
    bn = gum.BayesNet()
    cause = bn.add(gum.LabelizedVariable("cause", "", len(prior)))
    bn.cpt(cause)[:] = prior
    hard, soft = {}, {}
    for index, child in enumerate(network["children"]):
        name = f"finding{index}"
        if "outcomes" in child:
            tables = child["outcomes"]
            count = len(tables[0])
            node = bn.add(gum.LabelizedVariable(name, "", count))
            bn.addArc(cause, node)
            for state, table in enumerate(tables):
                total = sum(table)
                mixed = [(1 - WRONG_READING) * p / total + WRONG_READING / count for p in table]
                bn.cpt(node)[{"cause": state}] = mixed
            hard[name] = child["seen"]
        else:
            # One state for each thing that may have been found, one for everything else; what was heard is virtual
            # evidence on it (Pearl 1988).
            rows, weights = child["findings"], child["weights"]
            scale = 1.0 / max(1.0, *(sum(column) for column in zip(*rows)))
            node = bn.add(gum.LabelizedVariable(name, "", len(rows) + 1))
            bn.addArc(cause, node)
            for state in range(len(prior)):
                column = [row[state] * scale for row in rows]
                bn.cpt(node)[{"cause": state}] = column + [1.0 - sum(column)]
            soft[name] = weights + [0.0]
    inference = gum.LazyPropagation(bn)
    inference.setEvidence({**hard, **soft})
    inference.makeInference()
    return inference.posterior(cause).tolist()


def main():
    networks = json.load(sys.stdin)
    apart = 0
    for number, network in enumerate(networks):
        theirs, ours = posterior(network), network["posterior"]
        worst = max(abs(a - b) for a, b in zip(theirs, ours, strict=True))
        if worst > 5e-7:
            apart += 1
            print(f"network {number}: {worst:.2e} apart\n  theirs {theirs}\n  ours   {ours}")
    if apart:
        sys.exit(1)
    print(f"{len(networks)} networks agree to 6 decimals")


main()
