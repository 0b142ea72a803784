"""wetside-sheet: pages as PDF and SVG. Outside judge: poppler (pdftotext, pdffonts, pdfinfo) reads the PDF back, an XML parser the
SVG: every word of a document is there once, in the order it was given, within the margins of its page, on both sizes of paper,
whatever the document's shape; every font is embedded. Wrong documents are refused by where and what, and leave no file."""
import json, os, random, re, subprocess, sys, tempfile
from xml.etree import ElementTree

BUILD = os.environ["WET_BUILD_DIR"]
SHEET = f"{BUILD}/client/sheet/wetside-sheet"
SIZES = {"A4": (595.276, 841.89), "Letter": (612, 792)}
MARGIN = 15 * 72 / 25.4
place = tempfile.mkdtemp(prefix="wetside-pages.")


def make(document, end="pdf", name="page"):
    path = f"{place}/{name}.{end}"
    done = subprocess.run([SHEET, "--output", path], input=json.dumps(document), capture_output=True, text=True)
    return done, path


def boxes(path):
    """[(page, word, x0, y0, x1, y1)] and the pages' sizes, as poppler sees them."""
    text = subprocess.run(["pdftotext", "-bbox", path, "-"], capture_output=True, text=True, check=True).stdout
    words, sizes = [], []
    for page in re.findall(r"<page width=\"([\d.]+)\" height=\"([\d.]+)\">(.*?)</page>", text, re.S):
        sizes.append((float(page[0]), float(page[1])))
        for box in re.findall(r"<word xMin=\"([-\d.]+)\" yMin=\"([-\d.]+)\" xMax=\"([-\d.]+)\" yMax=\"([-\d.]+)\">(.*?)</word>", page[2]):
            words.append((len(sizes), box[4], *map(float, box[:4])))
    return words, sizes


class Words:
    """Words that occur once: each is found again or missed by name."""

    def __init__(self, rng):
        self.rng, self.made = rng, []

    def __call__(self, least=1, most=8):
        text = []
        for _ in range(self.rng.randint(least, most)):
            length = self.rng.choice((0, 2, 5, 9, 14))
            self.made.append(f"w{len(self.made)}z" + "".join(self.rng.choices("aeioumnlrtk", k=length)))
            text.append(self.made[-1])
        return " ".join(text)


def random_block(rng, words):
    kind = rng.choice(("heading", "text", "caution", "checks", "table", "chart", "drawing", "cards", "page"))
    if kind in ("heading", "caution"):
        return {kind: words()}
    if kind == "text":
        return {kind: words(1, 400)}
    if kind == "checks":
        return {kind: [words(1, 30) for _ in range(rng.randint(1, 20))]}
    if kind == "table":
        columns = rng.randint(1, 12)
        sides = ("left", "right", "centre")
        return {kind: {"columns": [{"title": words(1, 3), "side": rng.choice(sides)} for _ in range(columns)],
                       "rows": [[words(1, 3 if columns > 3 else 40) for _ in range(columns)] for _ in range(rng.randint(0, 25))],
                       "size_pt": rng.choice((8, 12, 14))}}
    if kind == "chart":
        series = [{"name": words(), "points": [[rng.uniform(1, 1e4), rng.uniform(1, 1e4)] for _ in range(rng.randint(1, 30))],
                   "has_marks": rng.random() < 0.5, "has_line": rng.random() < 0.8} for _ in range(rng.randint(1, 5))]
        axis = lambda: {"title": words(1, 2), "is_log": rng.random() < 0.5, "is_time": rng.random() < 0.5}
        return {kind: {"x": axis(), "y": axis(), "series": series, "height_mm": rng.choice((30, 90, 250))}}
    if kind == "drawing":
        width, height = rng.choice(((240, 300), (300, 240), (1000, 30), (8, 10)))
        return {kind: {"width": width, "height": height, "unit_mm": rng.choice((1, 25.4)), "across": words(1, 2), "down": words(1, 2),
                       "rects": [{"x": 0, "y": 0, "width": width / 2, "height": height, "is_waste": True}],
                       "cuts": [{"x1": width / 2, "y1": 0, "x2": width / 2, "y2": height, "label": "1"}]}}
    if kind == "cards":
        return {kind: {"across": rng.randint(1, 4),
                       "cards": [{"title": words(1, 3), "lines": [words(1, 5) for _ in range(rng.randint(0, 4))],
                                  **({"picture_width": 9, "picture_height": 12} if rng.random() < 0.5 else {})}
                                 for _ in range(rng.randint(0, 13))]}}
    return {"page": True}


def random_document(seed):
    rng = random.Random(seed)
    words = Words(rng)
    document = {"title": words(), "subtitle": words(), "paper": rng.choice(("A4", "Letter")), "landscape": rng.random() < 0.3,
                "size_pt": rng.choice((8, 11, 12, 16)), "footer": ""}
    document["blocks"] = [random_block(rng, words) for _ in range(rng.randint(1, 8))]
    return document, words.made


