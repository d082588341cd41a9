/* SPDX-FileCopyrightText: 2026 The Dustcap authors */
/* SPDX-License-Identifier: ISC */

/* Plays several versions of one excerpt side by side, of which one is heard. */
'use strict';

const RATE_HZ = 48000;

/* A switch is over 9 ms after the key: the browser may have computed the next
   2.7 ms already (a render quantum of 128 frames, Web Audio API, 1.1), and a
   click is a change that takes less than a few milliseconds. */
const AHEAD_S = 0.003;
const FADE_S = 0.006;

/* 5 ms */
const END_FRAMES = 240;

/* Between two switches, so that curves never overlap if one began late */
const REST_S = 0.03;

/* Half of a raised cosine: with its mirror image the sum is 1 at all times, so
   that a switch between equal sounds is not heard. */
function fadeCurve(from, to, steps = 64) {
  return Float32Array.from({length: steps + 1}, (_, i) =>
    from + (to - from) * (0.5 - 0.5 * Math.cos(Math.PI * i / steps)));
}

/* Fades both ends, where coding left noise: a repeated excerpt does not click */
function softenEnds(buffer) {
  const curve = fadeCurve(0, 1, END_FRAMES);
  for (let k = 0; k < buffer.numberOfChannels; ++k) {
    const x = buffer.getChannelData(k);
    curve.forEach((gain, i) => {
      x[i] *= gain;
      x[x.length - 1 - i] *= gain;
    });
  }
  return buffer;
}

/* Decodes sound that the page holds as base64 text */
async function decodeSound(text) {
  const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  const context = new OfflineAudioContext(1, 1, RATE_HZ);
  return softenEnds(await context.decodeAudioData(bytes.buffer));
}

/* The way from the versions to the loudspeakers.  Works in any kind of context.
   With `gap` a switch fades out, then in: it sounds the same whether or not both
   versions are the same, so that the switch tells nothing. */
function createDesk(context, buffers, shown, gap) {
  const gainNode = (value, to) => {
    const node = context.createGain();
    node.gain.value = value;
    node.connect(to);
    return node;
  };
  const volume = gainNode(1, context.destination);
  const gate = gainNode(0, volume);
  const stereo = gainNode(1, gate);
  /* One channel: left and right are mixed at half each (Web Audio API, 4) */
  const single = gainNode(0, gate);
  single.channelCount = 1;
  single.channelCountMode = 'explicit';
  const ways = buffers.map((_, i) => {
    const way = gainNode(i === shown ? 1 : 0, stereo);
    way.connect(single);
    return way;
  });
  let sources = [];
  let freeAt = 0; /* From when on versions can be switched */
  let openAt = 0; /* From when on it can be stopped */
  let isMono = false;

  const fade = (node, from, to, at, length) =>
    node.gain.setValueCurveAtTime(fadeCurve(from, to), at, length);

  const cross = (out, into, at) => {
    const start = Math.max(at, freeAt, context.currentTime + AHEAD_S);
    const length = gap ? FADE_S / 2 : FADE_S;
    fade(out, 1, 0, start, length);
    fade(into, 0, 1, gap ? start + length : start, length);
    freeAt = start + FADE_S + REST_S;
    return start + FADE_S;
  };

  return {
    /* Starts all versions in the same frame */
    start(at, offset, loop, ended) {
      sources = buffers.map((buffer, i) => {
        const source = context.createBufferSource();
        source.buffer = buffer;
        source.loop = loop;
        source.connect(ways[i]);
        source.start(at, offset);
        return source;
      });
      sources[0].onended = ended;
      fade(gate, 0, 1, at, FADE_S);
      openAt = at + FADE_S + REST_S;
    },
    stop(at) {
      const end = Math.max(at, openAt);
      sources[0].onended = null;
      fade(gate, 1, 0, end, FADE_S);
      sources.forEach((source) => source.stop(end + FADE_S));
    },
    /* Returns when the switch is over */
    switchTo(next, at = 0) {
      const out = ways[shown];
      shown = next;
      return out === ways[next] ? at : cross(out, ways[next], at);
    },
    setMono(mono, at = 0) {
      if (mono !== isMono) {
        isMono = mono;
        cross(mono ? stereo : single, mono ? single : stereo, at);
      }
    },
    setLoop(loop) {
      sources.forEach((source) => { source.loop = loop; });
    },
    setVolume(db) {
      const gain = db > -60 ? 10 ** (db / 20) : 0;
      volume.gain.setTargetAtTime(gain, context.currentTime, FADE_S);
    },
    /* For a desk that has not started: no way from the last value */
    presetVolume(db) {
      volume.gain.value = db > -60 ? 10 ** (db / 20) : 0;
    },
  };
}
