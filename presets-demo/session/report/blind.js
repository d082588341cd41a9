/* SPDX-FileCopyrightText: 2026 The Dustcap authors */
/* SPDX-License-Identifier: ISC */

/* Blind comparison: X is A or B.  What X is stays in here until the end. */
'use strict';

const BLIND_TRIES = 10;

/* Returns the chance to get so many right, or more, by guessing: the upper tail
   of the binomial distribution with p = 1/2 */
function chanceOfGuessing(right, tries) {
  let sum = 0;
  for (let k = right; k <= tries; ++k) {
    let ways = 1;
    for (let i = 0; i < k; ++i) {
      ways = ways * (tries - i) / (i + 1);
    }
    sum += ways;
  }
  return sum / 2 ** tries;
}

function createBlind() {
  const tries = [];
  let isB = false;
  const draw = () => {
    isB = (crypto.getRandomValues(new Uint8Array(1))[0] & 1) === 1;
  };
  draw();
  return {
    /* Returns one of both, as X */
    pick: (a, b) => isB ? b : a,
    number: () => tries.length + 1,
    /* Takes an answer, "A" or "B", and draws anew; returns whether that was the
       last */
    answer(letter) {
      tries.push({was: isB ? 'B' : 'A', said: letter});
      draw();
      return tries.length === BLIND_TRIES;
    },
    /* What came out; nothing before the end */
    result() {
      if (tries.length < BLIND_TRIES) {
        return null;
      }
      const right = tries.filter((t) => t.was === t.said).length;
      return {tries, right, chance: chanceOfGuessing(right, BLIND_TRIES)};
    },
  };
}
