"""Fits the weights.

    python3 train.py WORK --minutes 15 --seed 1 [--from WEIGHTS.npz|WEIGHTS.bin]      # WORK/fitted.npz; one GPU

Packs that appear in WORK/packs while it runs are taken in, so that speaking and fitting can go side by side. The pace
follows the clock: the learning rate falls to zero as the minutes run out. What is kept is the running mean of the weights,
as it stood when it heard the held-back clips best, quiet and at 5 dB.
"""

import argparse
import copy
import json
import math
import pathlib
import time

import numpy as np
import torch
import torch.nn.functional as F

import evaluate
import network
import noises
from augment import Kitchen, window_for
from clips import Clips

# The encoder has heard far more people than there are in our clips, and forgets them when it moves far.
RATE, ENCODER_RATE, WARM_UP = 1.5e-4, 4e-5, 300
FRAMES = 110_000  # of 20 ms, a batch
AVERAGE = 0.9995
SMOOTHING = 0.02
SILENT = 0.03
DROPOUT, MASKS = 0.1, 2
WARPS, WARP = 31, 0.1
LOOK = 20.0  # seconds between looks for new packs
CHECKS = (0.6, 0.85)  # of the time: when it is measured before the end


def batches(clips, kitchen, draw, frames=FRAMES):
    """Clip numbers, window, and how each clip lies in it: clips of like length together."""
    while True:
        numbers = clips.draw(draw, 8192)
        speed, before, whole = kitchen.plan(clips.lengths[torch.as_tensor(numbers, device=kitchen.device)])
        needed = (whole.cpu().numpy() + 319) // 320
        order = np.argsort(needed + draw.uniform(0, 12, len(needed)))
        parts, at = [], 0
        while at < len(order):
            count = max(16, min(768, frames // max(int(needed[order[min(at + 256, len(order) - 1)]]), 40)))
            parts.append(order[at : at + count])
            at += count
        for part in draw.permutation(len(parts)):
            part = parts[part]
            window = window_for(int(needed[part].max()), draw)
            index = torch.as_tensor(part, device=kitchen.device)
            yield numbers[part], window, speed[index], before[index], whole[index]


def masked(mel, kitchen, times):
    """Up to ten neighbouring bands blanked, for half the clips, so many times over; and as often up to 0.12 s."""
    for axis, most in [(1, 11), (2, 13)] * times if times > 1 else [(1, 11)]:
        count, size = len(mel), mel.shape[axis]
        low, width = kitchen.whole(count, size - 10), kitchen.whole(count, most) * kitchen.chance(count, 0.5)
        place = torch.arange(size, device=mel.device)
        hidden = (place >= low[:, None]) & (place < (low + width)[:, None])
        mel = torch.where(hidden.unsqueeze(3 - axis), mel.mean((1, 2), keepdim=True), mel)
    return mel


def save(model, path):
    np.savez(path, **{name: values.half().cpu().numpy() for name, values in model.state_dict().items()})


def keep_better(model, best, vocabulary, work, name, device):
    """Saves the weights if they hear more of the held-back clips than the best so far; gives the best now."""
    right, _ = evaluate.table(model, vocabulary, work, device, levels=(None, 5))
    if right < best:
        return best
    save(model, work / f"{name}.npz")
    return right


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("work", type=pathlib.Path)
    parser.add_argument("--minutes", type=float, required=True)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--from", dest="start", type=pathlib.Path, help="weights to go on from; else WORK/start.npz")
    parser.add_argument("--rate", type=float, default=RATE, help="the highest learning rate of the decoder")
    parser.add_argument("--encoder-rate", type=float, default=ENCODER_RATE)
    parser.add_argument("--name", default="fitted")
    parser.add_argument("--dropout", type=float, default=DROPOUT)
    parser.add_argument("--masks", type=int, default=MASKS)
    parser.add_argument("--frames", type=int, default=FRAMES)
    arguments = parser.parse_args()
    network.Block.dropout = arguments.dropout
    work = arguments.work
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(arguments.seed)
    torch.backends.cuda.matmul.allow_tf32 = True
    draw = np.random.default_rng(arguments.seed)
    vocabulary = json.loads((work / "vocabulary.json").read_text())
    model = network.Whisper(evaluate.tensors_of([arguments.start or work / "start.npz"])).to(device)
    average = copy.deepcopy(model).requires_grad_(False)
    model.train()
    ear = network.Ear(WARPS, WARP).to(device)
    rooms = noises.rooms(np.random.default_rng(2))
    kitchen = Kitchen(np.load(work / "noise.npy"), rooms, device, arguments.seed)
    clips = Clips(work / "packs", vocabulary, device)
    clips.look()
    rates = {"encoder": arguments.encoder_rate, "decoder": arguments.rate}
    groups = [
        {"params": [p for p in part.parameters() if (p.ndim > 1) == thick], "weight_decay": 0.02 * thick, "top": rates[name]}
        for name, part in model.named_children()
        for thick in (True, False)
    ]
    optimiser = torch.optim.AdamW(groups, betas=(0.9, 0.98), fused=device == "cuda")
    begin = looked = said = time.time()
    seconds, step, seen, losses = 60 * arguments.minutes, 0, 0, []
    checks, best = list(CHECKS), 0.0
    drawn = batches(clips, kitchen, draw, arguments.frames)
    while (elapsed := time.time() - begin) < seconds:
        if time.time() - looked > LOOK:
            looked = time.time()
            if clips.look():
                drawn = batches(clips, kitchen, draw, arguments.frames)
        step += 1
        share = min(1, step / WARM_UP) * 0.5 * (1 + math.cos(math.pi * elapsed / seconds))
        for group in optimiser.param_groups:
            group["lr"] = group["top"] * share
        numbers, window, speed, before, whole = next(drawn)
        silent = draw.random(len(numbers)) < SILENT
        with torch.no_grad():
            samples = kitchen(clips, numbers, window, speed, before, whole, torch.as_tensor(silent, device=device))
            count = len(numbers)
            bank = torch.where(kitchen.chance(count, 0.6), kitchen.whole(count, WARPS), ear.plain)
            mel = masked(ear(samples, bank)[:, :, : 2 * window], kitchen, arguments.masks)
        fed, wanted = clips.targets(numbers, silent)
        with torch.autocast(device, dtype=torch.bfloat16):
            scores = model.decoder(fed, model.encoder(mel))
        loss = F.cross_entropy(scores.float().flatten(0, 1), wanted.flatten(), ignore_index=-100, label_smoothing=SMOOTHING)
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(model.parameters(), 1.0)
        optimiser.step()
        with torch.no_grad():
            keep = min(AVERAGE, 1 - 1 / (step + 1))
            torch._foreach_lerp_(list(average.parameters()), list(model.parameters()), 1 - keep)
        seen += len(numbers)
        losses.append(loss.detach())
        if time.time() - said > 20:
            said = time.time()
            mean = torch.stack(losses).mean().item()
            losses.clear()
            print(f"{elapsed:6.0f} s, step {step}, {seen} clips of {len(clips.start)}, loss {mean:.4f}, pace {share:.2f}", flush=True)
        if checks and elapsed > checks[0] * seconds:
            checks.pop(0)
            best = keep_better(average, best, vocabulary, work, arguments.name, device)
    keep_better(average, best, vocabulary, work, arguments.name, device)
    groups = {name: len(numbers) for name, numbers in clips.groups.items()}
    print(f"{step} steps, {seen} clips seen, of {len(clips.start)}: {groups}; {len(clips.samples) / 16_000 / 3600:.1f} hours")
    average.load_state_dict(network.Whisper(evaluate.tensors_of([work / f"{arguments.name}.npz"])).state_dict())
    _, mistakes = evaluate.table(average, vocabulary, work, device)
    (work / f"mistakes-{arguments.name}.json").write_text(json.dumps(mistakes, indent=0))


if __name__ == "__main__":
    main()
