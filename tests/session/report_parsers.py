# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# report_parsers.py SESSION_PROGRAM FIXTURE_FOLDER
# Names that mean something to HTML, to JSON, to file systems or to terminals: the report is parsed by Python's own parsers of JSON, HTML and XML,
# and says the names as they are.

import glob
import json
import math
import os
import re
import struct
import subprocess
import sys
import tempfile
import wave
import xml.etree.ElementTree
from html.parser import HTMLParser

NAMES = [
    "plain",
    "a \"quoted\" 'name' <b>bold</b> &amp; & ] end",
    "</title></h2><script>alert(1)</script>",
    "bell \a escape \x1b[2J delete \x7f next line \u0085",
    "\u202ereversed\u202c \u200f\u05e9\u05dc\u05d5\u05dd",
    "\u65e5\u672c\u8a9e \u30ae\u30bf\u30fc",
    "Gitarre \u00fcbel, caf\u00e9",
    "x" * 300,
    "lead 1",
    "lead/1",
    "lead-1",
    "%s%n {{report}} ]]> -->",
    "...",
    "***",
]
# The same length as the fixture's, and allowed in a URI (RFC 3986, 2.2)
STEM, ODD_STEM = b"urn:fixture:delay", b"urn:fixture:d&'ay"
TEXTS = ("h1", "h2", "title", "a", "small", "li")
VOID = {"br", "col", "hr", "img", "input", "link", "meta"}  # HTML, 13.1.2


def shown(name):
    """What HTML does not allow becomes U+FFFD (HTML, 13.2.3.5)"""
    return re.sub("[\x00-\x1f\x7f-\x9f]", "\ufffd", name)


class Page(HTMLParser):
    """What is open where, and what the page says"""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.faults, self.tags = [], [], []
        self.ids, self.links, self.texts = [], [], {}

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        names = [name for name, _ in attributes]
        if len(names) != len(set(names)):
            self.faults.append(f"<{tag}> has an attribute twice")
        for name, value in attributes:
            if name == "id":
                self.ids.append(value)
            if name == "href":
                self.links.append(value)
        if tag in TEXTS and "svg" not in self.open:
            self.texts.setdefault(tag, []).append("")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open[-1] != tag:
            self.faults.append(f"</{tag}> within {self.open[-3:]}")
        else:
            self.open.pop()

    def handle_data(self, data):
        for tag in TEXTS if "svg" not in self.open else ():
            if tag in self.open and not (tag == "h2" and "small" in self.open):
                self.texts[tag][-1] += data


def copy_bundle(fixture, folder):
    """The fixture with a stem that HTML would take amiss"""
    os.mkdir(folder)
    for path in glob.glob(fixture + "/*.ttl") + glob.glob(fixture + "/*.so"):
        with open(path, "rb") as file:
            data = file.read()
        with open(os.path.join(folder, os.path.basename(path)), "wb") as file:
            file.write(data.replace(STEM, ODD_STEM))


def write_session(path):
    with wave.open("a <&'\" ; b.wav", "wb") as file:
        file.setparams((1, 2, 48000, 0, "NONE", ""))
        file.writeframes(bytes((i * 37) % 251 for i in range(9600)))
    with open("t.ini", "w", encoding="utf-8") as file:
        file.write("[d&'ay]\ngain_db = 3\n")
    with open(path, "w", encoding="utf-8") as file:
        for name in NAMES:
            quoted = name.replace('"', '""')
            file.write(f'[track "{quoted}"]\nfile = "a <&\'"" ; b.wav"\n')
            file.write("setup = t.ini\ngain_db = -30\n")
        file.write("[output]\ntail_s = 0\n")


count = failed = 0


def check(what, is_right, more=""):
    global count, failed
    count += 1
    failed += not is_right
    print(f"{'ok' if is_right else 'not ok'} {count} - {what}")
    if not is_right:
        print("# " + ascii(more))


def check_json(folder):
    with open(folder + "/report.json", encoding="utf-8") as file:
        report = json.load(file)
    lanes = [lane for lane in report["lanes"] if lane["kind"] == "track"]
    check("JSON has the names", [lane["name"] for lane in lanes] == NAMES)
    slugs = [lane["slug"] for lane in lanes]
    check("each slug is another", len(set(slugs)) == len(slugs), slugs)
    check("they keep letters", slugs[5:7] == [
        "\u65e5\u672c\u8a9e-\u30ae\u30bf\u30fc", "Gitarre-\u00fcbel-caf\u00e9"
    ], slugs)
    check("numbers tell the same ones apart",
          slugs[8:11] == ["lead-1", "lead-1-2", "lead-1-3"], slugs)
    wanted = sorted(f"{kind}-{slug}.wav" for slug in slugs
                    for kind in ("dry", "track")) + ["bus-input.wav"]
    stems = os.listdir(folder + "/stems")
    check("stems are called so", sorted(stems) == sorted(wanted), stems)
    check("JSON has the stage", lanes[0]["stages"][0]["name"] == "d&'ay")
    return slugs


