#!/bin/sh
# Every check, one after the other; the last line counts them. Called by `make test`.
set -u
cd "$(dirname "$0")/.."
cargo=${CARGO:-cargo}
log=target/test.log
mkdir -p target
: >"$log"
ran=0
failed=
left_out=0

# stage NAME COMMAND...
stage() {
    name=$1
    shift
    echo "== $name"
    started=$(date +%s)
    # The exit status of the command passes the pipe through a file.
    { "$@" 2>&1; echo $? >target/test.status; } | tee -a "$log"
    ran=$((ran + 1))
    [ "$(cat target/test.status)" = 0 ] || failed="$failed, $name"
    echo "== $name: $(($(date +%s) - started)) s"
}

# component NAME: whether cargo has it; a toolchain of the smallest kind has not.
component() {
    $cargo "$1" --version >/dev/null 2>&1 && return 0
    echo "skipped: cargo $1 is not installed (rustup component add ${2:-$1})" | tee -a "$log"
    left_out=$((left_out + 1))
    return 1
}

component fmt rustfmt && stage "format" $cargo fmt --check
if component clippy; then
    stage "lints, pure part" $cargo clippy --locked --no-default-features --all-targets -- -D warnings
    stage "lints, everything" $cargo clippy --locked --all-features --all-targets -- -D warnings
fi
# Shown also where tests pass, because that is where they say what they skipped and what they measured.
stage "tests" $cargo test --locked --all-features --no-fail-fast -- --show-output
stage "documentation" env RUSTDOCFLAGS="-D warnings" $cargo doc --locked --quiet --no-deps --all-features

# "test result: ok. 12 passed; 0 failed; ..." a binary.
count() { sed -n "s/^test result:.* \([0-9]*\) $1.*/\1/p" "$log" | awk '{ n += $1 } END { print n + 0 }'; }
# "skipped: 3 voice checks, ..." counts three, "skipped: the open cases ..." one.
skipped=$(awk '/^skipped: / { n += $2 ~ /^[0-9]+$/ ? $2 : 1 } END { print n + 0 }' "$log")
grep '^skipped: ' "$log" | sort -u
echo
echo "stages: $ran run, $left_out left out${failed:+; FAILED: ${failed#, }}"
echo "tests: $(count passed) passed, $(count failed) failed, $skipped skipped"
[ -z "$failed" ]
