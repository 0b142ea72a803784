#!/usr/bin/env bash
# names.sh: no file names the machine it was written on, leaves a note to self, or uses the code names that makers give
# to their formulas. Formulas here are named after what they do; standards, hazard statements (H314, P280) and
# what stands in the citation of a source are no such codes.
. "$(dirname "$0")/common.bash"
looked=$(sources_in . | grep -c .)
problems_from "$(sources_in . | (cd "$WET_SOURCE_DIR" && WET_ROOT=$WET_SOURCE_DIR python3 -c '
import json, os, re, sys

root = os.environ["WET_ROOT"]
# Where people keep their files, and the folder of this checkout itself.
machine = re.compile(r"(?<![\w.~$}/-])/(?:home|Users|root)/\w|" + re.escape(root) + r"(?=/|\b)")
if len(root.strip("/")) < 4:
    machine = re.compile(r"(?<![\w.~$}/-])/(?:home|Users|root)/\w")
left_over = re.compile(r"\b(?:TO" r"DO\b|FIX" r"ME\b|XX" r"X\b|LE" r"AD:)")
with_dash = re.compile(r"(?<![\w-])[A-Z]{1,2}-\d{1,3}[a-zA-Z]?(?![\w-])")
without_dash = re.compile(r"(?<![\w.,+-])[A-Z]{1,2}\d{2,3}[a-z]?(?![\w-])")
no_code = re.compile(r"^(?:[HP][1-5]\d\d[a-zA-Z]?|C17|C1|UTF?-?\d+)$")
cited = re.compile(r"^(?:sources?|citations?|references?|url|doi|\$schema|\$id|\$ref|pattern)$")

def codes(text, also_bare):
    found = [m.group() for m in with_dash.finditer(text)]
    if also_bare:
        found += [m.group() for m in without_dash.finditer(text)]
    return [c for c in found if not no_code.match(c)]

def walk(value, also_bare, key=""):
    if cited.match(key):
        return
    if isinstance(value, dict):
        for k, v in value.items():
            yield from codes(k, also_bare)
            yield from walk(v, also_bare, k)
    elif isinstance(value, list):
        for v in value:
            yield from walk(v, also_bare, key)
    elif isinstance(value, str):
        yield from codes(value, also_bare)

for path in sys.stdin.read().splitlines():
    try:
        text = open(path, encoding="utf-8").read()
    except UnicodeDecodeError:
        continue # a corpus or a picture
    for n, line in enumerate(text.split("\n"), 1):
        if machine.search(line):
            print(f"{path}:{n}: names a place on one machine")
        if left_over.search(line):
            print(f"{path}:{n}: a note to self was left: {line.strip()[:70]}")
    top = path.split("/")[0]
    if top in ("recipes", "safety") and path.endswith(".json"):
        try:
            for code in walk(json.loads(text), True):
                print(f"{path}: {code} looks like the code name of a maker")
        except ValueError as error:
            print(f"{path}: not JSON: {error}")
    elif top in ("recipes", "safety") or path in ("README.md", "DEVELOPERS.md"):
        for n, line in enumerate(text.split("\n"), 1):
            if re.search(r"[Ss]ources?\b|https?://|\bdoi\b", line):
                continue
            for code in codes(line, top in ("recipes", "safety")):
                print(f"{path}:{n}: {code} looks like the code name of a maker")
    elif top in ("daemon", "client") and path.endswith((".c", ".h")):
        for n, line in enumerate(text.split("\n"), 1):
            for literal in re.findall(r"\"(?:[^\"\\]|\\.)*\"", line):
                for code in codes(literal, False):
                    print(f"{path}:{n}: {code} looks like the code name of a maker")
'))"
finish files
