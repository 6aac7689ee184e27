#!/bin/sh
# Installs the system packages that are missing, and says which and why. Does and says nothing when all are there.
#
#   scripts/setup.sh demo    what the build and the demo need
#   scripts/setup.sh test    the same, and what some checks want; a check whose tool is missing is skipped
#   scripts/setup.sh screen  what the build needs, and a browser to look at the screen with
#   scripts/setup.sh fuzz    what the build needs, and what draws inputs as the coverage leads
#   scripts/setup.sh bench   what the build needs, voices for the bench, and the systems it compares with
set -eu
cd "$(dirname "$0")/.."

# A package a line: who needs it | Debian's name | how to see that it is there | why
packages() {
    cat <<'LIST'
demo|g++|command -v c++|compiles the recogniser and the database
demo|cmake|command -v cmake|prepares the recogniser's build
demo|pkg-config|command -v pkg-config|finds the sound library
demo|libasound2-dev|pkg-config --exists alsa|microphone and loudspeaker
demo|espeak-ng|command -v espeak-ng|speaks the prompts
test|flite|command -v flite|speaks test sentences in other voices
test|pulseaudio|command -v pulseaudio|a pretend kitchen: loudspeaker and microphone without a sound card
test|pulseaudio-utils|command -v pactl && command -v paplay|speaks in it, and pulls its plugs
test|libasound2-plugins|ls /usr/lib/*/alsa-lib/libasound_module_pcm_pulse.so|lets the program hear and speak in it
test|speech-dispatcher|command -v spd-say|the system's own voice
test|speech-dispatcher-espeak-ng|ls /usr/lib*/speech-dispatcher-modules/sd_espeak-ng || ls /usr/lib*/*/speech-dispatcher-modules/sd_espeak-ng|what speaks in it
test|ngspice|command -v ngspice|a second opinion on the circuits
test|postgresql|command -v initdb || ls /usr/lib/postgresql/*/bin/initdb|a shared record of two technicians
test|poppler-utils|command -v pdftoppm|opens the PDF reports
test|qpdf|command -v qpdf|a second reader of the PDF reports
test|python3-venv|python3 -c "import venv, ensurepip"|a place for the reference libraries in Python
screen|chromium|command -v chromium|shows the screen's page
screen|nodejs|command -v node|drives the browser
screen|npm|command -v npm|installs what drives it
bench|flite|command -v flite|speaks readings in five voices
bench|festival|command -v text2wave|speaks readings in three more voices
bench|festvox-kallpc16k|ls /usr/share/festival/voices/*/kal_diphone|a voice
bench|festvox-kdlpc16k|ls /usr/share/festival/voices/*/ked_diphone|a voice
bench|festvox-us-slt-hts|ls /usr/share/festival/voices/*/cmu_us_slt_arctic_hts|a voice
bench|python3-venv|python3 -c "import venv, ensurepip"|a place for the recognisers in Python
LIST
}

# The lines of the packages that are missing for a purpose.
missing() {
    packages | while IFS='|' read -r purpose name probe why; do
        [ "$purpose" = "$1" ] || continue
        sh -c "$probe" >/dev/null 2>&1 || echo "$name|$why"
    done
}

names() { echo "$1" | cut -d'|' -f1 | tr '\n' ' '; }
show() { echo "$1" | sed 's/|/: /; s/^/  /'; }

# Installs with apt, as root or by sudo, without questions.
apt_install() {
    as_root=
    if [ "$(id -u)" -ne 0 ]; then
        if ! command -v sudo >/dev/null; then
            echo "Installing needs root, and there is no sudo. As root, run: apt-get install $*" >&2
            return 1
        fi
        as_root=sudo
        # Where nobody can type a password, do not wait for one.
        [ -t 0 ] || as_root="sudo -n"
    fi
    if [ -z "${updated:-}" ]; then
        $as_root apt-get update -qq || echo "The package lists could not be brought up to date; going on." >&2
        updated=yes
    fi
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" >/dev/null
}

# setup PURPOSE: succeeds when nothing is missing any more.
setup() {
    lines=$(missing "$1")
    [ -n "$lines" ] || return 0
    if ! command -v apt-get >/dev/null; then
        echo "These are missing (Debian's names), and only apt is known here; install them by hand:" >&2
        show "$lines" >&2
        return 1
    fi
    echo "Installing with apt:"
    show "$lines"
    # The names hold no spaces.
    # shellcheck disable=SC2046
    apt_install $(names "$lines") || return 1
    lines=$(missing "$1")
    [ -z "$lines" ] || { echo "Installed, but still not found:" >&2; show "$lines" >&2; return 1; }
}

# The libraries that some checks compare with, in .venv; each alone, so that one that fails spoils no other.
references() {
    [ -x .venv/bin/python ] || python3 -m venv .venv >/dev/null 2>&1 || {
        echo "skipped: no virtual environment for Python; the checks against reference libraries are left out"
        return 0
    }
    grep -v '^#' scripts/references.txt | while read -r line; do
        pin=${line##* }
        [ -e ".venv/$pin" ] && continue
        echo "Installing $pin into .venv, to check against it"
        # A line is several words on purpose.
        # shellcheck disable=SC2086
        if .venv/bin/pip install --quiet --disable-pip-version-check --retries 1 $line; then
            : >".venv/$pin"
        else
            echo "skipped: $pin could not be installed; the checks against it are left out"
        fi
    done
}

# The recognisers in Python that the bench compares with, in target/bench/venv.
baselines() {
    place=target/bench/venv
    cmp -s scripts/baselines.txt "$place/installed.txt" && return 0
    echo "Installing the recognisers of scripts/baselines.txt into $place, to compare with"
    if python3 -m venv "$place" && "$place/bin/pip" install --quiet --disable-pip-version-check --retries 1 -r scripts/baselines.txt; then
        cp scripts/baselines.txt "$place/installed.txt"
    else
        echo "skipped: the recognisers in Python could not be installed; the bench goes on without them"
    fi
}

# The shipped weights in other number formats, in target/bench.
kinds() {
    made=target/bench/weights-q5_1/manifest.toml
    [ ! -f "$made" ] || [ models/speech/manifest.toml -nt "$made" ] || return 0
    target/bench/venv/bin/python scripts/weights_kinds.py target/bench >/dev/null ||
        echo "skipped: the weights in other formats could not be written (is numpy there?)"
}

# The validator of the reports' HTML, in node_modules.
validator() {
    [ ! -x node_modules/.bin/html-validate ] && command -v npm >/dev/null || return 0
    echo "Installing html-validate into node_modules, to check the pages with it"
    npm install --silent --no-save --no-package-lock html-validate@9.7.1 >/dev/null 2>&1 ||
        echo "skipped: html-validate could not be installed; the pages are not validated"
}

# What drives the browser, and what judges the page, in node_modules.
browser() {
    [ -d node_modules/playwright-core ] && [ -d node_modules/axe-core ] && return 0
    echo "Installing playwright-core and axe-core into node_modules, to look at the screen with them"
    # All at once: npm removes what is not named.
    npm install --silent --no-save --no-package-lock html-validate@9.7.1 playwright-core@1.65.1 axe-core@4.14.1 >/dev/null 2>&1
}

# What draws inputs as the coverage leads, in target/tools.
fuzzer() {
    PATH="$PWD/target/tools/bin:$PATH" command -v cargo-fuzz >/dev/null && return 0
    echo "Installing cargo-fuzz from crates.io into target/tools, to look for inputs with it"
    "${CARGO:-cargo}" install --quiet --locked --root target/tools cargo-fuzz@0.13.2
}

command -v "${CARGO:-cargo}" >/dev/null || {
    echo "Rust is missing: \`cargo\` is not on the path. Install Rust 1.92 or newer, for example with rustup." >&2
    exit 1
}
case "${1:-}" in
    demo) setup demo ;;
    test)
        setup demo
        setup test || echo "Going on; the checks that want these are skipped."
        references
        validator
        ;;
    screen)
        setup demo
        setup screen
        browser
        ;;
    fuzz)
        setup demo
        fuzzer
        ;;
    bench)
        setup demo
        setup bench || echo "Going on; voices and systems that want these are skipped."
        baselines
        kinds
        ;;
    *) echo "usage: scripts/setup.sh demo|test|screen|fuzz|bench" >&2; exit 2 ;;
esac
