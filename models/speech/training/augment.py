"""Makes of a clip what a microphone in a kitchen would give: other speed, other place in the window, a room, a headset's
band, noise, other voices, too much gain or too little. All on the device, a batch at once."""

import torch

RATE = 16_000
# The windows that the program runs the weights in, in frames of 20 ms.
WINDOWS = (128, 176, 224, 320, 500)


class Kitchen:
    """Draws everything from one generator on the device."""

    def __init__(self, noise, rooms, device, seed):
        self.noise, self.device = torch.from_numpy(noise).to(device), device
        self.rooms = torch.from_numpy(rooms).to(device)
        self.generator = torch.Generator(device).manual_seed(seed)

    def uniform(self, count, low, high):
        return low + (high - low) * torch.rand(count, generator=self.generator, device=self.device)

    def chance(self, count, share):
        return torch.rand(count, generator=self.generator, device=self.device) < share

    def whole(self, count, below):
        return torch.randint(below, (count,), generator=self.generator, device=self.device)

    def plan(self, lengths):
        """Speed, samples before the clip (below zero: its start is cut), and samples of the whole utterance; (batch,)."""
        count = len(lengths)
        speed = torch.where(self.chance(count, 0.7), self.uniform(count, 0.88, 1.13), 1.0)
        before = self.uniform(count, 0.02, 0.6) * RATE
        before = torch.where(self.chance(count, 0.08), self.uniform(count, -0.03, 0.02) * RATE, before)
        after = torch.where(self.chance(count, 0.8), self.uniform(count, 0.3, 0.9), self.uniform(count, 0.05, 0.3)) * RATE
        return speed, before, (before + lengths / speed + after).long()

    def gather(self, clips, numbers, speed, before, size):
        """(batch, size): the clips at their speed, in their place."""
        numbers = torch.as_tensor(numbers, device=self.device)
        length, start = clips.lengths[numbers], clips.starts[numbers]
        at = (torch.arange(size, device=self.device) - before[:, None]) * speed[:, None]
        inside = (at >= 0) & (at < (length - 1)[:, None])
        low = at.clamp(min=0).minimum((length - 2)[:, None].float()).floor()
        place = start[:, None] + low.long()
        share = at - low
        first, second = clips.samples[place].float(), clips.samples[place + 1].float()
        return ((first + share * (second - first)) * inside / 32768), inside

    def filtered(self, x):
        """Rooms, and bands as of cheap microphones and headsets, for some; one transform for both."""
        count, size = x.shape
        whole = 1 << (size + self.rooms.shape[1] - 1).bit_length()
        frequency = torch.fft.rfftfreq(whole, 1 / RATE, device=self.device)
        spectrum = torch.fft.rfft(x, whole)
        rooms = torch.fft.rfft(self.rooms[self.whole(count, len(self.rooms))], whole)
        spectrum = torch.where(self.chance(count, 0.4)[:, None], spectrum * rooms, spectrum)
        low = torch.where(self.chance(count, 0.3), self.uniform(count, 60, 350), 1.0)[:, None]
        narrow = torch.where(self.chance(count, 0.5), self.uniform(count, 3300, 4000), self.uniform(count, 4000, 7500))
        high = torch.where(self.chance(count, 0.3), narrow, 20_000.0)[:, None]
        tilt = torch.where(self.chance(count, 0.5), self.uniform(count, -0.5, 0.5), 0.0)[:, None]
        gain = ((frequency + 50) / 1000) ** tilt / (1 + (frequency / high) ** 12).sqrt() / (1 + (low / (frequency + 1)) ** 4).sqrt()
        return torch.fft.irfft(spectrum * gain, whole)[:, :size]

    def noises(self, count, size):
        """(batch, size) of noise, each of the level one."""
        rows, start = self.whole(count, len(self.noise)), self.whole(count, self.noise.shape[1])
        step = torch.where(self.chance(count, 0.5), self.uniform(count, 0.7, 1.4), 1.0)
        at = (start[:, None] + torch.arange(size, device=self.device) * step[:, None]).long() % self.noise.shape[1]
        found = self.noise[rows[:, None], at].float()
        return found / (found.square().mean(1, keepdim=True).sqrt() + 1e-6)

    def babble(self, x):
        """Other clips of the batch, one to five at once, of the level one."""
        count = len(x)
        found = torch.zeros_like(x)
        for turn in range(1, 6):
            other = x.roll((7 * turn, int(self.whole(1, x.shape[1]))), (0, 1))
            found += other * self.chance(count, 1.0 if turn == 1 else 0.5)[:, None]
        return found / (found.square().mean(1, keepdim=True).sqrt() + 1e-6)

    def __call__(self, clips, numbers, frames, speed, before, whole, silent):
        """Samples (batch, 320 * frames); where `silent`, the noise alone."""
        count, size = len(numbers), 320 * frames
        x, inside = self.gather(clips, numbers, speed, before, size)
        level = (x.square().sum(1) / inside.sum(1).clamp(min=1)).sqrt().clamp(min=1e-4)[:, None]
        x = x / level
        noise = self.noises(count, size)
        second = self.chance(count, 0.3)[:, None] * self.noises(count, size) * self.uniform(count, 0.1, 1.0)[:, None]
        noise = noise + second
        others = self.chance(count, 0.15)
        noise = torch.where(others[:, None], self.babble(x), noise)
        x = self.filtered(x)
        ratio = self.uniform(count, -5, 30)
        ratio = torch.where(others, ratio.clamp(min=3.0), ratio)  # a voice as loud as the speaker's cannot be told from it
        ratio = torch.where(self.chance(count, 0.2), self.uniform(count, 30, 60), ratio)
        x = torch.where(silent[:, None], 0.0, x)
        pure = self.chance(count, 0.15)[:, None]  # no noise at all, as in a file that was cut and padded
        x = torch.where(pure, x, x + noise * 10 ** (-ratio / 20)[:, None])
        # Clipping, for few; then a level, and the steps of 16 bit.
        limit = torch.where(self.chance(count, 0.07), self.uniform(count, 1.0, 4.0), 1e9)[:, None]
        x = x.maximum(-limit).minimum(limit)
        x = x * 10 ** (self.uniform(count, -55, -12) / 20)[:, None]
        x = (x.clamp(-1, 1) * 32767).round() / 32768
        # What follows the utterance is no sound at all, mostly.
        over = torch.arange(size, device=self.device) >= torch.where(self.chance(count, 0.85), whole, size)[:, None]
        return x.masked_fill(over, 0.0)


def window_for(frames, draw):
    """A window that holds so many frames: one of the program's, or any."""
    if draw.random() < 0.6:
        return min((window for window in WINDOWS if window >= frames), default=WINDOWS[-1])
    return int(draw.integers(min(frames, WINDOWS[-1]), min(frames + 120, WINDOWS[-1]) + 1))
