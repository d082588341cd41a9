// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// All lines of the network in a room decay alike, so that none is left ringing
/// by itself: judged by the running filters, in their single precision

#include "tests/support/room_rig.h"

enum { BANDS = 6 };

static const double band_hz[BANDS] = {125, 250, 500, 1000, 2000, 4000};

/// Squared gain of y = d x + s, s' = p s + c x: (d z + c - d p) / (z - p)
static double
section_power(float d, float c, float p, double cos_w)
{
  const double b = (double)c - (double)d * (double)p;
  return ((double)d * (double)d + b * b + 2.0 * (double)d * b * cos_w) /
         (1.0 + (double)p * (double)p - 2.0 * (double)p * cos_w);
}

/// Time to -60 dB at one frequency of a signal that circulates in line `i`
/// alone: 60 dB * length / loss in dB (J.-M. Jot, A. Chaigne, 90th AES
/// Convention, 1991).  The butterflies leave out a gain of 4, which the losses
/// make up for.
static double
line_decay_s(const fdn* net, uint32_t i, double f_hz)
{
  const loss_lanes* const l     = &net->now[i / 4];
  const uint32_t          k     = i % 4;
  const double            cos_w = cos(2.0 * DSP_PI * f_hz / net->rate_hz);
  const double            gain =
    4.0 * sqrt(section_power(l->low_d[k], l->low_c[k], l->low_p[k], cos_w) *
               section_power(l->high_d[k], l->high_c[k], l->high_p[k], cos_w));
  return 60.0 * net->length[i] / net->rate_hz / -gain_to_db(gain);
}

/// Largest difference between lines, and from the law, in any octave
typedef struct {
  double spread, off;
} difference;

static difference
difference_of(const fdn* net, const decay_law* law)
{
  difference d = {0};
  for (uint32_t b = 0; b < BANDS && band_hz[b] < 0.25 * net->rate_hz; ++b) {
    double least = INFINITY;
    double most  = 0.0;
    for (uint32_t i = 0; i < FDN_LINES; ++i) {
      const double t = line_decay_s(net, i, band_hz[b]);
      const double r = t / decay_law_s(law, band_hz[b]) - 1.0;
      least          = fmin(least, t);
      most           = fmax(most, t);
      d.off          = fmax(d.off, fabs(r));
    }
    d.spread = fmax(d.spread, most / least - 1.0);
  }
  return d;
}

static void
test_all_lines_decay_alike(void** state)
{
  (void)state;
  static const double volumes_m3[] = {20, 67, 400};
  static const double decays_pc[]  = {50, 100, 200};
  static const double rates_hz[]   = {44100, 48000, 96000, 192000};
  for (uint32_t room = 0; room < 3; ++room) {
    difference worst = {0};
    for (uint32_t c = 0; c < 36; ++c) {
      const double volume = volumes_m3[c % 3];
      const double decay  = decays_pc[c / 3 % 3];
      rig          r      = rig_open(&room_send_ops, rates_hz[c / 9], 2, NULL);
      rig_set(&r, "room", room);
      rig_set(&r, "volume_m3", volume);
      rig_set(&r, "decay_pc", decay);
      const room_send* const s   = r.st.state;
      const decay_law        law = room_stretch(room_decay((room_kind)room),
                                                room_scale(volume) * 0.01 * decay);
      const difference       d =
        difference_of(&s->late.tail[s->late.active].net, &law);
      worst.spread = fmax(worst.spread, d.spread);
      worst.off    = fmax(worst.off, d.off);
      rig_close(&r);
    }
    print_message("# room %u: lines differ by %.3f %%, off the law %.2f %%\n",
                  room, 100.0 * worst.spread, 100.0 * worst.off);
    // Alike within 0.1 %.  The law is one of analogue shelves, which a bilinear
    // transform bends by up to tan(x)/x = 2.8 % in frequency at 4 kHz.
    assert_true(worst.spread <= 0.001);
    assert_true(worst.off <= 0.01);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_all_lines_decay_alike),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
