// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The setups that come along fit the built bundle

#include "render_check.h"

#define FLOAT_WAV (SF_FORMAT_WAV | SF_FORMAT_FLOAT)
#define RATE_HZ   48000

/// Longer than the plate rings above the renderer's warning, -60 dBFS
#define TAIL_S 4

/// It passes, and changes the signal
static void
check_setup(const char* name, const sound* in)
{
  char line[1024];
  (void)snprintf(line, sizeof(line),
                 "in.wav --setup %s/%s -o out.wav --bits float --tail %d",
                 SETUP_DIR, name, TAIL_S);
  const int status = render_status(line);
  if (status || *read_text("stderr")) {
    fail_msg("%s: status %d: %s", name, status, read_text("stderr"));
  }
  sound  out    = sound_read("out.wav");
  double change = 0.0;
  assert_int_equal(out.info.frames, 9600 + TAIL_S * RATE_HZ);
  for (int i = 0; i < 9600; ++i) {
    for (int k = 0; k < out.info.channels; ++k) {
      const double got = (double)out.x[i * out.info.channels + k];
      change           = fmax(change, fabs(got - (double)in->x[i]));
    }
  }
  assert_true(change > 0.01);
  sound_free(&out);
}

static void
shipped_setups_play(void** state)
{
  (void)state;
  sound      in = sound_noise(FLOAT_WAV, RATE_HZ, 1, 9600);
  DIR* const d  = opendir(SETUP_DIR);
  int        n  = 0;
  assert_non_null(d);
  for (int i = 0; i < 9600; ++i) {
    in.x[i] *= 0.4F; // About -19 dBFS RMS
  }
  sound_write(&in, "in.wav");
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    if (strstr(e->d_name, ".ini")) {
      check_setup(e->d_name, &in);
      ++n;
    }
  }
  assert_true(n >= 8);
  (void)closedir(d);
  sound_free(&in);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(shipped_setups_play),
  };
  return cmocka_run_group_tests_name("shipped-setups", tests, enter_folder,
                                     leave_folder);
}
