"""Holds the schemas in scenarios/schema against the draft that they name, and the scenarios and wrong files against them.

The judge is the usual validator of Python; tests/schema.rs asks the same with a smaller one of its own.
"""

import json
import pathlib
import sys

import jsonschema
import yaml

# Faults that show in keys, words and shape; other wrong files are wrong in what a value means.
SEEN = {"unknown-key", "missing-key", "bad-word", "conflicting-keys", "wrong-shape", "nothing-to-do"}


# What a file of each kind has, and those before it haven't; rates have none of them.
KINDS = {"job": "job", "truck": "truck", "yard": "cylinders"}


class AsTyped(yaml.SafeLoader):
    """YAML 1.2 as editors read it: a date is a text, and yes and no are too."""


AsTyped.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in resolvers if tag != "tag:yaml.org,2002:timestamp"]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def main():
    root = pathlib.Path(__file__).parents[2]
    judges = {}
    for kind in ("job", "yard", "truck", "rates"):
        schema = json.loads((root / f"scenarios/schema/{kind}.json").read_text())
        jsonschema.Draft202012Validator.check_schema(schema)
        judges[kind] = jsonschema.Draft202012Validator(schema)
    wrong = []
    files = sorted((root / "scenarios").glob("*.yaml")) + sorted((root / "src/cli/new").glob("*.yaml"))
    for path in files:
        file = yaml.load(path.read_text(), AsTyped)
        kind = next((kind for kind, key in KINDS.items() if key in file), "rates")
        wrong += [f"{path.name}: {error.json_path}: {error.message}" for error in judges[kind].iter_errors(file)]
    refused = [path for path in sorted((root / "scenarios/wrong").glob("*.yaml")) if path.name.split(".")[0] in SEEN]
    for path in refused:
        if judges["job"].is_valid(yaml.load(path.read_text(), AsTyped)):
            wrong.append(f"wrong/{path.name} fits the schema")
    print(f"{len(files)} files fit their schemas, {len(refused)} wrong files don't")
    if wrong or len(files) < 20 or len(refused) < 10:
        sys.exit("\n".join(wrong) or "too few files were found")


main()
