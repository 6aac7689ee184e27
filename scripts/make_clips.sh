#!/bin/sh
# Speaks the small clips of tests/clips anew. Needs espeak-ng, flite and flac. The clips are named by their words;
# tests/hearing.rs says what each means.
set -eu
cd "$(dirname "$0")/../tests/clips"

# name, voice, words
speak() {
    case $2 in
        rms | slt | awb) flite -voice "$2" -t "$3" -o clip.wav ;;
        *) espeak-ng -v "$2" -s 150 -w clip.wav "$3" ;;
    esac
    flac --silent --force --best -o "$1.flac" clip.wav
    rm clip.wav
}

speak l-to-h-71-ohms en-us "L to H, seventy one ohms"
speak h-to-m-8.8-k en-gb "H to M, eight point eight K"
speak one-twenty-volts slt "one twenty volts"
speak no-fifteen-ohms en-us+f2 "no, fifteen ohms"
speak fifty-ohms en-us+m3 "fifty ohms"
speak t-to-h-open-line en-gb-scotland "T to H, open line"
speak minus-eighteen rms "minus eighteen degrees"
speak what-do-you-expect en-us "what do you expect"
speak stop en-gb+f5 "stop stop"
speak enter-digits slt "two two nine three"
speak ten-point en-us "ten point"
speak seven-ohms en-us "seven ohms"
speak live-at-l-and-h en-us "live at L and H"
speak remark en-us "the kids left the door open again"
