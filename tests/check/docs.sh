#!/usr/bin/env bash
# docs.sh: every function, struct, enum and macro of a public header has a comment: beside it, above it, or above the
# group (lines without a blank line between them) that it is in. Every header begins with what it is.
. "$(dirname "$0")/common.bash"
files=$(sources_in include | grep '\.h$')
looked=$(printf '%s\n' "$files" | grep -c .)
problems_from "$(cd "$WET_SOURCE_DIR" && printf '%s\n' "$files" | grep . | xargs python3 -c '
import re, sys

def items(lines):
    """Yields (first line, last line, what) of each declaration at column 0."""
    i = 0
    while i < len(lines):
        line = lines[i]
        define = re.match(r"#define\s+(\w+)", line)
        if define:
            end = i
            while end + 1 < len(lines) and lines[end].rstrip().endswith("\\"):
                end += 1
            yield i, end, define.group(1)
            i = end + 1
            continue
        if re.match(r"/\*", line):
            while "*/" not in lines[i]:
                i += 1
            i += 1
            continue
        if re.match(r"[A-Za-z_]", line) and not line.startswith(("extern \"C\"", "static_assert", "_Static_assert")):
            end, depth = i, 0
            while True:
                text = re.sub(r"/\*.*?\*/|\"[^\"]*\"", "", lines[end])
                depth += text.count("{") - text.count("}")
                if (depth <= 0 and ";" in text) or end + 1 == len(lines):
                    break
                end += 1
            kind = re.match(r"(?:typedef\s+)?(struct|enum|union)\s+(\w+)\s*\{", line)
            name = kind.group(2) if kind else (re.search(r"(\w+)\s*\(", line) or re.search(r"(\w+)\s*;", line) or [None, line])[1]
            if re.match(r"(struct|enum|union)\s+\w+;", line):
                name = None # a forward declaration
            if name:
                yield i, end, name
            i = end + 1
            continue
        i += 1

for path in sys.argv[1:]:
    lines = open(path, encoding="utf-8").read().split("\n")
    if not lines[0].startswith("/* " + path.rsplit("/", 1)[1] + ": "):
        print(f"{path}:1: the first line says what the header is: /* {path.rsplit(chr(47), 1)[1]}: ...")
    text = "\n".join(lines)
    guard = re.search(r"#ifndef\s+(\w+)\n#define\s+\1", text)
    commented = [False] * len(lines) # the line is, or ends, a comment
    inside = False
    for n, line in enumerate(lines):
        started = "/*" in line
        commented[n] = inside or started
        inside = (inside or started) and line.rfind("*/") < line.rfind("/*") if started else inside and "*/" not in line
    good_until = -2
    tables = {}
    for first, last, name in items(lines):
        if guard and name == guard.group(1):
            continue
        if re.search(r"#undef\s+%s\b" % name, text):
            continue # the hand of an X-macro
        # A struct is explained by its fields, an enum by the commented table it is made from.
        beside = any(commented[first:last + 1]) or lines[first].startswith("enum") and any(
            tables.get(table)
            for table in re.findall(r"\b(WET_\w+)\(WET_\w+\)", "\n".join(lines[first:last + 1])))
        above = first > 0 and commented[first - 1]
        grouped = good_until >= 0 and all(l.strip() for l in lines[good_until + 1:first])
        if beside or above or grouped:
            good_until = last
            tables[name] = True
        else:
            print(f"{path}:{first + 1}: {name} has no comment")
')"
finish "public headers"
