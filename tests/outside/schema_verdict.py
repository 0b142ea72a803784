#!/usr/bin/env python3
"""Says of each file what a JSON Schema (2020-12) says of it.

    /usr/bin/python3 schema_verdict.py SCHEMA FILE...

One line a file: its path, a tab, and valid, invalid or not-json. The judge is Debian's python3-jsonschema (4 or later),
an implementation of the standard that has nothing to do with our loader. RFC 8259 is read strictly: UTF-8, no
duplicates, no NaN.
"""
import json
import sys

try:
    import jsonschema
except ImportError:
    sys.exit("python3-jsonschema is missing: apt-get install python3-jsonschema")


def no_duplicates(pairs):
    members = dict(pairs)
    if len(members) != len(pairs):
        raise ValueError("a member stands twice")
    return members


def no_constant(word):
    raise ValueError(word)


def read(path):
    with open(path, "rb") as file:
        text = file.read().decode("utf-8", "strict")
    value = json.loads(text, object_pairs_hook=no_duplicates, parse_constant=no_constant)
    json.dumps(value, ensure_ascii=False).encode("utf-8", "strict")  # half a character is none
    return value


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        schema = json.load(file)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    for path in sys.argv[2:]:
        try:
            verdict = "valid" if validator.is_valid(read(path)) else "invalid"
        except (ValueError, RecursionError):
            verdict = "not-json"
        print(f"{path}\t{verdict}")


main()
