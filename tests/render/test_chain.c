// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A chain alone, as a session uses it: any pieces, several at once.  The
/// plugins of render-fixture/ delay by 37 frames each.

#include "tests/support/check.h"

#include "presets-demo/render/host/chain.h"

#include <string.h>

#define N       3000
#define RATE_HZ 48000.0

static catalogue parts;
static host*     plugins;

/// Makes a chain of parts by name, all at their defaults but the first
/// `gain_db`
static chain*
new_chain(const char* const* stems,
          uint32_t           n_stems,
          uint32_t           n_channels,
          float              gain_db)
{
  float         values[4][8];
  part_settings stages[4];
  failure       f = {""};
  for (uint32_t i = 0; i < n_stems; ++i) {
    const part* const p = catalogue_part(&parts, stems[i]);
    assert_non_null(p);
    for (uint32_t k = 0; k < p->forms[0].n_controls; ++k) {
      values[i][k] = p->forms[0].controls[k].def;
    }
    stages[i] = (part_settings){p, values[i]};
  }
  values[0][part_control(stages[0].part, "gain_db")] = gain_db;
  chain* const c = chain_new(plugins, stages, n_stems, n_channels, RATE_HZ, &f);
  if (!c) {
    fail_msg("%s", f.text);
  }
  return c;
}

static void
fill(float* x, uint32_t seed)
{
  for (uint32_t i = 0; i < N; ++i) {
    x[i] = check_noise(&seed);
  }
}

static void
run_piece(chain*        c,
          float* const* in,
          float* const* out,
          uint32_t      at,
          uint32_t      n)
{
  const float* const from[] = {in[0] + at, in[1] + at};
  float* const       to[]   = {out[0] + at, out[1] + at};
  failure            f      = {""};
  if (!chain_run(c, from, to, n, &f)) {
    fail_msg("%s", f.text);
  }
}

/// Plays it whole, in pieces from nothing to more than a block, or in place
static void
pieces_make_the_whole(void** state)
{
  (void)state;
  static const uint32_t    sizes[] = {1, 0, 511, 512, 513, 1025, 37};
  static const char* const stems[] = {"delay", "widener"};
  static float             x[2][N];
  static float             y[2][N];
  float* const             in[]  = {x[0], x[1]};
  float* const             out[] = {y[0], y[1]};
  fill(x[0], 1);
  fill(x[1], 2);
  for (int way = 0; way < 3; ++way) {
    static float kept[2][N];
    memcpy(kept, x, sizeof(kept));
    float* const from[] = {kept[0], kept[1]};
    float* const to[]   = {way == 2 ? kept[0] : out[0],
                         way == 2 ? kept[1] : out[1]};
    chain* const c = new_chain(stems, 2, 2, 0.0F);
    assert_int_equal(chain_latency_frames(c), 74);
    assert_int_equal(chain_n_out(c), 2);
    uint32_t at = 0;
    for (uint32_t i = 0; way == 1 && i < sizeof(sizes) / sizeof(*sizes); ++i) {
      run_piece(c, from, to, at, sizes[i]);
      at += sizes[i];
    }
    run_piece(c, from, to, at, N - at);
    for (uint32_t k = 0; k < 2; ++k) {
      for (uint32_t i = 0; i < N; ++i) {
        assert_true(to[k][i] == (i < 74 ? 0.0F : in[k][i - 74]));
      }
    }
    chain_free(c);
  }
}

/// Two chains that run in turns do not affect each other
static void
chains_are_independent(void** state)
{
  (void)state;
  static const char* const stems[] = {"delay", "splitter"};
  static float             x[2][N];
  static float             y[2][2][N];
  float* const             in[] = {x[0], x[1]};
  chain* const             a    = new_chain(stems, 1, 1, 0.0F);
  chain* const             b    = new_chain(stems, 2, 1, 0.0F);
  fill(x[0], 1);
  assert_int_equal(chain_n_out(a), 1);
  assert_int_equal(chain_n_out(b), 2);
  for (uint32_t at = 0; at < N; at += 100) {
    float* const to_a[] = {y[0][0], y[0][1]};
    float* const to_b[] = {y[1][0], y[1][1]};
    run_piece(a, in, to_a, at, 100);
    run_piece(b, in, to_b, at, 100);
  }
  for (uint32_t i = 74; i < N; ++i) {
    assert_true(y[0][0][i] == x[0][i - 37]);
    assert_true(y[1][0][i] == x[0][i - 74]);
    assert_true(y[1][1][i] == -x[0][i - 74]);
  }
  chain_free(a);
  chain_free(b);
}

/// Input and output are the same playing: 6 dB of gain are 6 dB in the table,
/// even if the measured stretch ends amid the signal
static void
levels_take_latency_out(void** state)
{
  (void)state;
  static const char* const stems[] = {"delay", "delay"};
  static float             x[2][N];
  static float             y[2][N];
  float* const             in[]  = {x[0], x[1]};
  float* const             out[] = {y[0], y[1]};
  chain* const             c     = new_chain(stems, 2, 1, 6.0F);
  double                   sum   = 0.0;
  fill(x[0], 3);
  for (uint32_t i = 0; i < 1000; ++i) {
    sum += (double)x[0][i] * (double)x[0][i] / 1000.0;
  }
  chain_measure_frames(c, 1000);
  run_piece(c, in, out, 0, N);
  const chain_stats first = chain_stage_stats(c, 0);
  const chain_stats total = chain_total_stats(c);
  assert_int_equal(chain_n_stages(c), 2);
  assert_string_equal(first.stem, "delay");
  assert_near(first.in_db, 10.0 * log10(sum), 1e-9);
  assert_near(first.out_db - first.in_db, 6.0, 1e-5);
  assert_near(total.out_db - total.in_db, 6.0, 1e-5);
  assert_near(total.in_db, first.in_db, 0.0);
  assert_int_equal(first.latency_frames, 37);
  assert_int_equal(total.latency_frames, 74);
  assert_near(first.reduction_max_db, 3.0, 0.0);
  chain_free(c);
}

static int
start(void** state)
{
  (void)state;
  failure f = {""};
  if (!catalogue_open(&parts, FIXTURE_DIR, &f)) {
    print_error("%s\n", f.text);
    return -1;
  }
  plugins = host_new(parts.world);
  return 0;
}

static int
end(void** state)
{
  (void)state;
  host_free(plugins);
  catalogue_close(&parts);
  return 0;
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(pieces_make_the_whole),
    cmocka_unit_test(chains_are_independent),
    cmocka_unit_test(levels_take_latency_out),
  };
  return cmocka_run_group_tests_name("chain", tests, start, end);
}
