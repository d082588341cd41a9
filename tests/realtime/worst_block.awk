# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# What blocks cost, from callgrind's dumps of one run of worst_block (written
# with --compress-strings=no --compress-pos=no): instructions within run().
#
# Prints, in multiples of the median noise block: the worst block of each part.
# For `sweep` and `automation`, in multiples of the cost of standing still at
# the defaults, the upper or the lower ends, whichever is most: some numbers
# switch something on.  For `switch`, whose settings change what a block costs,
# the worst block against the settled cost of the settings before or after,
# whichever is more.  `first` is printed, not judged: the block after activate()
# may take longer, as a host does not call activate() while it plays.

BEGIN { HOLD = 32; SETTLED = 20 }

/^desc: Trigger: / { part = $NF }
/^fn=block_/ { block = octal(substr($0, length("fn=block_") + 1)) - 512; next }
/^fn=/ { block = -1 }
/^calls=/ && block >= 0 { getline; cost[part, block] = $NF }

function octal(digits,   i, x) {
  for (i = 1; i <= length(digits); ++i) {
    x = 8 * x + substr(digits, i, 1)
  }
  return x
}

function median(part, from, to,   i, j, n, x, sorted) {
  n = 0
  for (i = from; i < to; ++i) {
    x = cost[part, i] + 0
    for (j = n++; j > 0 && sorted[j - 1] > x; --j) {
      sorted[j] = sorted[j - 1]
    }
    sorted[j] = x
  }
  return sorted[int(n / 2)]
}

function most_of(a, b) {
  return a > b ? a : b
}

function tell(name, ratio, at) {
  printf "  %s %.2f (%d)", name, ratio, at
  worst = ratio > worst ? ratio : worst
}

# Against `base`, the cost of blocks where nothing moves
function judge(part, base,   i, most, at) {
  most = -1
  for (i = 0; i < 512; ++i) {
    if (!((part, i) in cost)) {
      printf "worst_block.awk: no count for block %d of %s\n", i, part
      failed = 1
      exit 1
    }
    if (cost[part, i] > most) {
      most = cost[part, i]
      at = i
    }
  }
  tell(part, most / base, at)
}

# Against settled settings
function judge_switch(   hold, i, before, after, base, most, at) {
  most = -1
  before = noise
  for (hold = 0; hold < 512 / HOLD; ++hold) {
    after = median("switch", HOLD * hold + SETTLED, HOLD * (hold + 1))
    base = before > after ? before : after
    for (i = HOLD * hold; i < HOLD * (hold + 1); ++i) {
      if (cost["switch", i] / base > most) {
        most = cost["switch", i] / base
        at = i
      }
    }
    before = after
  }
  tell("switch", most, at)
}

END {
  if (failed) {
    exit 1
  }
  noise = median("noise", 0, 512)
  standing = most_of(noise, median("upper", 0, 512))
  standing = most_of(standing, median("lower", 0, 512))
  printf "%-36s %8d %8d", uri, noise, standing
  judge("noise", noise)
  judge("silence", noise)
  judge("denormals", noise)
  judge("bursts", noise)
  judge("bad", noise)
  judge("resting", noise)
  judge("waking", noise)
  judge("moved", noise)
  judge("sweep", standing)
  judge("automation", standing)
  judge_switch()
  first = 0
  for (i = 0; i < 512; i += HOLD) {
    first = cost["first", i] > first ? cost["first", i] : first
  }
  printf "  [first %.1f]  %s\n", first / noise, worst <= limit ? "ok" : "ABOVE " limit
  exit worst > limit
}
