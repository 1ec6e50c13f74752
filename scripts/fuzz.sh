#!/usr/bin/env bash
# Fuzzes the readers of outside bytes: scripts/fuzz.sh SECONDS [TARGET...]; all targets where none is named.
# SECONDS is for each target; `total:SECONDS` is shared out among them, at least 3 s each.
# $PLUNGELINE_FUZZ_SEED makes the order of what is tried the same again (0: a new one each time).
# What has been found worth keeping stays in $PLUNGELINE_FUZZ_CORPUS (~/.cache/plungeline-fuzz) for the next time.
# A crash, a hang of 5 s or 2 GB of memory ends its target with the input's path; DEVELOPERS.md, "Fuzzing".
set -euo pipefail
cd "$(dirname "$0")/.."

seconds="${1:?scripts/fuzz.sh SECONDS [TARGET...]}"
shift
corpus="${PLUNGELINE_FUZZ_CORPUS:-$HOME/.cache/plungeline-fuzz}"
built="${CARGO_TARGET_DIR:-target}/debug/plungeline-fuzz"

RUSTC_WORKSPACE_WRAPPER="$PWD/scripts/fuzz-rustc.sh" cargo build --locked --quiet -p plungeline-fuzz

listed="$(PLUNGELINE_FUZZ_TARGET=list "$built")"
if [ $# -eq 0 ]; then
  mapfile -t names < <(cut -d' ' -f1 <<< "$listed")
else
  names=("$@")
fi
if [[ "$seconds" == total:* ]]; then
  seconds=$(( ${seconds#total:} / ${#names[@]} ))
  if [ "$seconds" -lt 3 ]; then seconds=3; fi
fi
failed=0
for name in "${names[@]}"; do
  seeds="$(awk -v name="$name" '$1 == name { print $2 }' <<< "$listed")"
  if [ -z "$seeds" ]; then printf 'no target %s; there are:\n%s\n' "$name" "$listed"; exit 2; fi
  # A folder of copies, since the fuzzer takes folders and a seed may be one file.
  rm -rf "${corpus:?}/seeds/$name"
  mkdir -p "$corpus/$name" "$corpus/crashes" "$corpus/seeds/$name"
  cp -r "$seeds" "$corpus/seeds/$name/"
  log="$corpus/$name.log"
  if PLUNGELINE_FUZZ_TARGET="$name" "$built" "$corpus/$name" "$corpus/seeds/$name" fixtures/damaged \
    -seed="${PLUNGELINE_FUZZ_SEED:-0}" -max_total_time="$seconds" -timeout=5 -rss_limit_mb=2048 -max_len=65536 \
    -artifact_prefix="$corpus/crashes/$name-" -print_final_stats=1 > "$log" 2>&1; then
    runs="$(awk '/number_of_executed_units/ { print $2 }' "$log")"
    reach="$(grep -oE 'cov: [0-9]+' "$log" | sed -n '1p;$p' | tr -dc '0-9\n' | paste -sd' ' | sed 's/ / to /')"
    printf '%-24s %10s inputs, edges reached %s\n' "$name" "$runs" "$reach"
  else
    failed=1
    printf '%-24s CRASHED, see %s\n' "$name" "$log"
    grep -E -A1 'panicked at|ERROR: libFuzzer|Test unit written' "$log" | head -12 || true
  fi
done
exit $failed
