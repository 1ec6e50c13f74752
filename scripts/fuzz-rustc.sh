#!/bin/sh
# A wrapper around rustc for our own crates alone: coverage counters that the fuzzer is guided by, all of them
# flags of stable Rust. Set as RUSTC_WORKSPACE_WRAPPER by scripts/fuzz.sh; dependencies are built as ever.
exec "$@" --cfg fuzzing -Cpasses=sancov-module \
  -Cllvm-args=-sanitizer-coverage-level=4 \
  -Cllvm-args=-sanitizer-coverage-inline-8bit-counters \
  -Cllvm-args=-sanitizer-coverage-pc-table \
  -Cllvm-args=-sanitizer-coverage-trace-compares
