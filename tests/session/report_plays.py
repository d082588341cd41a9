# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# report_plays.py SESSION_PROGRAM RENDER_PROGRAM FIXTURE_FOLDER BUNDLE_FOLDER
#   SETUPS_FOLDER
# Opens the report in a headless browser and uses it: what plays is in step and
# equally loud, switches do not click, blind comparisons count right, keys alone
# are enough, and nothing leaves the page.  Skipped where there is no browser.

import array
import base64
import json
import math
import os
import random
import re
import subprocess
import sys
import tempfile
import wave

from browser import Browser, BrowserError, find

RATE = 48000
CONTROLS = {"play", "position", "a", "hold-a", "b", "hold-b", "mono", "loop",
            "volume"}

count = failed = 0


def check(what, is_right, more=""):
    global count, failed
    count += 1
    failed += not is_right
    print(f"{'ok' if is_right else 'not ok'} {count} - {what}", flush=True)
    if not is_right:
        print("# " + ascii(more)[:2000], flush=True)


# What is played


def write_take(path, rate):
    """3 s of silence, then strokes from soft to hard for 14 s"""
    chance = random.Random(7)
    frames = array.array("h", bytes(2 * 17 * rate))
    for stroke in range(28):
        peak = 9000 * 10 ** (-(stroke * 5 % 7) * 3 / 20)
        f = chance.choice((82.4, 110.0, 146.8, 196.0, 329.6))
        start = 3 * rate + stroke * rate // 2
        for i in range(rate // 2):
            t = i / rate
            x = sum(math.sin(2 * math.pi * f * k * t) / k for k in (1, 2, 3))
            x = x * math.exp(-4 * t) + (chance.random() - 0.5) * math.exp(-99 * t)
            frames[start + i] = round(peak * x / 2)
    with wave.open(path, "wb") as file:
        file.setparams((1, 2, rate, 0, "NONE", ""))
        file.writeframes(frames.tobytes())


def mix(program, bundle, setup, rate, out, listen=""):
    take, session = f"take-{rate}.wav", f"{out}.ini"
    if not os.path.exists(take):
        write_take(take, rate)
    with open(session, "w", encoding="utf-8") as file:
        file.write(f"[track \"a <b>\"]\nfile = {take}\nsetup = {setup}\n"
                   f"[output]\ntail_s = 0\n{listen}")
    done = subprocess.run([program, "--bundle", bundle, "--quiet", "-o", out,
                           session], capture_output=True, check=False)
    check(out + " is mixed", not done.returncode and not done.stderr,
          done.stderr)
    return out + "/report.html"


def read_stem(path):
    """The first channel of a file of 24 bits"""
    with wave.open(path, "rb") as file:
        data, step = file.readframes(file.getnframes()), file.getnchannels() * 3
    return [int.from_bytes(data[i:i + 3], "little", signed=True) / 2**23
            for i in range(0, len(data), step)]


SOUND = """
(async () => {
  const text = document.getElementById('sound-%d-%d').content.textContent;
  const buffer = await decodeSound(text);
  return [...Array(buffer.numberOfChannels).keys()].map((k) => {
    const bytes = new Uint8Array(buffer.getChannelData(k).buffer);
    let s = '';
    for (let i = 0; i < bytes.length; i += 32768) {
      s += String.fromCharCode(...bytes.subarray(i, i + 32768));
    }
    return btoa(s);
  });
})()
"""


def to_floats(text):
    return array.array("f", base64.b64decode(text))


def sound(browser, thing, version):
    """The channels of a version, as the page decodes it"""
    return [to_floats(text) for text in browser.run(SOUND % (thing, version))]


def lag(x, y, at):
    """By how many frames y is late, by the cross-correlation of their slopes:
    those have a sharp peak, and nothing of what coding turns at the lowest
    frequencies (Opus takes DC away by a high-pass at 3 Hz)"""
    n, most = 6000, 40
    a = [x[i + 1] - x[i] for i in range(at, at + n)]
    b = [y[i + 1] - y[i] for i in range(at - most, at + n + most)]
    def product(d):
        return sum(v * b[i + most + d] for i, v in enumerate(a))
    return max(range(-most, most + 1), key=product)


def lufs(channels):
    """Integrated loudness by ITU-R BS.1770-5: annex 1, tables 1 and 2 for 48 kHz;
    mono as heard from two loudspeakers"""
    hop = RATE // 10
    hops = [0.0] * (len(channels[0]) // hop)
    for x in channels:
        a = b = c = d = 0.0  # Transposed forms II, one after the other
        for i in range(len(hops)):
            total = 0.0
            for v in x[i * hop:(i + 1) * hop]:
                y = 1.53512485958697 * v + a
                a = -2.69169618940638 * v + 1.69065929318241 * y + b
                b = 1.19839281085285 * v - 0.73248077421585 * y
                z = y + c
                c = -2.0 * y + 1.99004745483398 * z + d
                d = y - 0.99007225036621 * z
                total += z * z
            hops[i] += total / hop
    if len(channels) == 1:
        hops = [2.0 * power for power in hops]
    blocks = [sum(hops[i:i + 4]) / 4 for i in range(len(hops) - 3)]
    def level(powers):
        return -0.691 + 10 * math.log10(sum(powers) / len(powers))
    loud = [power for power in blocks if power and level([power]) > -70]
    gate = level(loud) - 10
    return level([power for power in loud if level([power]) > gate])


def check_equal_stage(browser, page, rate):
    """A stage that only delays and amplifies: all versions must be the same"""
    browser.open(page)
    dry, = sound(browser, 1, 0)
    wet, = sound(browser, 1, 1)
    check(f"{rate} Hz: 12 s are decoded at 48 kHz",
          len(dry) == len(wet) == 12 * RATE, (len(dry), len(wet)))
    late = lag(dry, wet, 60000)
    check(f"{rate} Hz: a delay of 37 frames is taken out", late == 0, late)
    ends = max(abs(x[i]) for x in (dry, wet) for i in (0, -1))
    check(f"{rate} Hz: it begins and ends in silence", ends < 1e-3, ends)
    error = sum((x - y) ** 2 for x, y in zip(dry, wet))
    share = 10 * math.log10(max(error, 1e-30) / sum(x * x for x in dry))
    check(f"{rate} Hz: and both are the same but for the coding", share < -30,
          share)


def check_stems(browser, page, slug):
    """Decoded versions beside the files that are known to be in step"""
    folder = os.path.dirname(page)
    browser.open(page)
    first, = browser.run("[...document.querySelectorAll('.versions')].slice(1)"
                         ".map((t) => [t.dataset.from, t.dataset.length, "
                         "t.querySelectorAll('input').length])")
    start, last = round(float(first[0]) * RATE), first[2] - 1
    check("the excerpt has 12 s and begins with the playing", first[1] ==
          "12.000" and 2.8 <= float(first[0]) <= 5.0, first)
    check("each stage can be heard", last == 7, first)
    levels = []
    for version, stem in (0, "dry"), (last, "track"):
        decoded = sound(browser, 1, version)
        file = read_stem(f"{folder}/stems/{stem}-{slug}.wav")[start:]
        late = lag(file, decoded[0], 96000)
        check(f"{stem}: in step with its file", late == 0, late)
        levels.append(lufs(decoded))
    levels.append(lufs(sound(browser, 1, 3)))
    levels += [lufs(sound(browser, 0, i)) for i in (0, 1)]
    check("all versions have one loudness, to 0.2 LU",
          max(levels) - min(levels) < 0.2, levels)
    said = browser.run("document.querySelector('#deck .quiet').textContent")
    named = float(re.search("\u2212([0-9.]+) LUFS", said)[1])
    check("it is the one that the page names", abs(named + levels[0]) < 0.2,
          (said, levels))
    check("which is -23 LUFS or less", named >= 23.0, named)


# Switching, by the page's own code in an OfflineAudioContext.  It can be stopped
# only between render quanta of 128 frames.

AT = 24064

SWITCH = """
(async () => {
  const context = new OfflineAudioContext(1, 48000, 48000);
  const buffers = [0, 1].map((k) => {
    const buffer = context.createBuffer(1, 48000, 48000);
    buffer.getChannelData(0).forEach((_, i, x) => {
      x[i] = 0.5 * Math.sin(2 * Math.PI * 110 * i / 48000 + k * 2);
    });
    return buffer;
  });
  const desk = createDesk(context, buffers, 0, %s);
  desk.start(0, 0, false, null);
  await new Promise((resolve) => {
    context.suspend(24064 / 48000).then(() => {
      desk.switchTo(1);
      context.resume();
      resolve();
    });
    window.rendered = context.startRendering();
  });
  const x = (await window.rendered).getChannelData(0);
  let s = '';
  new Uint8Array(x.buffer).forEach((b) => { s += String.fromCharCode(b); });
  return btoa(s);
})()
"""


def high_passed_peak_db(x, start, end):
    """The peak above 4 kHz: a fourth-order Butterworth filter, by the formulas
    of R. Bristow-Johnson, "Cookbook formulae for audio equalizer biquad filter
    coefficients\""""
    w = 2 * math.pi * 4000 / RATE
    for q in 0.54119610, 1.30656296:
        alpha, c = math.sin(w) / (2 * q), math.cos(w)
        b0, b1 = (1 + c) / 2 / (1 + alpha), -(1 + c) / (1 + alpha)
        a1, a2 = -2 * c / (1 + alpha), (1 - alpha) / (1 + alpha)
        y, s1, s2 = [], 0.0, 0.0
        for v in x:
            z = b0 * v + s1
            s1, s2 = b1 * v - a1 * z + s2, b0 * v - a2 * z
            y.append(z)
        x = y
    return 20 * math.log10(max(abs(v) for v in x[start:end]))


def check_switch(browser, gap):
    kind = "blind switch" if gap else "switch"
    x = to_floats(browser.run(SWITCH % json.dumps(gap)))
    def sine(i, k):
        return 0.5 * math.sin(2 * math.pi * 110 * i / RATE + 2 * k)
    before = max(abs(x[i] - sine(i, 0)) for i in range(1000, AT))
    check(kind + ": nothing changes before it", before < 1e-5, before)
    after = max(abs(x[i] - sine(i, 1)) for i in range(AT + 480, 47000))
    check(kind + ": after 10 ms it is over", after < 1e-5, after)
    click = high_passed_peak_db(x, AT - 1000, AT + 2000)
    check(kind + ": no click above -60 dBFS", click < -60, click)
    hard = [sine(i, int(i >= AT)) for i in range(48000)]
    bad = high_passed_peak_db(hard, AT - 1000, AT + 2000)
    check(kind + ": a hard one would have one", bad > -60, bad)


# Handling


def text(browser, name):
    return browser.run(f"document.getElementById('{name}').textContent")


def check_keys(browser, page):
    browser.open(page)
    volume = browser.run("document.getElementById('volume').value")
    caution = browser.run("document.querySelector('.caution').textContent")
    check("it starts quiet, and says so", volume == "-20" and
          "starts quiet" in caution and "\u221220 dB" in caution, caution)
    check("nothing plays before it is told to", text(browser, "play") == "Play")
    browser.key(" ")
    browser.wait("document.getElementById('play').textContent === 'Pause'")
    first = text(browser, "time")
    browser.wait(f"document.getElementById('time').textContent !== '{first}'")
    check("the space bar plays", True)
    said = []
    for key, shift in (("ArrowRight", 0), ("ArrowLeft", 0), ("b", 0), ("a", 0),
                       ("ArrowRight", 0), ("A", 1), ("b", 0), ("a", 0)):
        browser.key(key, bool(shift))
        said.append(text(browser, "said").replace("Playing: Mix, ", ""))
    dry, full = "dry takes, summed", "mix"
    check("arrows walk, A and B call up, with Shift they hold",
          said == [full, dry, full, dry, full, full, full, full], said)
    pressed = []
    for key in "m", "l", "m", "l":
        browser.key(key)
        pressed.append(browser.run("['mono', 'loop'].map((id) => document."
                                   "getElementById(id).ariaPressed)"))
    check("M is mono, L is loop", pressed == [
        ["true", "true"], ["true", "false"], ["false", "false"],
        ["false", "true"]], pressed)
    heads = browser.run("[...document.querySelectorAll('.over-time')].map((p) "
                        "=> [p.dataset.lane, !p.firstChild.hidden])")
    check("the playhead is in the mix's plots over time",
          ["bus-bus", True] in heads and ["track-a-b", True] not in heads, heads)
    browser.key(" ")
    check("the space bar pauses", text(browser, "play") == "Play")
    browser.run("document.getElementById('keys').checked = false")
    browser.key(" ")
    check("keys can be switched off", text(browser, "play") == "Play")
    browser.run("document.getElementById('keys').checked = true")
    browser.run("document.activeElement.blur()")
    seen, rings = set(), True
    for _ in range(40):
        browser.key("Tab")
        name, ring = browser.run("[document.activeElement.id, getComputedStyle("
                                 "document.activeElement).outlineStyle]")
        seen.add(name)
        rings = rings and (ring != "none" or not name)
    check("Tab reaches all controls", CONTROLS <= seen, CONTROLS - seen)
    check("and shows where it is", rings)


def guessing(right, tries=10):
    return sum(math.comb(tries, k) for k in range(right, tries + 1)) / 2**tries


STUB = """
window.bits = %s;
crypto.getRandomValues = (x) => { x[0] = window.bits.shift(); return x; };
"""
# Which of both X is, heard where the sound is
SPY = """
window.heard = [];
(() => {
  const original = createDesk;
  window.createDesk = (context, buffers, shown, gap) => {
    window.heard.push(gap ? buffers.indexOf(buffers[2]) : -1);
    return original(context, buffers, shown, gap);
  };
})();
"""
# All of the page but what moves with time
STILL = """
(() => {
  const copy = document.documentElement.cloneNode(true);
  copy.querySelectorAll('#time, #position, .playhead, template, script')
    .forEach((e) => e.remove());
  return copy.outerHTML;
})()
"""


def open_blind(browser, page, bits):
    added = browser.call("Page.addScriptToEvaluateOnNewDocument",
                         source=STUB % json.dumps(bits))["identifier"]
    browser.open(page)
    browser.call("Page.removeScriptToEvaluateOnNewDocument", identifier=added)
    browser.run(SPY)
    browser.run("document.getElementById('blind').open = true;"
                "document.getElementById('blind-start').click()", True)
    browser.wait("window.heard.length === 1")


def check_blind(browser, page, bits, answers):
    open_blind(browser, page, bits + [0])
    for i, letter in enumerate(answers):
        browser.wait(f"window.heard.length === {i + 1}")
        for key in "a", "b", "x":
            browser.key(key)
        check_hidden = text(browser, "blind-count") == f"Try {i + 1} of 10"
        if not check_hidden:
            check("tries are counted", False, text(browser, "blind-count"))
        browser.key("1" if letter == "A" else "2")
    browser.wait("!document.getElementById('blind-result').hidden")
    heard = browser.run("window.heard")
    check("X was what the lot said", heard == bits, (heard, bits))
    right = sum("AB"[bit & 1] == letter for bit, letter in zip(bits, answers))
    wanted = (f"{right} of 10 right. Guessing alone gives {right} or more in "
              f"{100 * guessing(right):.1f} of 100 such comparisons.")
    said = text(browser, "blind-right")
    check(f"{right} right answers are counted, beside guessing",
          said == wanted, (said, wanted))
    rows = browser.run("[...document.getElementById('blind-table').rows].slice(1"
                       ").map((row) => [...row.cells].map((c) => c.textContent))")
    check("the result lists the tries", rows == [
        [str(i + 1), "AB"[bit & 1], said, "right" if "AB"[bit & 1] == said
         else "wrong"] for i, (bit, said) in enumerate(zip(bits, answers))], rows)


def check_blind_hides(browser, page):
    pages = []
    for bit in 0, 1:
        open_blind(browser, page, [bit, 0])
        browser.wait("document.getElementById('play').textContent === 'Pause'")
        seen = []
        for key in "x", "a", "x", "b", "x":
            browser.key(key)
            seen.append(browser.run(STILL))
        pages.append(seen)
    check("the page is the same whatever X is", pages[0] == pages[1])
    check("and shows that X is heard", "heard" not in pages[0][0] or
          'id="x" aria-pressed="true"' in pages[0][0])
    fair = browser.run("new Promise((resolve) => { const f = document."
                       "createElement('iframe'); document.body.append(f); "
                       "const c = f.contentWindow.crypto; let n = 0; "
                       "crypto.getRandomValues = (x) => c.getRandomValues(x); "
                       "for (let i = 0; i < 4000; ++i) { n += "
                       "createBlind().pick(0, 1); } f.remove(); resolve(n); })")
    # Five standard deviations of a binomial distribution: 5 sqrt(4000) / 2
    check("the lot is fair", abs(fair - 2000) < 158, fair)


# Accessibility

ROLES = {"button", "radio", "slider", "checkbox", "link", "image", "region",
         "DisclosureTriangle", "group", "radiogroup"}
CONTRAST = """
(() => {
  const numbers = (c) => c.match(/[0-9.]+/g).map(Number);
  const part = (v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  const light = ([r, g, b]) => 0.2126 * part(r / 255) + 0.7152 * part(g / 255)
    + 0.0722 * part(b / 255);
  const ratio = (a, b) => {
    const [x, y] = [light(a), light(b)].sort((p, q) => q - p);
    return (x + 0.05) / (y + 0.05);
  };
  const ground = (e) => {
    for (; e; e = e.parentElement) {
      const c = numbers(getComputedStyle(e).backgroundColor);
      if (c.length < 4 || c[3] === 1) {
        return c;
      }
      if (c[3] > 0) {
        return [NaN, NaN, NaN];
      }
    }
    return [255, 255, 255];
  };
  const bad = [];
  let n = 0;
  document.querySelectorAll('details').forEach((d) => { d.open = true; });
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || !e.checkVisibility() ||
        e.closest('script, template, :disabled')) {
      continue;
    }
    const style = getComputedStyle(e);
    const r = ratio(numbers(style.color), ground(e));
    ++n;
    if (!(r >= 4.5)) {
      bad.push([walk.currentNode.data.trim().slice(0, 40), r]);
    }
  }
  document.querySelectorAll('svg path').forEach((e) => {
    const stroke = getComputedStyle(e).stroke;
    if (stroke.startsWith('rgb') && e.style.stroke !== 'var(--rule)') {
      const r = ratio(numbers(stroke), ground(e));
      ++n;
      if (!(r >= 3)) {
        bad.push(['curve ' + stroke, r]);
      }
    }
  });
  /* Letters of plots are pictures of letters */
  document.querySelectorAll('svg use').forEach((e) => {
    const r = ratio(numbers(getComputedStyle(e).fill), ground(e));
    ++n;
    if (!(r >= 4.5)) {
      bad.push(['letter', r]);
    }
  });
  return [n, bad];
})()
"""


def check_access(browser, page):
    """WCAG 2.2: 1.4.3, 1.4.11 (contrast), 4.1.2 (names), 1.4.10 (reflow)"""
    browser.open(page)
    browser.run("document.querySelectorAll('details').forEach((d) => "
                "{ d.open = true; })")
    nodes = browser.call("Accessibility.getFullAXTree")["nodes"]
    roles = [(node["role"]["value"], node.get("name", {}).get("value", ""))
             for node in nodes if not node["ignored"]]
    nameless = [role for role, name in roles
                if role in ROLES - {"group"} and not name.strip()]
    check("all controls and figures have names", not nameless and
          sum(role == "button" for role, _ in roles) >= 7, nameless)
    for theme in "light", "dark":
        browser.call("Emulation.setEmulatedMedia", features=[
            {"name": "prefers-color-scheme", "value": theme}])
        n, bad = browser.run(CONTRAST)
        check(f"{theme}: contrast of text 4.5, of curves 3", n > 500 and not bad,
              (n, bad[:10]))
    for width in 400, 1280:
        browser.call("Emulation.setDeviceMetricsOverride", width=width,
                     height=800, deviceScaleFactor=1, mobile=False)
        wide = browser.run("document.documentElement.scrollWidth")
        check(f"it fits {width} px", wide <= width, wide)
    figures = browser.run("[...document.querySelectorAll('figure')].map((f) => "
                          "f.querySelectorAll('details table').length)")
    check("each plot has its table", len(figures) > 9 and
          all(n == 1 for n in figures), figures)


def check_take(browser, render, fixture):
    """The page of a single take has one thing to hear, and plays it"""
    done = subprocess.run([render, "--bundle", fixture, "--setup", "t.ini",
                           "-o", "take.wav", "--report", "--quiet",
                           f"take-{RATE}.wav"], capture_output=True, check=False)
    check("a take is rendered with its page", not done.returncode and
          not done.stderr, done.stderr)
    browser.open("take-report.html")
    names = browser.run("[...document.querySelectorAll('.versions .name')].map("
                        "(e) => e.textContent)")
    check("it has each stage", names == ["dry", "delay (finished)"], names)
    browser.key(" ")
    browser.wait("document.getElementById('play').textContent === 'Pause'")
    browser.key("b")
    said = text(browser, "said")
    check("and plays", said == f"Playing: take-{RATE}.wav, delay (finished)",
          said)
    check("without complaint", not browser.complaints(), browser.complaints())


def check_all(browser, program, render, fixture, bundle, setups):
    equal = mix(program, fixture, "t.ini", RATE, "equal")
    check_equal_stage(browser, equal, RATE)
    check_equal_stage(browser, mix(program, fixture, "t.ini", 44100, "other"),
                      44100)
    check_switch(browser, False)
    check_switch(browser, True)
    full = mix(program, bundle, setups + "/lead.ini", RATE, "full")
    check_stems(browser, full, "a-b")
    check_keys(browser, equal)
    chance = random.Random(3)
    for _ in range(2):
        bits = [chance.getrandbits(1) for _ in range(10)]
        check_blind(browser, equal, bits,
                    [chance.choice("AB") for _ in range(10)])
    check_blind(browser, equal, [1, 0] * 5, ["B", "A"] * 5)
    check_blind_hides(browser, equal)
    check_access(browser, full)
    check_quiet(browser, full)
    check_take(browser, render, fixture)


def check_quiet(browser, page):
    """The events are those since the page was opened"""
    browser.open(page)
    browser.key(" ")
    browser.wait("document.getElementById('play').textContent === 'Pause'")
    browser.run("new Promise((resolve) => setTimeout(resolve, 500))")
    browser.key(" ")
    check("no complaint in the console", not browser.complaints(),
          browser.complaints())
    asked = browser.requests()
    check("the page asks for itself alone", len(asked) == 1 and
          asked[0].startswith("file://"), asked)
    blocked = browser.run("fetch('file:///etc/hostname').then(() => 'came', "
                          "() => 'refused')")
    check("and could ask for nothing else", blocked == "refused", blocked)


def main():
    paths = [os.path.abspath(path) for path in sys.argv[1:]]
    start = os.getcwd()
    with tempfile.TemporaryDirectory() as place:
        os.chdir(place)
        with open("t.ini", "w", encoding="utf-8") as file:
            file.write("[delay]\ngain_db = 6\n")
        browser = None
        try:
            browser = Browser(place)
            check_all(browser, *paths)
        except BrowserError as error:
            check("the browser answers", False, str(error))
        finally:
            if browser:
                browser.close()
            os.chdir(start)
    print(f"1..{count}")


if find():
    main()
else:
    print("1..0 # SKIP no browser here")
sys.exit(failed > 0)
