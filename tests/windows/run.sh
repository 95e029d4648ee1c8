#!/usr/bin/env bash
# The tests on Windows, as far as wine is Windows: `tests/windows/run.sh [MODULE::…]`, by hand; it is no part of `.ci/run`.
#
# It builds the program and its tests for x86_64-pc-windows-gnu and runs those of files, writers and settling, and README's
# commands from nothing to a closed job. It needs that target's standard library (`rustup target add x86_64-pc-windows-gnu`),
# a mingw-w64 compiler for x86_64 and a 64-bit wine. What was seen with it stands in DEVELOPERS.md.
#
# Of the whole suite (`--test all` without a filter) these don't pass there, each for a reason of the test: two ask for `/` in
# paths (`completions`, `talk`), one for `mkfifo` (`pages`), one replaces a file that is open (`faults`), and one a right that
# root has under wine (`readings_kept`). Tests that measure time want a machine with nothing else to do.
set -euo pipefail
cd "$(dirname "$0")/../.."
triple=x86_64-pc-windows-gnu
wine="$(command -v wine64 || ls /usr/lib/wine/wine64)"
export WINEPREFIX="${WINEPREFIX:-$PWD/target/wine}" WINEDEBUG=-all RUST_BACKTRACE=0
export CARGO_TARGET_X86_64_PC_WINDOWS_GNU_RUNNER="$wine"

mkdir -p "$WINEPREFIX"
"$wine" wineboot --init 2>/dev/null
system="$WINEPREFIX/drive_c/windows/system32"
# Newer wines have their own.
[ -e "$system/bcryptprimitives.dll" ] \
    || x86_64-w64-mingw32-gcc -shared -Wall -o "$system/bcryptprimitives.dll" tests/windows/bcryptprimitives.c -ladvapi32

cargo test --locked --target "$triple" --lib -- disk:: cli::stopped::
[ $# -gt 0 ] || set -- readings_kept:: ledger_files:: settling:: mirrored:: stranger::
# Under wine root may write whatever the rights of a file say.
cargo test --locked --target "$triple" --test all -- "$@" --skip a_folder_that_cant_be_written_to_is_told
# Thousands of readings, hundreds of settlings.
cargo test --locked --target "$triple" --test all -- --ignored --nocapture --test-threads 1 \
    readings_kept:: ledger_files::what settling::
