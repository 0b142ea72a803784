#!/usr/bin/env bash
# names.sh: no file names the machine it was written on, leaves a note to self, or uses the code names that makers give
# to their formulas. Formulas here are named after what they do; standards, hazard statements (H314, P280) and
# what stands in the citation of a source are no such codes. Nor does one look like the name of a product: no trade mark
# sign anywhere; in recipes and notes no word in capitals, with a capital inside, or with one in the middle of a
# sentence; in what the programs say, none with a capital inside. The rules are general: no name stands here.
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
mark = re.compile("[\u00a9\u00ae\u2117\u2120\u2122]")
spoken = re.compile(r"client/|daemon/(?:process|recipe|darkroom|methods|shelf)/|daemon/main")
inner = re.compile(r"\b[A-Za-z]*[a-z][A-Z][A-Za-z]*\b")
shouted = re.compile(r"\b[A-Z]{2,}\b")
named = re.compile(r"(?<=[a-z,;] )[A-Z][a-z]+")
no_product = {"mL", "uL", "mA", "CcFf", "NHS", "textLength"} # units, letters of a pattern, a health service, SVG
# Bodies that set limits of exposure, and what they call them; elements, their valences, pH.
no_product |= set("NIOSH OSHA ACGIH CFR REL PEL TWA IDLH ST TLV UV HCN pH Cr Ag Se Mn Al Fe III VI".split())
cited = re.compile(r"^(?:sources?|citations?|references?|url|doi|\$schema|\$id|\$ref|pattern)$")

def codes(text, also_bare):
    found = [m.group() for m in with_dash.finditer(text)]
    if also_bare:
        found += [m.group() for m in without_dash.finditer(text)]
    return [c for c in found if not no_code.match(c)]

def maker(text):
    return [f"{code} looks like the code name of a maker" for code in codes(text, False)]

def products(text):
    found = [m.group() for rule in (inner, shouted, named) for m in rule.finditer(text)]
    return [p for p in found if p not in no_product]

def look(text, also_bare):
    for code in codes(text, also_bare):
        yield f"{code} looks like the code name of a maker"
    for product in products(text):
        yield f"{product} looks like the name of a product"

def walk(value, also_bare, key=""):
    if cited.match(key):
        return
    if isinstance(value, dict):
        for k, v in value.items():
            yield from look(k, also_bare)
            yield from walk(v, also_bare, k)
    elif isinstance(value, list):
        for v in value:
            yield from walk(v, also_bare, key)
    elif isinstance(value, str) and key != "formula": # of a chemical
        yield from look(value, also_bare)

for path in sys.stdin.read().splitlines():
    try:
        text = open(path, encoding="utf-8").read()
    except UnicodeDecodeError:
        continue # a corpus or a picture
    for n, line in enumerate(text.split("\n"), 1):
        if machine.search(line):
            print(f"{path}:{n}: names a place on one machine")
        if mark.search(line):
            print(f"{path}:{n}: a trade mark sign")
        if left_over.search(line):
            print(f"{path}:{n}: a note to self was left: {line.strip()[:70]}")
    top = path.split("/")[0]
    if top in ("recipes", "safety") and path.endswith(".json"):
        try:
            for problem in walk(json.loads(text), True):
                # Words of the schema language; the wording of the UN, which shouts.
                if "product" not in problem or not path.endswith((".schema.json", "/statements.json")):
                    print(f"{path}: {problem}")
        except ValueError as error:
            print(f"{path}: not JSON: {error}")
    elif top in ("recipes", "safety") or path in ("README.md", "DEVELOPERS.md"):
        for n, line in enumerate(text.split("\n"), 1):
            if re.search(r"[Ss]ources?\b|https?://|\bdoi\b|^- (?:Emergency|Poison centre): ", line):
                continue
            for problem in look(line, True) if top in ("recipes", "safety") else maker(line):
                print(f"{path}:{n}: {problem}")
    elif top in ("daemon", "client") and path.endswith((".c", ".h")):
        for n, line in enumerate(text.split("\n"), 1):
            for literal in re.findall(r"\"(?:[^\"\\]|\\.)*\"", line):
                for code in codes(literal, False):
                    print(f"{path}:{n}: {code} looks like the code name of a maker")
                for word in inner.findall(re.sub(r"%[-0-9.*lz]*[a-zA-Z]|\\.", " ", literal)) if spoken.match(path) else []:
                    if word not in no_product:
                        print(f"{path}:{n}: {word} looks like the name of a product")
'))"
finish files