def judge_pdf(document, made, path):
    words, sizes = boxes(path)
    wanted = SIZES[document["paper"]][:: -1 if document["landscape"] else 1]
    for size in sizes:
        assert abs(size[0] - wanted[0]) < 0.5 and abs(size[1] - wanted[1]) < 0.5, (size, document["paper"])
    for page, word, x0, y0, x1, y1 in words:
        assert x0 > MARGIN - 1.5 and x1 < sizes[0][0] - MARGIN + 1.5, f"{word} leaves page {page}: {x0:.1f} to {x1:.1f}"
        assert y0 > MARGIN - 3 and y1 < sizes[0][1] - MARGIN + 3, f"{word} leaves page {page}: {y0:.1f} to {y1:.1f}"
    # A word broken over two lines is still there, letter by letter.
    text = "".join(word for _, word, *_ in words)
    seen = {word for _, word, *_ in words}
    missing = [w for w in made if w not in seen and w not in text and w[:4] not in text]
    assert not missing, f"not printed: {missing[:5]}"
    fonts = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout.splitlines()[2:]
    assert fonts and all(re.search(r"\syes\s+(yes|no)\s+yes\s", f) for f in fonts), fonts


def judge_svg(made, path):
    texts, n = [], 1
    while os.path.exists(path):
        tree = ElementTree.parse(path)
        texts += ["".join(e.itertext()) for e in tree.iter("{http://www.w3.org/2000/svg}text")]
        n += 1
        path = re.sub(r"(-\d+)?\.svg$", f"-{n}.svg", path)
    seen = set(" ".join(texts).split())
    missing = [w for w in made if w not in seen and w[:4] not in "".join(texts)]
    assert not missing, f"not in the SVG: {missing[:5]}"
    return n - 1


pages = 0
for seed in range(int(os.environ.get("WET_PAGES", 40))):
    document, made = random_document(seed)
    try:
        done, path = make(document)
        assert done.returncode == 0, done.stderr
        judge_pdf(document, made, path)
        if seed % 4 == 0:
            done, path = make(document, "svg", f"s{seed}")
            assert done.returncode == 0, done.stderr
            pages += judge_svg(made, path)
    except AssertionError as e:
        sys.exit(f"seed {seed}: {e}")
assert pages > 20, "the documents are too small to say anything"

# Text from people: markup, controls, other scripts and directions are printed as what they are.
odd = "<b>&amp; \u0001\u001b[31m \u202eright\u202c \u05e9\u05dc\u05d5\u05dd \u4f60\u597d \u00e9\u0301"
for end in ("pdf", "svg"):
    done, path = make({"title": odd, "paper": "A4", "blocks": [{"text": odd}, {"table": {"columns": [{"title": odd}], "rows": [[odd]]}}]}, end)
    assert done.returncode == 0, done.stderr
judge_svg(["<b>&amp;"], path)

# Wrong documents and places.
good = {"title": "a", "paper": "A4", "blocks": []}
WRONG = (
    ({}, "/title"), ({**good, "paper": "A5"}, "/paper"), ({**good, "size_pt": 2}, "/size_pt"), ({**good, "blocks": 1}, "/blocks"),
    ({**good, "blocks": [{}]}, "/blocks/0"), ({**good, "blocks": [{"text": 1}]}, "/blocks/0"),
    ({**good, "blocks": [{"page": True}, {"what": "x"}]}, "/blocks/1"),
    ({**good, "blocks": [{"table": {"columns": [], "rows": []}}]}, "columns"),
    ({**good, "blocks": [{"table": {"columns": [{"title": "a"}], "rows": [["a", "b"]]}}]}, "cells"),
    ({**good, "blocks": [{"chart": {"series": []}}]}, "/blocks/0"),
    ({**good, "blocks": [{"chart": {"series": [{"points": [[1]]}]}}]}, "pairs"),
    ({**good, "blocks": [{"drawing": {"width": 1, "height": 0}}]}, "over 0"),
    ({**good, "blocks": [{"drawing": {"width": 1, "height": 1, "rects": [{"x": 0, "y": 0, "width": 2, "height": 1}]}}]}, "within"),
    ({**good, "blocks": [{"cards": {"cards": [{"title": "a" * 601}]}}]}, "card"),
    ({**good, "blocks": [{"page": True}] * 300}, "200 pages"),
)
for document, word in WRONG:
    done, path = make(document, name="wrong")
    assert done.returncode in (1, 2) and word in done.stderr, (document, done.stderr)
    assert not os.path.exists(path), f"{document} left a file"
for args, text in ((["--output", place + "/x.png"], ".svg"), ([], "--output"), (["--output", "/dev/full/x.pdf"], "x.pdf"),
                   (["--output", place + "/no/x.pdf"], "x.pdf"), (["-o", place + "/x.pdf", "more"], "nothing else")):
    done = subprocess.run([SHEET, *args], input=json.dumps(good), capture_output=True, text=True)
    assert done.returncode in (1, 2) and text in done.stderr, (args, done.stderr)
done = subprocess.run([SHEET, "-o", place + "/x.pdf"], input="{", capture_output=True, text=True)
assert done.returncode == 2 and "line 1" in done.stderr, done.stderr

# A disk that is full keeps what was there.
done, path = make(good, name="kept")
before = open(path, "rb").read()
done = subprocess.run(["bash", "-c", f"ulimit -f 1; trap '' XFSZ; exec {SHEET} -o {path}"],
                      input=json.dumps({**good, "blocks": [{"text": "w " * 9000}]}), capture_output=True, text=True)
assert done.returncode == 1 and open(path, "rb").read() == before, done.stderr
assert sorted(f for f in os.listdir(place) if f.startswith("kept")) == ["kept.pdf"], "something was left beside it"
subprocess.run(["rm", "-rf", place])
