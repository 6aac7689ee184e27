"""Whisper's network in PyTorch, its parameters named as in the file that whisper.cpp reads, and its ear."""

import math
import sys
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "scripts"))
from stock_weights import mel_filters  # noqa: E402

# It prepares itself anew for every shape of batch, at length.
torch.backends.cuda.enable_cudnn_sdp(False)

WIDTH, HEADS, LAYERS, MELS = 384, 6, 4, 80
STRIDE, FRAME = 160, 320  # samples a column of the spectrogram, and a frame of the encoder
LONGEST = 500  # frames


class Attention(nn.Module):
    """Of x over itself, or over the states of the encoder."""

    def __init__(self):
        super().__init__()
        self.query, self.value, self.out = (nn.Linear(WIDTH, WIDTH) for _ in range(3))
        self.key = nn.Linear(WIDTH, WIDTH, bias=False)

    def forward(self, x, states=None, causal=False):
        batch, _, _ = x.shape
        over = x if states is None else states

        def split(y):
            return y.view(batch, -1, HEADS, WIDTH // HEADS).transpose(1, 2)

        query, key, value = split(self.query(x)), split(self.key(over)), split(self.value(over))
        y = F.scaled_dot_product_attention(query, key, value, is_causal=causal)
        return self.out(y.transpose(1, 2).reshape(batch, -1, WIDTH))


class Block(nn.Module):
    dropout = 0.0  # of what a layer adds, while fitting

    def __init__(self, decoder):
        super().__init__()
        self.attn_ln, self.attn = nn.LayerNorm(WIDTH), Attention()
        if decoder:
            self.cross_attn_ln, self.cross_attn = nn.LayerNorm(WIDTH), Attention()
        self.decoder = decoder
        self.mlp_ln = nn.LayerNorm(WIDTH)
        self.mlp = nn.Sequential(nn.Linear(WIDTH, 4 * WIDTH), nn.GELU(), nn.Linear(4 * WIDTH, WIDTH))

    def forward(self, x, states=None):
        def some(y):
            return F.dropout(y, self.dropout, self.training)

        x = x + some(self.attn(self.attn_ln(x), causal=self.decoder))
        if self.decoder:
            x = x + some(self.cross_attn(self.cross_attn_ln(x), states))
        return x + some(self.mlp(self.mlp_ln(x)))


def convolved(x, conv):
    """A convolution of width three over (batch, length, width) as one matrix product: as quick for a new shape as for one
    met before, which the library's own is not."""
    length, step = x.shape[1], conv.stride[0]
    padded = F.pad(x, (0, 0, 1, 1))
    columns = torch.cat([padded[:, tap : tap + length : step] for tap in range(3)], 2)
    return F.linear(columns, conv.weight.transpose(1, 2).flatten(1), conv.bias)


class Encoder(nn.Module):
    def __init__(self):
        super().__init__()
        self.conv1 = nn.Conv1d(MELS, WIDTH, 3, padding=1)
        self.conv2 = nn.Conv1d(WIDTH, WIDTH, 3, stride=2, padding=1)
        self.register_buffer("positional_embedding", torch.zeros(LONGEST, WIDTH))
        self.blocks = nn.ModuleList(Block(False) for _ in range(LAYERS))
        self.ln_post = nn.LayerNorm(WIDTH)

    def forward(self, mel):
        """Mel (batch, 80, 2 * frames) to states (batch, frames, 384)."""
        x = F.gelu(convolved(mel.transpose(1, 2), self.conv1))
        x = F.gelu(convolved(x, self.conv2))
        x = x + self.positional_embedding[: x.shape[1]]
        for block in self.blocks:
            x = block(x)
        return self.ln_post(x)


class Decoder(nn.Module):
    def __init__(self, tokens, text):
        super().__init__()
        self.token_embedding = nn.Embedding(tokens, WIDTH)
        self.positional_embedding = nn.Parameter(torch.zeros(text, WIDTH))
        self.blocks = nn.ModuleList(Block(True) for _ in range(LAYERS))
        self.ln = nn.LayerNorm(WIDTH)

    def forward(self, tokens, states):
        """Tokens (batch, length) to scores (batch, length, tokens there are)."""
        x = self.token_embedding(tokens) + self.positional_embedding[: tokens.shape[1]]
        for block in self.blocks:
            x = block(x, states)
        return self.ln(x) @ self.token_embedding.weight.T


class Whisper(nn.Module):
    def __init__(self, tensors):
        super().__init__()
        text, _ = tensors["decoder.positional_embedding"].shape
        tokens, _ = tensors["decoder.token_embedding.weight"].shape
        self.encoder, self.decoder = Encoder(), Decoder(tokens, text)
        shapes = {name: values.shape for name, values in self.state_dict().items()}
        self.load_state_dict(
            {name: torch.tensor(np.asarray(tensors[name], np.float32)).reshape(shapes[name]) for name in shapes}
        )


class Ear(nn.Module):
    """Sound to the spectrogram that whisper.cpp makes. `warps` banks of filters stretch the voice's frequencies by up to
    `warp` either way, as a longer or shorter throat does; bank `warps // 2` is the plain one."""

    def __init__(self, warps=1, warp=0.0):
        super().__init__()
        self.plain = warps // 2
        banks = [torch.tensor(mel_filters())]
        if warps > 1:
            bins = np.arange(201)
            factors = np.linspace(1 - warp, 1 + warp, warps)
            banks = []
            for factor in factors:
                # The highest frequencies are squeezed instead of lost.
                knee = 150
                moved = np.where(bins * factor < knee, bins * factor, knee + (bins - knee / factor) * (200 - knee) / (200 - knee / factor))
                rows = [np.interp(np.clip(moved, 0, 200), bins, row) for row in mel_filters()]
                banks.append(torch.tensor(np.array(rows, np.float32)))
        self.register_buffer("banks", torch.stack(banks))
        self.register_buffer("window", torch.hann_window(400))

    def forward(self, samples, bank=None):
        """Samples (batch, 320 * frames) to (batch, 80, 2 * frames)."""
        padded = F.pad(samples, (200, 200))
        padded[:, :200] = samples[:, 1:201].flip(1)
        spectrum = torch.stft(padded, 400, STRIDE, window=self.window, center=False, return_complex=True)
        power = spectrum.real.square() + spectrum.imag.square()
        power = power[:, :, : samples.shape[1] // STRIDE]
        if bank is None:
            mel = self.banks[self.plain] @ power
        else:
            mel = torch.bmm(self.banks[bank], power)
        mel = mel.clamp(min=1e-10).log10()
        mel = torch.maximum(mel, mel.amax((1, 2), keepdim=True) - 8)
        return (mel + 4) / 4


def frames_of(samples):
    return math.ceil(samples / FRAME)


@torch.no_grad()
def written(model, ear, clips, vocabulary, window, longest=40):
    """What the weights write, most probable token by token, for clips (rows of samples, padded to `window` frames)."""
    states = model.encoder(ear(clips)[:, :, : 2 * window])
    tokens = torch.tensor([[vocabulary["start"], vocabulary["no-timestamps"]]] * len(clips), device=clips.device)
    over = torch.zeros(len(clips), dtype=torch.bool, device=clips.device)
    for _ in range(longest):
        best = model.decoder(tokens, states)[:, -1].argmax(-1)
        best[over] = vocabulary["end"]
        over |= best == vocabulary["end"]
        tokens = torch.cat([tokens, best[:, None]], 1)
        if over.all():
            break
    end, nothing, texts = vocabulary["end"], vocabulary["nothing"], vocabulary["texts"]
    rows = [[token for token in row if token != end] for row in tokens[:, 2:].tolist()]
    return ["" if nothing in row else "".join(texts[token] for token in row).strip() for row in rows]
