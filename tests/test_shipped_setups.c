// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The setups that come along fit the built bundle

#include "render_check.h"

#define FLOAT_WAV (SF_FORMAT_WAV | SF_FORMAT_FLOAT)
#define RATE_HZ   48000

/// Each sounds: it passes, and changes the signal
static void
shipped_setups_play(void** state)
{
  (void)state;
  static const char* const names[] = {"rhythm", "lead", "clean"};
  sound                    in      = sound_noise(FLOAT_WAV, RATE_HZ, 1, 9600);
  for (int i = 0; i < 9600; ++i) {
    in.x[i] *= 0.4F; // About -19 dBFS RMS
  }
  sound_write(&in, "in.wav");
  for (int i = 0; i < 3; ++i) {
    char line[1024];
    (void)snprintf(line, sizeof(line),
                   "in.wav --setup %s/%s.ini -o out.wav --bits float",
                   SETUP_DIR, names[i]);
    const int status = render_status(line);
    if (status || *read_text("stderr")) {
      fail_msg("%s: status %d: %s", names[i], status, read_text("stderr"));
    }
    sound  out    = sound_read("out.wav");
    double change = 0.0;
    assert_int_equal(out.info.frames, 9600 + RATE_HZ);
    for (int k = 0; k < 9600; ++k) {
      change = fmax(change, fabs((double)out.x[k] - (double)in.x[k]));
    }
    assert_true(change > 0.01);
    sound_free(&out);
  }
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
