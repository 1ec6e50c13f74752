"""Holds a brief's JSON against the committed schema with an independent validator, and checks what a
schema cannot say: the shares of a species sum to 1, and the contract's keys are there."""

import json
import math
import sys

import jsonschema

schema_path, brief_path = sys.argv[1:3]
with open(schema_path, encoding="utf-8") as f:
    schema = json.load(f)
with open(brief_path, encoding="utf-8") as f:
    brief = json.load(f)

jsonschema.Draft202012Validator.check_schema(schema)
errors = list(jsonschema.Draft202012Validator(schema).iter_errors(brief))
for error in errors[:10]:
    print(f"{brief_path}: {error.json_path}: {error.message}")
if errors:
    sys.exit(1)

for key in ("whereabouts", "reasons", "ramps", "cautions", "inputs"):
    assert brief[key], f"{key} is empty"
for species, call in brief["whereabouts"].items():
    total = math.fsum(zone["share"] for zone in call["zones"].values())
    assert abs(total - 1) <= 1e-9, f"{species}: shares sum to {total}"
    for zone in call["zones"].values():
        assert zone["low"] <= zone["high"], f"{species}: interval {zone}"
    assert {"band_top_m", "band_bottom_m"} <= call.keys()
for entry in brief["inputs"]:
    assert "age_h" in entry
print(f"{brief_path}: fits the schema; shares sum to 1")
