// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The same bits however a host plays: any blocks, in place, again after
/// activation, beside other instances, in mono and in stereo.  Over all forms
/// of all plugins, through the built bundle.

#include "tests/support/bundle_play.h"

static void
check_blocks(const plugin_form* form, void* data)
{
  static const uint32_t blocks[] = {1, 7, 64, 333, 4096, 8192};
  (void)data;

  audio_fill(&one);
  audio_fill(&two);
  for (uint32_t shuffle = 0; shuffle < 3; ++shuffle) {
    play_fresh(form, &one, 32, shuffle);
    for (size_t b = 0; b < sizeof(blocks) / sizeof(blocks[0]); ++b) {
      play_fresh(form, &two, blocks[b], shuffle);
      assert_same(&one, &two, form);
    }
  }
}

static void
test_any_block_size_gives_the_same_bits(void** state)
{
  (void)state;
  for_each_form(check_blocks, NULL);
}

static void
check_mixed(const plugin_form* form, void* data)
{
  uint32_t seed = 7;
  (void)data;

  audio_fill(&one);
  audio_fill(&two);
  play_fresh(form, &one, 64, 0);

  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  for (uint32_t at = 0; at < N;) {
    uint32_t n = (uint32_t)(200.0F * fabsf(check_noise(&seed))); // 0 as well
    n          = n < N - at ? n : N - at;
    player_run(&y, two.in, two.out, at, n);
    at += n;
  }
  player_free(&y);
  assert_same(&one, &two, form);
}

static void
test_mixed_blocks_with_empty_ones(void** state)
{
  (void)state;
  for_each_form(check_mixed, NULL);
}

static void
check_in_place(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  play_fresh(form, &one, 64, 1);
  for (uint32_t k = 0; k < 2; ++k) {
    two.out[k] = two.in[k];
  }
  play_fresh(form, &two, 64, 1);
  assert_same(&one, &two, form);
}

static void
test_in_place(void** state)
{
  (void)state;
  for_each_form(check_in_place, NULL);
}

static void
check_replay(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);

  player y = player_new(&the_bundle, form, RATE_HZ);
  player_shuffle(&y, 3);
  player_start(&y);
  player_play(&y, one.in, one.out, N, 100);
  lilv_instance_deactivate(y.instance);
  lilv_instance_activate(y.instance);
  player_play(&y, two.in, two.out, N, 100);
  player_free(&y);
  assert_same(&one, &two, form);
}

static void
test_activation_replays_the_same_bits(void** state)
{
  (void)state;
  for_each_form(check_replay, NULL);
}

static void
check_twins(const plugin_form* form, void* data)
{
  (void)data;
  // Alone, and beside an instance at other settings: the same bits
  audio_fill(&one);
  audio_fill(&two);
  play_fresh(form, &one, 64, 0);

  static audio other;
  audio_fill(&other);
  player a = player_new(&the_bundle, form, RATE_HZ);
  player b = player_new(&the_bundle, form, RATE_HZ);
  player_shuffle(&b, 9);
  player_start(&a);
  player_start(&b);
  for (uint32_t at = 0; at < N; at += 64) {
    const uint32_t n = N - at < 64 ? N - at : 64;
    player_run(&a, two.in, two.out, at, n);
    player_run(&b, other.in, other.out, at, n);
  }
  player_free(&a);
  player_free(&b);
  assert_same(&one, &two, form);
}

static void
test_instances_do_not_meet(void** state)
{
  (void)state;
  for_each_form(check_twins, NULL);
}

/// Equal channels of the stereo form give the output of the mono form
static void
test_equal_channels_are_the_mono_form(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    if (p->forms != FORMS_TRACK) {
      continue;
    }
    const plugin_form mono   = shell_form(p, 0);
    const plugin_form stereo = shell_form(p, 1);
    audio_fill(&one);
    audio_fill(&two);
    memcpy(two.in[1], two.in[0], sizeof(two.in_data[0]));
    play_fresh(&mono, &one, 64, 2);
    play_fresh(&stereo, &two, 64, 2);
    assert_same(&one, &two, &mono);
    assert_memory_equal(two.out[0], two.out[1], sizeof(two.out_data[0]));
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_any_block_size_gives_the_same_bits),
    cmocka_unit_test(test_mixed_blocks_with_empty_ones),
    cmocka_unit_test(test_in_place),
    cmocka_unit_test(test_activation_replays_the_same_bits),
    cmocka_unit_test(test_instances_do_not_meet),
    cmocka_unit_test(test_equal_channels_are_the_mono_form),
  };
  return cmocka_run_group_tests_name("blocks", tests, load, unload);
}
