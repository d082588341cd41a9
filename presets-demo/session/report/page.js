/* SPDX-FileCopyrightText: 2026 The Dustcap authors */
/* SPDX-License-Identifier: ISC */

/* The controls of the part that plays */
'use strict';

(() => {
  const at = (id) => document.getElementById(id);
  const things = [...document.querySelectorAll('.versions')];
  const sounds = new Map(); /* Of a thing: a promise of its decoded versions */
  const held = things.map((thing) =>
    ({a: 0, b: thing.querySelectorAll('input').length - 1}));
  let context = null;
  let desk = null;     /* While it plays */
  let heard = '';      /* In a blind comparison: "a", "b" or "x" */
  let blind = null;    /* While one runs */
  let now = 0;         /* Number of the thing */
  let offset = 0;      /* Where the playing began, in seconds of the excerpt */
  let startedAt = 0;   /* In seconds of the context */
  let turn = 0;        /* Of start() and stop(): the last one counts */

  /* What is there */

  const inputs = (i) => [...things[i].querySelectorAll('input')];
  const version = () => inputs(now).findIndex((input) => input.checked);
  const nameOf = (i) =>
    inputs(now)[i].parentNode.querySelector('.name').textContent;
  const thingName = () => things[now].dataset.name;
  const fromS = () => Number(things[now].dataset.from);
  const lengthS = () => Number(things[now].dataset.length);
  const isOn = (id) => at(id).getAttribute('aria-pressed') === 'true';
  const press = (id, on) => at(id).setAttribute('aria-pressed', String(on));

  const clock = (s) => {
    const tenths = Math.floor(s * 10 + 1e-6);
    const seconds = ((tenths % 600) / 10).toFixed(1).padStart(4, '0');
    return `${Math.floor(tenths / 600)}:${seconds}`;
  };

  const say = (text) => { at('said').textContent = text; };

  const decoded = (i) => {
    if (!sounds.has(i)) {
      sounds.set(i, Promise.all(inputs(i).map((_, k) =>
        decodeSound(at(`sound-${i}-${k}`).content.textContent))));
    }
    return sounds.get(i);
  };

  /* Where the sound that comes out now is in the excerpt */
  const position = () => {
    if (!desk) {
      return offset;
    }
    const late = startedAt + (context.outputLatency || 0);
    const s = offset + Math.max(0, context.currentTime - late);
    return isOn('loop') ? s % lengthS() : Math.min(s, lengthS());
  };

  /* Playing */

  const halt = () => {
    ++turn;
    if (desk) {
      offset = position();
      desk.stop(context.currentTime + AHEAD_S);
      desk = null;
    }
  };

  const ended = () => {
    desk = null;
    offset = 0;
    show();
  };

  /* Ends once sound runs: a browser without a sound device may never say so.
     3 s are time enough for one that wakes. */
  const running = () => Promise.race([
    context.resume(),
    new Promise((_, fail) => setTimeout(
      () => fail(new Error('it finds no sound device.')), 3000)),
  ]);

  const begin = async () => {
    halt();
    const mine = turn;
    context = context || new AudioContext({sampleRate: RATE_HZ});
    const [buffers] = await Promise.all([decoded(now), running()]);
    if (mine !== turn) {
      return;
    }
    const {a, b} = held[now];
    const three = blind &&
      [buffers[a], buffers[b], blind.pick(buffers[a], buffers[b])];
    desk = createDesk(context, three || buffers,
                      blind ? 'abx'.indexOf(heard) : version(), Boolean(blind));
    desk.presetVolume(Number(at('volume').value));
    startedAt = context.currentTime + 0.03;
    desk.start(startedAt, offset, isOn('loop'), ended);
    desk.setMono(isOn('mono'));
    show();
  };

  const start = () => begin().catch((error) => {
    say(`This browser cannot play here: ${error.message}`);
  });

  const stop = () => {
    halt();
    show();
  };

  const playOrPause = () => desk ? stop() : start();

  const seek = (s) => {
    const wasPlaying = Boolean(desk);
    halt();
    offset = s;
    if (wasPlaying) {
      start();
    }
    show();
  };

  /* Choosing */

  const choose = (i) => {
    if (blind || i < 0 || i >= inputs(now).length) {
      return;
    }
    inputs(now)[i].checked = true;
    if (desk) {
      desk.switchTo(i);
    }
    show();
  };

  const chooseThing = (i) => {
    const wasPlaying = Boolean(desk);
    halt();
    offset = 0;
    now = i;
    if (wasPlaying) {
      start();
    }
    show();
  };

  const callUp = (letter) => {
    if (!blind) {
      if (letter !== 'x') {
        choose(held[now][letter]);
      }
      return;
    }
    heard = letter;
    if (desk) {
      desk.switchTo('abx'.indexOf(letter));
    }
    show();
  };

  const hold = (letter) => {
    if (!blind) {
      held[now][letter] = version();
      show();
    }
  };

  const toggleMono = () => {
    press('mono', !isOn('mono'));
    if (desk) {
      desk.setMono(isOn('mono'));
    }
  };

  /* Counts from here on: a piece that was repeated is played to its end */
  const toggleLoop = () => {
    offset = position();
    press('loop', !isOn('loop'));
    if (desk) {
      startedAt = context.currentTime - (context.outputLatency || 0);
      desk.setLoop(isOn('loop'));
    }
  };

  /* Blind */

  const startBlind = () => {
    const {a, b} = held[now];
    if (a === b) {
      say('A and B hold the same version. Hold another one as A or B first.');
      return;
    }
    blind = createBlind();
    heard = 'x';
    at('blind-result').hidden = true;
    offset = 0;
    start();
    show();
    at('x').focus();
  };

  const stopBlind = () => {
    blind = null;
    stop();
    at('blind-start').focus();
  };

  const addRow = (table, cells, tag) => {
    const row = table.insertRow();
    cells.forEach((text) => {
      const cell = row.appendChild(document.createElement(tag));
      cell.textContent = text;
    });
  };

  const showResult = ({tries, right, chance}) => {
    const table = at('blind-table');
    const {a, b} = held[now];
    while (table.rows.length) {
      table.deleteRow(0);
    }
    addRow(table, ['try', 'X was', 'you said', ''], 'th');
    tries.forEach(({was, said}, i) => addRow(table,
      [i + 1, was, said, was === said ? 'right' : 'wrong'], 'td'));
    at('blind-what').textContent =
      `${document.title}, ${thingName()}, ${clock(fromS())} to ` +
      `${clock(fromS() + lengthS())}. A: ${nameOf(a)}. B: ${nameOf(b)}. ` +
      `${new Date().toLocaleString()}.`;
    at('blind-right').textContent =
      `${right} of ${tries.length} right. Guessing alone gives ${right} or ` +
      `more in ${(100 * chance).toFixed(1)} of 100 such comparisons.`;
    at('blind-result').hidden = false;
    at('blind-result').focus();
  };

  const answer = (letter) => {
    if (!blind) {
      return;
    }
    const running = blind;
    if (running.answer(letter)) {
      blind = null;
      stop();
      showResult(running.result());
      return;
    }
    heard = 'x';
    start();
    show();
  };

  const printResult = () => {
    document.body.classList.add('result-only');
    window.print();
    document.body.classList.remove('result-only');
  };

  /* Showing */

  const showVersions = () => {
    const {a, b} = held[now];
    things.forEach((thing, i) => {
      thing.hidden = i !== now;
      thing.disabled = Boolean(blind);
    });
    inputs(now).forEach((input, i) => {
      input.parentNode.querySelector('.held').textContent =
        (i === a ? ' A' : '') + (i === b ? ' B' : '');
    });
    at('a').querySelector('span').textContent = nameOf(a);
    at('b').querySelector('span').textContent = nameOf(b);
    press('a', blind ? heard === 'a' : version() === a);
    press('b', blind ? heard === 'b' : version() === b);
    press('x', Boolean(blind) && heard === 'x');
  };

  const show = () => {
    showVersions();
    ['hold-a', 'hold-b', 'blind-start'].forEach((id) => {
      at(id).disabled = Boolean(blind);
    });
    at('things').disabled = Boolean(blind);
    at('blind-try').hidden = !blind;
    at('play').textContent = desk ? 'Pause' : 'Play';
    at('position').max = lengthS();
    if (blind) {
      at('blind-count').textContent =
        `Try ${blind.number()} of ${BLIND_TRIES}`;
    }
    const what = blind ? heard.toUpperCase() : nameOf(version());
    say(`${desk ? 'Playing' : 'Ready'}: ${thingName()}, ${what}`);
    showTime();
  };

  /* The playhead stands in all plots over time that belong to what plays */
  const showPlayheads = (s) => {
    const lane = things[now].dataset.lane;
    document.querySelectorAll('.over-time').forEach((plot) => {
      const head = plot.querySelector('.playhead');
      const length = Number(plot.dataset.length);
      head.hidden = plot.dataset.lane !== lane || s > length;
      head.style.left = `${100 * s / length}%`;
    });
  };

  const showTime = () => {
    const s = position();
    const text = clock(fromS() + s);
    at('position').value = s;
    at('position').setAttribute('aria-valuetext', text);
    at('time').textContent = text;
    showPlayheads(fromS() + s);
  };

  const tick = () => {
    if (desk) {
      showTime();
    }
    requestAnimationFrame(tick);
  };

  /* Handling */

  const keys = {
    'a': () => callUp('a'),
    'b': () => callUp('b'),
    'x': () => callUp('x'),
    'A': () => hold('a'),
    'B': () => hold('b'),
    'm': toggleMono,
    'l': toggleLoop,
    '1': () => answer('A'),
    '2': () => answer('B'),
    ' ': playOrPause,
    'ArrowLeft': () => choose(version() - 1),
    'ArrowRight': () => choose(version() + 1),
  };

  /* Keys that the focused element takes itself: the space bar on what can be
     pressed, arrows on sliders, choices and tables that scroll */
  const isTaken = (key, element) => {
    const type = element.type || element.tagName.toLowerCase();
    if (key === ' ') {
      return ['button', 'checkbox', 'summary', 'a'].includes(type);
    }
    return key.startsWith('Arrow') &&
      (['range', 'radio'].includes(type) || element.tabIndex === 0 &&
       element.classList.contains('scroll'));
  };

  const onKey = (event) => {
    const key = event.key === 'M' || event.key === 'L' || event.key === 'X'
      ? event.key.toLowerCase() : event.key;
    if (!at('keys').checked || !Object.hasOwn(keys, key) || event.repeat ||
        event.ctrlKey || event.altKey || event.metaKey ||
        isTaken(key, event.target)) {
      return;
    }
    event.preventDefault();
    keys[key]();
  };

  /* A button that was clicked gives the space bar back to playing */
  const onClick = (id, act) => at(id).addEventListener('click', (event) => {
    if (event.detail > 0) {
      event.currentTarget.blur();
    }
    act();
  });

  const setVolume = () => {
    const db = Number(at('volume').value);
    const text = db > -60 ? `${db < 0 ? '−' : ''}${Math.abs(db)} dB` : 'silent';
    at('level').textContent = text;
    at('volume').setAttribute('aria-valuetext', text);
    if (desk) {
      desk.setVolume(db);
    }
  };

  const listenToControls = () => {
    document.addEventListener('keydown', onKey);
    at('position').addEventListener('input', (event) =>
      seek(Number(event.target.value)));
    at('volume').addEventListener('input', setVolume);
    document.querySelectorAll('#things input').forEach((input, i) =>
      input.addEventListener('change', () => chooseThing(i)));
    things.forEach((_, i) => inputs(i).forEach((input, k) =>
      input.addEventListener('change', () => choose(k))));
    onClick('play', playOrPause);
    onClick('a', () => callUp('a'));
    onClick('b', () => callUp('b'));
    onClick('x', () => callUp('x'));
    onClick('hold-a', () => hold('a'));
    onClick('hold-b', () => hold('b'));
    onClick('mono', toggleMono);
    onClick('loop', toggleLoop);
    onClick('blind-start', startBlind);
    onClick('blind-stop', stopBlind);
    onClick('answer-a', () => answer('A'));
    onClick('answer-b', () => answer('B'));
    onClick('blind-print', printResult);
  };

  /* What a browser remembers from the last visit does not count: quiet first */
  const reset = () => {
    at('volume').value = -20;
    at('keys').checked = true;
    document.querySelector('#things input').checked = true;
    things.forEach((_, i) => { inputs(i)[0].checked = true; });
  };

  reset();
  listenToControls();
  at('deck').hidden = false;
  setVolume();
  show();
  requestAnimationFrame(tick);
})();