def check_html(folder, title, slugs, has_sound=0):
    with open(folder + "/report.html", "rb") as file:
        text = file.read().decode("utf-8")  # Or it throws
    check("HTML holds no controls",
          not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f]", text))
    page = Page()
    page.feed(text)
    page.close()
    check("its elements are closed in order", not page.faults and not page.open,
          page.faults[:5] + page.open)
    check("nothing of a name became an element",
          page.tags.count("script") == has_sound and "<b>bold" not in text)
    check("each id is another, without spaces",
          len(set(page.ids)) == len(page.ids) and
          not any(re.search(r"\s|^$", i) for i in page.ids), page.ids)
    check("each link leads to an id",
          all(link[0] == "#" and link[1:] in page.ids for link in page.links),
          page.links)
    check("each track has its id",
          all("track-" + slug in page.ids for slug in slugs))
    headings = page.texts["h2"]
    check("headings say the names",
          all("Track " + shown(name) in headings for name in NAMES), headings)
    check("links say the names",
          all(page.texts["a"].count(shown(name)) == 2 for name in NAMES))
    check("the file is named", "a <&'\" ; b.wav through t.ini"
          in page.texts["small"], page.texts["small"][:2])
    check("the title is that of the session",
          page.texts["title"] == [title] and page.texts["h1"] == [title],
          page.texts["title"])
    plots = re.findall(r"<svg.*?</svg>", text, re.DOTALL)
    names, ids = [], []
    for plot in plots:
        tree = xml.etree.ElementTree.fromstring(plot)  # Or it throws
        names.append(tree.get("aria-label"))
        ids += [e.get("id") for e in tree.iter() if e.get("id")]
        links = {value[1:] for e in tree.iter() for key, value in e.items()
                 if key.endswith("href")}
        links |= set(re.findall(r"url\(#([^)]*)\)", plot))
        if not links <= {e.get("id") for e in tree.iter()}:
            check("a plot refers to itself only", False, links)
    # The mix has three, each track two
    check("plots are XML, and have names", len(plots) == 3 + 2 * len(NAMES) and
          names[:5] == ["Spectrum", "In mono", "Correlation", "Gain reduction",
                        "All stages"], names)
    check("and share nothing", len(ids) == len(set(ids)), ids[:5])


def write_takes():
    """A clean take, and one with a silent channel, DC and flat tops"""
    for path, channels in ("good.wav", 1), ("bad.wav", 2):
        with wave.open(path, "wb") as file:
            file.setparams((channels, 2, 48000, 0, "NONE", ""))
            for i in range(4 * 48000):
                t = i % 48000 / 48000
                x = 12000 * math.exp(-3 * t) * math.sin(440 * math.pi * t)
                x = round(x) + i % 3
                if channels == 2:
                    x = min(x, 8000) + 3000
                both = (x, 0)[:channels]
                file.writeframes(struct.pack(f"<{channels}h", *both))
    with open("takes.ini", "w", encoding="utf-8") as file:
        file.write("[track good]\nfile = good.wav\ngain_db = -20\n"
                   "[track \"bad <b>\"]\nfile = bad.wav\nsetup = t.ini\n"
                   "[bus]\nsetup = t.ini\n[output]\ntail_s = 0\n")


def check_takes(command):
    write_takes()
    done = subprocess.run(command, capture_output=True, check=False)
    said = done.stderr.decode("utf-8")
    check("bad takes are mixed", not done.returncode, said)
    with open("takes/report.json", encoding="utf-8") as file:
        good, bad, bus = json.load(file)["lanes"]
    check("nothing is said about a good take", good["take_checks"] == [])
    check("a bus has no take", "take_checks" not in bus)
    lines = bad["take_checks"]
    check("each line has its keys", all(
        list(line) == ["kind", "at_s", "value", "unit", "text"]
        for line in lines), lines)
    check("kinds and units", [(line["kind"], line["unit"]) for line in lines]
          == [("clipping", "%"), ("silent_channel", ""), ("dc", "FS")], lines)
    check("flat tops begin with the first stroke",
          0 < lines[0]["at_s"] < 0.001 and 0 < lines[0]["value"] < 10, lines)
    check("the right channel is everywhere silent",
          lines[1]["at_s"] is None and lines[1]["value"] == 2, lines)
    check("DC is that of the file", abs(lines[2]["value"] * 32768 - 3000) < 30,
          lines)
    wanted = [f"dustcap-session: warning: track 'bad <b>': {line['text']}"
              for line in lines]
    check("the terminal says the same", said.splitlines() == wanted, said)
    page = Page()
    with open("takes/report.html", encoding="utf-8") as file:
        page.feed(file.read())
    page.close()
    check("and the page", page.texts["li"] == [line["text"] for line in lines],
          page.texts["li"])
    check("whose elements are closed in order",
          not page.faults and not page.open, page.faults[:5] + page.open)
    with wave.open(f"takes/stems/dry-{bad['slug']}.wav", "rb") as file:
        check("it is a mono track", file.getnchannels() == 1)


def main():
    program, fixture = sys.argv[1:]
    copy_bundle(fixture, "bundle")
    write_session("s.ini")
    command = [program, "--bundle", "bundle", "--json", "-o", "out", "s.ini"]
    done = subprocess.run(command, capture_output=True, check=False)
    check("the session is mixed", not done.returncode and not done.stderr,
          done.stderr)
    check("its table holds no controls",
          not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]",
                        done.stdout.decode("utf-8")), done.stdout)
    check_html("out", "s.ini", check_json("out"))
    odd = b"s\xff<&>.ini"
    os.rename("s.ini", odd)
    command[-1:] = [odd]
    done = subprocess.run(command, capture_output=True, check=False)
    check("so is one whose name is no UTF-8", not done.returncode, done.stderr)
    check_html("out", "s\ufffd<&>.ini", check_json("out"))
    check_takes([program, "--bundle", "bundle", "--json", "--quiet", "-o",
                 "takes", "takes.ini"])
    print(f"1..{count}")


start = os.getcwd()
with tempfile.TemporaryDirectory() as place:
    os.chdir(place)
    main()
    os.chdir(start)
sys.exit(failed > 0)
