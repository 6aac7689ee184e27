"""Compares posteriors with exact inference of another library.

    bayes.py pyagrum|pgmpy         compares
    bayes.py pyagrum|pgmpy ROUNDS  prints the seconds of one posterior, the network being built, instead

Reads a JSON list of networks from standard input, prints how many agree to six decimals, and exits with 1 if one does
not, with 77 if the library is not installed. A network has two causes with a prior each, what is wrong with the machine
and how the meter stands, and children:
  outcomes + seen      the table of an observation under each state of the machine, and which outcome was seen;
                       wrong is the share of observations that say nothing;
  findings + weights   the probability of each heard finding under each state of the meter and of the machine, and how
                       probably it was meant.
"""

import json
import sys
import time


def tables(network):
    """Every child as its table (outcome, meter, machine) and the evidence on it, soft where it has several states."""
    meters, machines = len(network["meter"]), len(network["prior"])
    for child in network["children"]:
        if "outcomes" in child:
            count, wrong = len(child["outcomes"][0]), child["wrong"]
            column = [[(1 - wrong) * p / sum(t) + wrong / count for p in t] for t in child["outcomes"]]
            table = [[[column[h][o] for h in range(machines)] for _ in range(meters)] for o in range(count)]
            yield table, [float(o == child["seen"]) for o in range(count)]
        else:
            # One state for each thing that may have been found, one for everything else; what was heard is virtual
            # evidence on it (Pearl 1988).
            rows = child["findings"]
            columns = [[[row[m][h] for row in rows] for h in range(machines)] for m in range(meters)]
            scale = 1.0 / max(1.0, *(sum(c) for meter in columns for c in meter))
            table = [[[p * scale for p in meter] for meter in row] for row in rows]
            rest = [[1.0 - scale * sum(columns[m][h]) for h in range(machines)] for m in range(meters)]
            yield table + [rest], child["weights"] + [0.0]


def pyagrum(network):
    import pyagrum as gum

    bn = gum.BayesNet()
    machine = bn.add(gum.LabelizedVariable("machine", "", len(network["prior"])))
    meter = bn.add(gum.LabelizedVariable("meter", "", len(network["meter"])))
    bn.cpt(machine)[:] = network["prior"]
    bn.cpt(meter)[:] = network["meter"]
    evidence = {}
    for index, (table, seen) in enumerate(tables(network)):
        node = bn.add(gum.LabelizedVariable(f"finding{index}", "", len(table)))
        bn.addArc(machine, node)
        bn.addArc(meter, node)
        for m in range(len(network["meter"])):
            for h in range(len(network["prior"])):
                bn.cpt(node)[{"machine": h, "meter": m}] = [row[m][h] for row in table]
        evidence[f"finding{index}"] = seen

    def infer():
        inference = gum.LazyPropagation(bn)
        inference.setEvidence(evidence)
        inference.makeInference()
        return inference.posterior(machine).tolist()

    return infer


def pgmpy(network):
    import numpy as np
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

    bn = DiscreteBayesianNetwork()
    bn.add_nodes_from(["machine", "meter"])
    column = lambda values: np.array(values).reshape(-1, 1)
    bn.add_cpds(
        TabularCPD("machine", len(network["prior"]), column(network["prior"])),
        TabularCPD("meter", len(network["meter"]), column(network["meter"])),
    )
    hard, soft = {}, []
    cards = [len(network["meter"]), len(network["prior"])]
    for index, (table, seen) in enumerate(tables(network)):
        name = f"finding{index}"
        bn.add_edges_from([("meter", name), ("machine", name)])
        values = np.array(table).reshape(len(table), -1)
        bn.add_cpds(TabularCPD(name, len(table), values, evidence=["meter", "machine"], evidence_card=cards))
        if max(seen) == 1.0:
            hard[name] = seen.index(1.0)
        else:
            soft.append(TabularCPD(name, len(table), column(seen)))

    def infer():
        inference = VariableElimination(bn)
        answer = inference.query(["machine"], hard, virtual_evidence=soft or None, show_progress=False)
        return answer.values.tolist()

    return infer


def main():
    build = {"pyagrum": pyagrum, "pgmpy": pgmpy}[sys.argv[1]]
    networks = json.load(sys.stdin)
    try:
        infer = [build(network) for network in networks]
    except ImportError:
        sys.exit(77)
    if len(sys.argv) > 2:
        rounds = int(sys.argv[2])
        begin = time.perf_counter()
        for _ in range(rounds):
            for one in infer:
                one()
        print((time.perf_counter() - begin) / rounds / len(infer))
        return
    apart = 0
    for number, (network, one) in enumerate(zip(networks, infer, strict=True)):
        theirs, ours = one(), network["posterior"]
        worst = max(abs(a - b) for a, b in zip(theirs, ours, strict=True))
        if worst > 5e-7:
            apart += 1
            print(f"network {number}: {worst:.2e} apart\n  theirs {theirs}\n  ours   {ours}")
    if apart:
        sys.exit(1)
    print(f"{len(networks)} networks agree with {sys.argv[1]} to 6 decimals")


if __name__ == "__main__":
    main()
